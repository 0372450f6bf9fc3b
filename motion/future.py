"""How long a choice should last at the present rate of wear."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from motion.advice_types import AdviceRequest, Candidate, LaneState, Traffic, TrafficPass
from motion.compare import look_closely
from motion.outcomes import FrameTable
from motion.replay import lots, passes_of, worn_film
from motion.scene import Scene

FloatArray = npt.NDArray[np.float64]

HORIZON_GAMES = 3
WORLDS = 8
SAMPLES = 32
LOSS_THAT_ENDS_IT = 0.5  # pins per frame; assumed


@dataclass(frozen=True, kw_only=True)
class Lasting:
    """Games until a choice has lost half a pin per frame; `at_least` when it had not within the horizon."""

    games: float
    at_least: bool


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
    """Wear an own-side lane on by whole games of the present traffic and watch what a choice is worth."""
    few = scene.first(WORLDS)
    films = few.films_um
    values = [_value(few, choice, normals, table)]
    coming = next_game(request, lane, choice)
    for _ in range(HORIZON_GAMES):
        for lot in lots(coming):
            passes, _ = passes_of(films.mean(axis=0), lot, 0, 0)
            films = np.stack(
                [
                    worn_film(film, passes, float(wear), float(carry))
                    for film, wear, carry in zip(
                        films, few.worlds.log_wear, few.worlds.log_carry, strict=True
                    )
                ]
            )
        later = Scene(lane_id=few.lane_id, films_um=films, worlds=few.worlds, bowler_key=few.bowler_key)
        values.append(_value(later, choice, normals, table))
        step()
        lost = values[0] - values[-1]
        if lost >= LOSS_THAT_ENDS_IT:
            before = values[0] - values[-2]
            part = (LOSS_THAT_ENDS_IT - before) / (lost - before)
            return Lasting(games=round(len(values) - 2 + part, 1), at_least=False)
    return Lasting(games=float(HORIZON_GAMES), at_least=True)


def next_game(request: AdviceRequest, lane: LaneState, choice: Candidate) -> list[Traffic]:
    """What one more game puts on a lane: the team's latest passes again, the choice itself and the field."""
    logged = [item for item in lane.traffic if isinstance(item, TrafficPass)]
    count = round(request.team_passes_per_game)
    own = TrafficPass(hand="right", spec=choice.ball, release=choice.release, line=choice.line)
    latest: list[Traffic] = list(logged[-count:]) if count else []
    latest += [own] * max(count - len(latest), 0)
    if request.field_per_game is not None:
        return [request.field_per_game, *latest]
    return latest


def _value(scene: Scene, choice: Candidate, normals: FloatArray, table: FrameTable) -> float:
    return float(look_closely(scene, choice, normals[:SAMPLES], table).mean_by_world.mean())
