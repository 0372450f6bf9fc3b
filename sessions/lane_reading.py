"""Some lanes at one moment: dressed with what, worn by whom, with the balls and releases behind it."""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from arsenal.models import Ball, Bowler
from motion.advice_types import LaneState, SheetTrust
from sessions.assumed_field import field_since
from sessions.deliveries import Delivery, deliveries_on
from sessions.lane_state import DressedLane, dressed_lanes
from sessions.models import Block, Lane
from sessions.pairs import left_number
from sessions.specs import BallBook, ReleaseBook
from sessions.traffic import LaneReplay, replay_lanes


@dataclass(frozen=True)
class LaneReading:
    """Everything by primary key of the lane; `key` is the lane's number as text, which links only."""

    lanes: tuple[Lane, ...]
    key: Mapping[int, str]
    dressed: Mapping[int, DressedLane]
    replays: Mapping[int, LaneReplay]
    deliveries: Sequence[Delivery]
    balls: BallBook
    releases: ReleaseBook

    def state(self, lane: Lane, *, advise: bool = True) -> LaneState:
        """The lane as the engine replays it, in lane coordinates."""
        dressed = self.dressed[lane.pk]
        return LaneState(
            lane_id=self.key[lane.pk],
            pair_id=_pair_key(lane),
            film_um=dressed.film_um,
            traffic=tuple(self.replays[lane.pk].traffic),
            sheet_trust=cast(SheetTrust, str(dressed.version.entry)),
            advise=advise,
        )


def read_lanes(
    lanes: Iterable[Lane],
    block: Block,
    asker: Bowler,
    at: datetime | None = None,
    left: Iterable[Lane] = (),
) -> LaneReading:
    """The lanes now, or as they were after the last ball thrown up to `at`.

    left: lanes the asker has left, as they were at the asker's own last ball there. What others throw on them
    since says nothing of the asker, and owes the asker no new advice.
    """
    left = list(left)
    ordered = tuple(sorted([*lanes, *left], key=lambda lane: lane.number))
    dressed = dressed_lanes(ordered, block, at)
    since = {pk: lane.since for pk, lane in dressed.items()}
    deliveries = deliveries_on(since, until=at)
    ends = _last_own(deliveries, asker, {lane.pk for lane in left})
    deliveries = [item for item in deliveries if item.thrown_at <= ends.get(item.lane_id, item.thrown_at)]
    own = Ball.objects.filter(bowler=asker)
    balls = BallBook([*own, *(item.ball for item in deliveries)])
    releases = ReleaseBook([asker, *(item.bowler for item in deliveries)])
    key = {lane.pk: str(lane.number) for lane in ordered}
    begun = _round_starts(deliveries)
    stretches = field_since(block.event.house, since)
    replays = replay_lanes(
        since,
        deliveries,
        [stretch for stretch in stretches if at is None or stretch.by <= at],
        ends=ends,
        lane_key=key,
        ball_at=lambda ball, delivery: balls.at(ball, begun[_round(delivery)]),
        release_of=releases.of,
        length_ft=max(lane.version.length_ft for lane in dressed.values()),
        asker=asker,
    )
    return LaneReading(ordered, key, dressed, replays, deliveries, balls, releases)


def _last_own(deliveries: Iterable[Delivery], asker: Bowler, lanes: Container[int]) -> dict[int, datetime]:
    """When the asker last threw on each of some lanes, by primary key; deliveries in order."""
    return {
        item.lane_id: item.thrown_at
        for item in deliveries
        if item.bowler.pk == asker.pk and item.lane_id in lanes
    }


_Round = tuple[int, int | None]


def _round(delivery: Delivery) -> _Round:
    """A game, or the practice of an entry: within it the surface of a ball is taken as one."""
    return (delivery.entry_id, delivery.game_id)


def _round_starts(deliveries: Iterable[Delivery]) -> dict[_Round, datetime]:
    starts: dict[_Round, datetime] = {}
    for delivery in deliveries:
        starts.setdefault(_round(delivery), delivery.thrown_at)
    return starts


def _pair_key(lane: Lane) -> str:
    left = left_number(lane.number)
    return f"{left}-{left + 1}"
