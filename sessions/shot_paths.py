"""The paths of a game's shots, computed from the lines that were logged, beside where each hit."""

from dataclasses import dataclass
from typing import cast

import numpy as np

from arsenal.access import BallNames
from motion.advice_types import AdviceRequest, Hand, LoggedShot
from motion.canonical import own_side_request
from motion.errors import FloatArray
from motion.inputs import own_side
from motion.lane_view import LookBack, look_back
from sessions.deliveries import Delivery
from sessions.lane_reading import LaneReading, read_lanes
from sessions.models import Game, Lane, Shot

HEAD_PIN_BOARD = 20.0


@dataclass(frozen=True)
class ShotPath:
    """One shot: the computed board at every foot, and the board where it was seen to touch the head pin."""

    frame: int
    ball: str
    boards: list[float | None]
    hit_board: float | None
    hit_word: str

    @property
    def computed_board(self) -> float | None:
        """Board at the pins (60 ft) of the computed path; None in the gutter."""
        return self.boards[-1]


@dataclass(frozen=True)
class LanePaths:
    """A lane of the game: the paths thrown on it, and the film as it was before the last of them."""

    lane: Lane
    hand: str
    side: str  # the letter that says from which gutter the bowler counts boards
    length_ft: float
    film_um: FloatArray
    paths: tuple[ShotPath, ...]
    without_line: int


def paths_of(game: Game, names: BallNames) -> list[LanePaths]:
    """The first balls of a game with their paths, left lane first; lanes without any are left out.

    Films and friction are those the model believes in after everything seen up to the end of the game.
    """
    last = Shot.objects.filter(game=game, undone_at=None).order_by("-thrown_at").first()
    if last is None:
        return []
    bowler = game.entry.bowler
    reading = read_lanes([game.left_lane, game.right_lane], game.entry.block, bowler, at=last.thrown_at)
    request = AdviceRequest(
        hand=cast(Hand, bowler.hand),
        releases=(),
        balls=(),
        lanes=tuple(reading.state(lane) for lane in reading.lanes),
        shots=tuple(shot for lane in reading.lanes for shot in reading.replays[lane.pk].shots),
    )
    own = own_side_request(request)
    seen = look_back(own)
    found = [_paths_on(game, reading, own, seen, lane, names) for lane in reading.lanes]
    return [item for item in found if item is not None]


def _paths_on(
    game: Game, reading: LaneReading, own: AdviceRequest, seen: LookBack, lane: Lane, names: BallNames
) -> LanePaths | None:
    key = reading.key[lane.pk]
    on_lane = [shot for shot in own.shots if shot.lane_id == key]
    thrown = [
        (shot, delivery)
        for shot, delivery in zip(on_lane, reading.replays[lane.pk].seen, strict=True)
        if delivery.game_id == game.pk
    ]
    paths = [_shot_path(seen, shot, delivery, names) for shot, delivery in thrown if shot.line is not None]
    if not thrown:
        return None
    hand = game.entry.bowler.hand
    return LanePaths(
        lane=lane,
        hand=hand,
        side=game.entry.bowler.side_letter,
        length_ft=reading.dressed[lane.pk].version.length_ft,
        film_um=own_side(seen.film_before(thrown[-1][0]), hand),
        paths=tuple(paths),
        without_line=len(thrown) - len(paths),
    )


def _shot_path(seen: LookBack, shot: LoggedShot, delivery: Delivery, names: BallNames) -> ShotPath:
    track = seen.track(shot)
    offset = delivery.hit_offset
    return ShotPath(
        frame=delivery.frame,
        ball=names.of(delivery.ball.pk, delivery.ball.name, delivery.bowler),
        boards=[] if track is None else [float(b) if np.isfinite(b) else None for b in track],
        hit_board=None if offset is None else HEAD_PIN_BOARD - offset,
        hit_word=delivery.hit_word,
    )
