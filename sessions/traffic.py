"""From deliveries to what the engine replays: passes over a lane in order, with the assumed field between.

What nobody logged is filled in and counted as assumed: a missing line by the bowler's own on these lanes,
else by a usual one for the length of the pattern; a missing release by the bowler's strike or spare release.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, cast

from arsenal.models import Ball, Bowler
from motion.advice_types import FieldTraffic, Hand, LoggedShot, SpeedReadAt, Traffic, TrafficPass
from motion.errors import MotionError
from motion.inputs import BallSpec, Line, ReleaseSpec
from sessions.deliveries import Delivery

# Rule of thumb for the board where a pattern is left: its length less 31 (found; a starting point only).
EXIT_RULE_FT = 31.0
EXIT_BOARDS = (3.0, 20.0)
# Common practice, no published source: laid down some boards inside that exit; spares go up the middle.
LAYDOWN_INSIDE_EXIT = 10.0
SPARE_LINE = (18.0, 17.0, 15.0)
SPEED_PLACES = {"release": "release", "display": "display", "pins": "near the pins"}

BallAt = Callable[[Ball, Delivery], BallSpec]
ReleaseOf = Callable[[Delivery], ReleaseSpec]


@dataclass(frozen=True)
class FieldStretch:
    """A stretch of the rest of the field, bowled by the moment `by`."""

    by: datetime
    traffic: FieldTraffic


@dataclass
class LaneReplay:
    """One lane since it was dressed: passes in order and first balls as evidence, with what was assumed."""

    traffic: list[Traffic] = field(default_factory=list)
    shots: list[LoggedShot] = field(default_factory=list)
    # The delivery behind each of `shots`.
    seen: list[Delivery] = field(default_factory=list)
    balls: int = 0
    assumed_lines: int = 0
    field_games: float = 0.0
    last_ball: Delivery | None = None


@dataclass(frozen=True)
class ThrownLine:
    """The line of one delivery, and whether it had to be assumed."""

    line: Line
    assumed: bool


def replay_lanes(
    since: Mapping[int, datetime],
    deliveries: Sequence[Delivery],
    stretches: Iterable[FieldStretch],
    *,
    ends: Mapping[int, datetime],
    lane_key: Mapping[int, str],
    ball_at: BallAt,
    release_of: ReleaseOf,
    length_ft: float,
    asker: Bowler,
) -> dict[int, LaneReplay]:
    """Replays by primary key of the lane, for every lane in `since` (the moment each was dressed).

    ends: the moment after which the field no longer counts, for the lanes that are read only so far.
    """
    lines = thrown_lines(deliveries, length_ft)
    ordered = sorted(stretches, key=lambda stretch: stretch.by)
    result = {}
    for lane_id, dressed_at in since.items():
        lane = LaneReplay()
        pending = [item for item in ordered if dressed_at <= item.by <= ends.get(lane_id, item.by)]
        for delivery, thrown in zip(deliveries, lines, strict=True):
            if delivery.lane_id != lane_id:
                continue
            while pending and pending[0].by <= delivery.thrown_at:
                _add_field(lane, pending.pop(0).traffic)
            spec, release = ball_at(delivery.ball, delivery), release_of(delivery)
            _add_ball(lane, delivery, thrown, spec, release, lane_key[lane_id], asker)
        for stretch in pending:
            _add_field(lane, stretch.traffic)
        result[lane_id] = lane
    return result


def _add_field(lane: LaneReplay, traffic: FieldTraffic) -> None:
    lane.traffic.append(traffic)
    lane.field_games += traffic.games


def _add_ball(
    lane: LaneReplay,
    delivery: Delivery,
    thrown: ThrownLine,
    spec: BallSpec,
    release: ReleaseSpec,
    lane_key: str,
    asker: Bowler,
) -> None:
    if delivery.is_first and saw_anything(delivery):
        lane.shots.append(_evidence(delivery, thrown, spec, release, lane_key, len(lane.traffic), asker))
        lane.seen.append(delivery)
    hand = cast(Hand, delivery.bowler.hand)
    lane.traffic.append(TrafficPass(hand=hand, spec=spec, release=release, line=thrown.line))
    lane.balls += 1
    lane.assumed_lines += thrown.assumed
    lane.last_ball = delivery


def saw_anything(delivery: Delivery) -> bool:
    """Whether a first ball says something about the lane.

    A typed game tells how many pins fell, strikes and the rest alike, which says something where the line is
    known.
    """
    if delivery.typed:
        return delivery.pins_fallen is not None and not delivery.foul and known_line(delivery) is not None
    seen = (delivery.offset_boards, delivery.breakpoint_board, delivery.pins_left, delivery.speed_mph)
    return bool(delivery.hit_word) or any(value is not None for value in seen)


def _evidence(
    delivery: Delivery,
    thrown: ThrownLine,
    spec: BallSpec,
    release: ReleaseSpec,
    lane_key: str,
    passes_before: int,
    asker: Bowler,
) -> LoggedShot:
    readings: dict[str, Any] = {
        "offset_boards": delivery.offset_boards,
        "hit_word": delivery.hit_word,
        "pins_left": None if delivery.foul else delivery.pins_left,
        "pins_fallen": None if delivery.foul else delivery.pins_fallen,
        "breakpoint_board": delivery.breakpoint_board,
        "breakpoint_ft": delivery.breakpoint_ft,
        "speed_mph": delivery.speed_mph,
    }
    return LoggedShot(
        lane_id=lane_key,
        passes_before=passes_before,
        hand=cast(Hand, delivery.bowler.hand),
        ball_key=str(delivery.ball.uuid),
        spec=spec,
        release=release,
        line=None if thrown.assumed else thrown.line,
        bowler_key="" if delivery.bowler.pk == asker.pk else str(delivery.bowler.uuid),
        speed_read_at=cast(SpeedReadAt, SPEED_PLACES.get(delivery.speed_read, "display")),
        **readings,
    )


# --- lines ----------------------------------------------------------------------------------------


def thrown_lines(deliveries: Sequence[Delivery], length_ft: float) -> list[ThrownLine]:
    """The line of each delivery: its own, else the bowler's last one before it, else their first after it."""
    known = [known_line(delivery) for delivery in deliveries]
    nearest: dict[int, Line] = {}
    for order in (range(len(deliveries)), range(len(deliveries) - 1, -1, -1)):
        current: dict[tuple[int, bool], Line] = {}
        for index in order:
            key = (deliveries[index].bowler.pk, deliveries[index].is_first)
            found = known[index]
            if found is not None:
                current[key] = found
            elif key in current:
                nearest.setdefault(index, current[key])
    return [
        ThrownLine(line, False)
        if line is not None
        else ThrownLine(nearest.get(index) or usual_line(deliveries[index], length_ft), True)
        for index, line in enumerate(known)
    ]


def known_line(delivery: Delivery) -> Line | None:
    """The logged line; None when it was left out or is one that no ball can take."""
    return None if delivery.line is None else _line(delivery.bowler, *delivery.line)


def usual_line(delivery: Delivery, length_ft: float) -> Line:
    """A common line for the length of the pattern, own-side, or up the middle for a spare."""
    if not delivery.is_first:
        return Line(laydown_board=SPARE_LINE[0], target_board=SPARE_LINE[1], target_ft=SPARE_LINE[2])
    return usual_strike_line(length_ft)


def usual_strike_line(length_ft: float) -> Line:
    low, high = EXIT_BOARDS
    exit_board = min(max(length_ft - EXIT_RULE_FT, low), high)
    laydown = exit_board + LAYDOWN_INSIDE_EXIT
    target = laydown - LAYDOWN_INSIDE_EXIT * 15.0 / length_ft
    return Line(laydown_board=laydown, target_board=target)


def _line(bowler: Bowler, laydown_board: float, target_board: float, target_ft: float) -> Line | None:
    try:
        return Line(
            laydown_board=laydown_board,
            target_board=target_board,
            target_ft=target_ft,
            laydown_ft=bowler.laydown_ft,
        )
    except MotionError:
        return None
