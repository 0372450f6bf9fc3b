"""Everything known of a bowler on a pair, as one question to the engine and one record of what it came from.

The same log gives the same question, whatever the row ids and however often a shot was re-entered. The number
of queries does not grow with the number of shots.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, cast

from arsenal.models import Ball
from arsenal.models.ball import BagRole
from arsenal.models.bowler import ReleaseKind
from motion.advice_types import (
    AdviceRequest,
    BallOption,
    Hand,
    NamedRelease,
    Objective,
)
from motion.inputs import Line
from sessions.assumed_field import field_of
from sessions.bag_choice import Carried, carried_by
from sessions.counted import bowled
from sessions.deliveries import Delivery
from sessions.lane_reading import LaneReading, read_lanes
from sessions.lane_state import DressedLane
from sessions.models import BlockEntry, Game, Lane, OwedAdvice
from sessions.spare_record import spare_record
from sessions.specs import BallBook
from sessions.surface_windows import moment_now, windows_of
from sessions.traffic import LaneReplay, known_line
from sessions.whereabouts import Whereabouts, whereabouts

# First balls of one bowler on one lane in one game.
FIRST_BALLS_PER_GAME = 5.0
# Pairs bowled earlier in the block bear witness too; further back each adds less than it costs.
EARLIER_PAIRS = 1


class CannotAdvise(Exception):
    """There is not enough to ask the engine with; the text says what to enter."""


@dataclass(frozen=True)
class Gathered:
    """The question, what its keys stand for, and per lane of the pair what it came from (plain data)."""

    request: AdviceRequest
    lanes: dict[str, Lane]
    balls: dict[str, Ball]
    records: dict[str, dict[str, Any]]


@dataclass
class Present:
    """What the bowler threw last at a full rack: ball and release, and the line on each lane."""

    ball: Ball | None = None
    release: str = ""
    line: Line | None = None
    lines: dict[int, Line] = field(default_factory=dict)


def gather(owed: OwedAdvice) -> Gathered:
    entry = owed.entry
    pair = [owed.left_lane, owed.right_lane]
    reading = read_lanes(pair, entry.block, entry.bowler, left=_earlier_lanes(entry, pair))
    present = present_of(
        item for item in reading.deliveries if item.bowler.pk == entry.bowler_id and item.is_first
    )
    carried = _carried(entry, present.ball)
    request = _question(owed, reading, present, carried)
    common = {
        "digest": request.digest(),
        "balls": [_ball_record(item, reading.balls) for item in carried],
        "assumed_releases": reading.releases.assumed,
        "moment": request.now,
    }
    return Gathered(
        request=request,
        lanes={reading.key[lane.pk]: lane for lane in pair},
        balls={str(item.ball.uuid): item.ball for item in carried},
        records={
            reading.key[lane.pk]: {
                **common,
                **_lane_record(reading.dressed[lane.pk], reading.replays[lane.pk]),
            }
            for lane in pair
        },
    )


def _question(
    owed: OwedAdvice, reading: LaneReading, present: Present, carried: Sequence[Carried]
) -> AdviceRequest:
    entry, bowler = owed.entry, owed.entry.bowler
    named = reading.releases.named(bowler)
    now = moment_now(entry)
    asked = (owed.left_lane_id, owed.right_lane_id)
    where = whereabouts(BlockEntry.objects.filter(block=entry.block_id))
    return AdviceRequest(
        hand=cast(Hand, bowler.hand),
        releases=tuple(
            NamedRelease(name=kind, spec=spec, offered=kind != ReleaseKind.SPARE)
            for kind, spec in named.items()
        ),
        balls=tuple(
            BallOption(
                ball_id=str(item.ball.uuid),
                name=item.ball.name,
                spec=reading.balls.now(item.ball),
                put_away=item.put_away,
                spare_ball=item.spare_ball,
            )
            for item in carried
        ),
        lanes=tuple(reading.state(lane, advise=lane.pk in asked) for lane in reading.lanes),
        current_ball_id=_ball_in_hand(present, carried),
        current_release=present.release if present.release in named else str(ReleaseKind.STRIKE),
        current_line=present.line,
        current_lines={reading.key[pk]: line for pk, line in present.lines.items()},
        shots=tuple(shot for lane in reading.lanes for shot in reading.replays[lane.pk].shots),
        gap_boards=bowler.gap_boards,
        drift_boards=bowler.drift_boards,
        objective=cast(Objective, str(entry.objective)),
        spares=spare_record(bowler),
        games_remaining=games_remaining(entry, where[entry.pk]),
        now=now,
        windows=windows_of(entry, now),
        field_per_game=field_of(entry.block.event, 1.0),
        team_passes_per_game=FIRST_BALLS_PER_GAME * _team_on_pair(owed, where),
    )


# --- what is there --------------------------------------------------------------------------------


def _earlier_lanes(entry: BlockEntry, pair: Sequence[Lane]) -> list[Lane]:
    """Lanes of the pairs this bowler bowled before in this block, latest first."""
    games = bowled(Game.objects.filter(entry=entry)).exclude(left_lane__in=pair).order_by("-number")
    pairs = dict.fromkeys(
        (game.left_lane, game.right_lane) for game in games.select_related("left_lane", "right_lane")
    )
    return [lane for earlier in list(pairs)[:EARLIER_PAIRS] for lane in earlier]


def present_of(first_balls: Iterable[Delivery]) -> Present:
    """What these first balls of one bowler, in order, come to."""
    present = Present()
    for delivery in first_balls:
        present.ball = delivery.ball
        present.release = str(delivery.release.kind) if delivery.release else present.release
        line = known_line(delivery)
        if line is not None:
            present.line = present.lines[delivery.lane_id] = line
    return present


def _carried(entry: BlockEntry, thrown: Ball | None) -> list[Carried]:
    carried = carried_by(entry, thrown)
    if not carried:
        raise CannotAdvise(f"{entry.bowler} has no ball in the bag. Add a ball, or put one into the bag.")
    return sorted(carried, key=lambda item: (item.ball.name, item.ball.created_at))


def _ball_in_hand(present: Present, carried: Sequence[Carried]) -> str | None:
    """The ball thrown last; before any, the benchmark, else the first one that may be thrown."""
    if present.ball is not None:
        return str(present.ball.uuid)
    usable = [item.ball for item in carried if not item.put_away and not item.spare_ball]
    benchmark = [ball for ball in usable if ball.role == BagRole.BENCHMARK]
    chosen = next(iter([*benchmark, *usable]), None)
    return str(chosen.uuid) if chosen else None


def games_remaining(entry: BlockEntry, where: Whereabouts) -> float:
    """Games still to bowl in the block, the unfinished part of the present one included."""
    return max(entry.block.games_planned - (where.game_number - 1) - where.frames_bowled / 10.0, 0.0)


def _team_on_pair(owed: OwedAdvice, where: Mapping[int, Whereabouts]) -> int:
    """How many of the team are on this pair now, the asking bowler at least."""
    pair = (owed.left_lane_id, owed.right_lane_id)
    return max(sum(found.pairs[:1] == (pair,) for found in where.values()), 1)


# --- the record -----------------------------------------------------------------------------------


def _ball_record(item: Carried, book: BallBook) -> dict[str, Any]:
    state = book.states[item.ball.pk]
    return {
        "uuid": str(item.ball.uuid),
        "name": item.ball.name,
        "roughness_um": round(state.roughness_um, 3),
        "roughness_sd_um": round(state.sd_um, 3),
        "put_away": item.put_away,
    }


def _lane_record(lane: DressedLane, replay: LaneReplay) -> dict[str, Any]:
    last = replay.last_ball
    return {
        "pattern": lane.version.pattern.name,
        "pattern_uuid": str(lane.version.pattern.uuid),
        "pattern_version": lane.version.number,
        "pattern_entry": str(lane.version.entry),
        "length_ft": lane.version.length_ft,
        "dressing": str(lane.dressing.uuid) if lane.dressing else None,
        "dressing_note": lane.note,
        "since": lane.since.isoformat(),
        "balls_on_lane": replay.balls,
        "assumed_lines": replay.assumed_lines,
        "field_games": replay.field_games,
        "evidence": len(replay.shots),
        "last_shot": last.uuid if last else "",
        "last_shot_at": last.thrown_at.isoformat() if last else None,
    }
