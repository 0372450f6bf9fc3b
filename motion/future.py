"""How long a choice should last at the present rate of wear."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from motion.advice_types import AdviceRequest, Candidate, LaneState, Traffic, TrafficPass
from motion.compare import look_closely
from motion.errors import FloatArray
from motion.outcomes import FrameTable
from motion.replay import lots, passes_of, worn_film
from motion.scene import Scene

HORIZON_GAMES = 3.0
STEP_GAMES = 0.5
WORLDS = 8
SAMPLES = 32
LOSS_THAT_ENDS_IT = 0.75  # pins per frame; assumed


@dataclass(frozen=True, kw_only=True)
class Lasting:
    """Games until a choice has lost LOSS_THAT_ENDS_IT; `at_least` when it had not within the horizon.

    to_the_end: it had not, and the horizon reaches the end of the block.
    """

    games: float
    at_least: bool
    to_the_end: bool = False


def lasting(
    request: AdviceRequest,
    lane: LaneState,
    scene: Scene,
    choice: Candidate,
    *,
    table: FrameTable,
    normals: FloatArray,
    step: Callable[[], None] = lambda: None,
) -> Lasting:
    """Wear an own-side lane on by half games of the present traffic and watch what a choice is worth."""
    few = scene.first(WORLDS)
    films = few.films_um
    values = [_value(few, choice, normals, table)]
    coming = next_stretch(request, lane, choice)
    horizon = min(HORIZON_GAMES, max(request.games_remaining, STEP_GAMES))
    for stretch in range(1, math.ceil(horizon / STEP_GAMES) + 1):
        for lot in lots(coming):
            passes, _ = passes_of(films.mean(axis=0), lot, 0, 0)
            scales = zip(films, few.worlds.log_wear, few.worlds.log_carry, strict=True)
            films = np.stack(
                [worn_film(film, passes, float(wear), float(carry)) for film, wear, carry in scales]
            )
        later = Scene(lane_id=few.lane_id, films_um=films, worlds=few.worlds, bowler_key=few.bowler_key)
        values.append(_value(later, choice, normals, table))
        step()
        if values[0] - values[-1] >= LOSS_THAT_ENDS_IT:
            # About the best place of a line the loss grows with the square of how far the lane has gone.
            before, after = (math.sqrt(max(values[0] - value, 0.0)) for value in values[-2:])
            part = (math.sqrt(LOSS_THAT_ENDS_IT) - before) / (after - before)
            return Lasting(games=round(STEP_GAMES * (stretch - 1 + part), 1), at_least=False)
    return Lasting(games=horizon, at_least=True, to_the_end=horizon >= request.games_remaining)


def next_stretch(request: AdviceRequest, lane: LaneState, choice: Candidate) -> list[Traffic]:
    """What half a game more puts on a lane: the team's latest passes again, the choice itself, the field."""
    logged = [item for item in lane.traffic if isinstance(item, TrafficPass)]
    count = round(request.team_passes_per_game * STEP_GAMES)
    own = TrafficPass(hand="right", spec=choice.ball, release=choice.release, line=choice.line)
    latest: list[Traffic] = [replace(item, count=1) for item in logged[-count:]] if count else []
    latest += [own] * max(count - len(latest), 0)
    field = request.field_per_game
    if field is None:
        return latest
    return [replace(field, games=field.games * STEP_GAMES), *latest]


def _value(scene: Scene, choice: Candidate, normals: FloatArray, table: FrameTable) -> float:
    return float(look_closely(scene, choice, normals[:SAMPLES], table).mean_by_world.mean())
