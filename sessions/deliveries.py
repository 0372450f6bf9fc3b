"""Every ball thrown on some lanes since they were dressed, in order: from shots, practice and typed games.

A constant number of queries, however many shots there are.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Max, Prefetch, Q, QuerySet

from arsenal.models import Ball, Bowler, Release
from arsenal.models.ball import BagRole
from motion.frames import Frame, finds_new_rack
from motion.leaves import FULL_RACK
from motion.notation import parse_game
from motion.pocket import HIT_WORDS
from sessions.counted import counting_lines
from sessions.models import Game, GameLine, LineStretch, Shot

# A typed game without a usable start is spread over this long for each of its frames.
FRAME_TAKES = timedelta(minutes=4, seconds=30)


@dataclass(frozen=True, kw_only=True)
class Delivery:
    """One ball thrown on one lane. `line` is laydown and target with its distance, where both are known.

    is_first: thrown at a full rack. typed: expanded from a game line, so the time is a guess and of the
    pins only their number is known. pins_fallen: that number, for the first ball at a fresh rack; what the
    second was thrown with after a miss or a foul, nobody says.
    """

    lane_id: int
    thrown_at: datetime
    bowler: Bowler
    entry_id: int
    game_id: int | None
    game_number: int
    frame: int
    throw: int
    ball: Ball
    release: Release | None
    is_first: bool
    line: tuple[float, float, float] | None = None
    pins_left: int | None = None
    pins_fallen: int | None = None
    offset_boards: float | None = None
    hit_word: str = ""
    breakpoint_board: float | None = None
    breakpoint_ft: float | None = None
    speed_mph: float | None = None
    speed_read: str = ""
    foul: bool = False
    uuid: str = ""
    typed: bool = False

    @property
    def hit_offset(self) -> float | None:
        """Offset [boards] at first contact: as read, else the one the trade word stands for."""
        return HIT_WORDS.get(self.hit_word) if self.offset_boards is None else self.offset_boards

    @property
    def order(self) -> tuple[Any, ...]:
        """By time, and at equal times by content, so that re-entering a shot changes nothing."""
        return (self.thrown_at, self.game_number, self.frame, self.throw, self.bowler.name, self.ball.name)


def deliveries_on(since: Mapping[int, datetime], until: datetime | None = None) -> list[Delivery]:
    """All counted deliveries on the lanes (by primary key), each lane from its own moment on."""
    window = Q()
    for lane_id, moment in since.items():
        window |= Q(lane=lane_id, thrown_at__gte=moment)
    if not since:
        return []
    found = [_from_shot(shot) for shot in _shots(window)] + _typed_on(since)
    kept = [item for item in found if until is None or item.thrown_at <= until]
    return sorted(kept, key=lambda item: item.order)


def _shots(window: Q) -> QuerySet[Shot]:
    return Shot.objects.filter(window, undone_at=None).select_related(
        "ball", "release", "game", "entry__bowler"
    )


def _from_shot(shot: Shot) -> Delivery:
    return Delivery(
        lane_id=shot.lane_id,
        thrown_at=shot.thrown_at,
        bowler=shot.entry.bowler,
        entry_id=shot.entry_id,
        game_id=shot.game_id,
        game_number=shot.game.number if shot.game else 0,
        frame=shot.frame_number,
        throw=shot.throw_number,
        ball=shot.ball,
        release=shot.release,
        is_first=shot.pins_before == FULL_RACK,
        line=_line(shot),
        pins_left=shot.pins_left,
        offset_boards=shot.offset_boards,
        hit_word=shot.hit_word,
        breakpoint_board=shot.breakpoint_board,
        breakpoint_ft=shot.breakpoint_ft,
        speed_mph=shot.speed_mph,
        speed_read=shot.speed_read,
        foul=shot.foul,
        uuid=str(shot.uuid),
    )


def _line(row: Shot | LineStretch) -> tuple[float, float, float] | None:
    if row.laydown_board is None or row.target_board is None:
        return None
    return (row.laydown_board, row.target_board, row.target_ft)


def lanes_worn_by(bowler_id: int, since: Mapping[int, datetime], ball_id: int | None = None) -> set[int]:
    """The lanes, by primary key, with balls of this bowler on them from each lane's own moment on.

    With a ball, of the shots those with that ball; a typed game leaves open what its spares were thrown with.
    """
    thrown = Shot.objects.filter(entry__bowler=bowler_id, lane__in=since, undone_at=None)
    if ball_id is not None:
        thrown = thrown.filter(ball=ball_id)
    last = thrown.values_list("lane").annotate(last=Max("thrown_at")).order_by()
    worn = {lane for lane, at in last if at >= since[lane]}
    typed = counting_lines().filter(game__entry__bowler=bowler_id)
    for left, right, at in typed.values_list("game__left_lane", "game__right_lane", "bowled_at"):
        worn |= {lane for lane in (left, right) if lane in since and at >= since[lane]}
    return worn


# --- typed games ----------------------------------------------------------------------------------


def _typed_on(since: Mapping[int, datetime]) -> list[Delivery]:
    stretches = Prefetch("stretches", LineStretch.objects.select_related("ball", "release"))
    spares = Prefetch(
        "game__entry__bowler__balls", Ball.objects.filter(role=BagRole.SPARE), to_attr="spare_balls"
    )
    lines = (
        counting_lines()
        .filter(Q(game__left_lane__in=since) | Q(game__right_lane__in=since))
        .filter(bowled_at__gte=min(since.values()))
        .select_related("game__entry__bowler", "game__left_lane", "game__right_lane")
        .prefetch_related(stretches, spares)
    )
    typed = [item for line in lines for item in expand(line)]
    return [item for item in typed if item.lane_id in since and item.thrown_at >= since[item.lane_id]]


def expand(line: GameLine) -> list[Delivery]:
    """The deliveries a typed line stands for, spread evenly from the start of its game to its end."""
    frames = parse_game(line.notation)
    times = frame_times(line.game.started_at, line.bowled_at, len(frames))
    return [
        delivery
        for number, (frame, thrown_at) in enumerate(zip(frames, times, strict=True), start=1)
        for delivery in _of_frame(line.game, line, number, frame, thrown_at)
    ]


def frame_times(started_at: datetime, bowled_at: datetime, frames: int) -> list[datetime]:
    """When each frame of a typed line was about bowled, the last of them at `bowled_at`."""
    begun = started_at if started_at < bowled_at else bowled_at - FRAME_TAKES * frames
    return [begun + (bowled_at - begun) * number / frames for number in range(1, frames + 1)]


def _of_frame(
    game: Game, line: GameLine, number: int, frame: Frame, thrown_at: datetime
) -> Iterable[Delivery]:
    stretch = next((s for s in line.stretches.all() if s.first_frame <= number <= s.last_frame), None)
    if stretch is None:
        return
    spare_ball = next(iter(game.entry.bowler.spare_balls), stretch.ball)  # type: ignore[attr-defined]
    standing = 10
    for throw, pins in enumerate(frame.throws, start=1):
        first = standing == 10
        yield Delivery(
            lane_id=game.lane_of_frame(number).pk,
            thrown_at=thrown_at,
            bowler=game.entry.bowler,
            entry_id=game.entry_id,
            game_id=game.pk,
            game_number=game.number,
            frame=number,
            throw=throw,
            ball=stretch.ball if first else spare_ball,
            release=stretch.release if first else None,
            is_first=first,
            line=_line(stretch) if first else None,
            pins_fallen=pins if finds_new_rack(frame.throws[: throw - 1]) else None,
            foul=throw - 1 in frame.fouls,
            typed=True,
        )
        standing = standing - pins if pins < standing and throw - 1 not in frame.fouls else 10
