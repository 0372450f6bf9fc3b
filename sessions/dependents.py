"""Whose advice rests on what: everyone to whom a change owes a new answer, with the pairs they are on."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet

from sessions.assumed_field import Mark, marks_of
from sessions.deliveries import lanes_worn_by
from sessions.lane_state import dressed_lanes
from sessions.models import Block, BlockEntry, Lane
from sessions.surface_windows import Standing, standing_of
from sessions.whereabouts import Pair, pairs_now

# Primary key of an entry, and the pair it is owed advice for.
Debt = tuple[int, Pair]


def of_entries(entries: QuerySet[BlockEntry]) -> set[Debt]:
    """These bowlers on the pairs they are on, as far as their blocks are being bowled."""
    open_entries = entries.filter(block__state=Block.State.OPEN)
    return {(entry_id, pair) for entry_id, pairs in pairs_now(open_entries).items() for pair in pairs}


def of_house(house_id: int) -> set[Debt]:
    """Everyone who bowls in the house: whatever wears or describes all of its lanes concerns them."""
    return of_entries(BlockEntry.objects.filter(block__event__house=house_id))


def on_pair(entry: BlockEntry, left_lane: Lane, right_lane: Lane) -> set[Debt]:
    """This bowler and every team bowler who is on these lanes.

    With the last frame of a game the bowler crosses, so the next pair is owed too: what was learnt here
    counts there.
    """
    here = (left_lane.pk, right_lane.pk)
    own = pairs_now(BlockEntry.objects.filter(pk=entry.pk)).get(entry.pk, ())
    return {(entry.pk, pair) for pair in (here, *own)} | _on_lanes(here)


def reading_lanes(lane_ids: Iterable[int], block: Block | None = None) -> set[Debt]:
    """Everyone whose advice reads these lanes: who is on them, or bowled on them before in the same block."""
    lanes = set(lane_ids)
    games = Q(games__left_lane__in=lanes) | Q(games__right_lane__in=lanes)
    bowled_there = BlockEntry.objects.filter(games)
    if block is not None:
        bowled_there = bowled_there.filter(block=block)
    return _on_lanes(lanes, block) | of_entries(bowled_there.distinct())


def reading_balls_of(bowler_id: int, ball_id: int | None = None) -> set[Debt]:
    """The bowler, and everyone whose lanes carry the bowler's traffic since they were dressed.

    With a ball, of the shots those with that ball.
    """
    owed = of_entries(BlockEntry.objects.filter(bowler=bowler_id))
    been = Q(event__house__events__blocks__entries__bowler=bowler_id)
    for block in Block.objects.filter(been, state=Block.State.OPEN).select_related("event").distinct():
        dressed = dressed_lanes(Lane.objects.filter(house=block.event.house_id), block)
        since = {pk: lane.since for pk, lane in dressed.items()}
        if worn := lanes_worn_by(bowler_id, since, ball_id):
            owed |= reading_lanes(worn, block)
    return owed


@dataclass(frozen=True)
class Shared:
    """What answers rest on beside their own lanes: where the event stands, how far the field has bowled."""

    block: Block
    standings: dict[int, Standing]
    marks: dict[Mark, datetime]

    def owed_since(self, before: "Shared") -> set[Debt]:
        """Everyone to whom something of this has changed."""
        moved = [pk for pk, standing in self.standings.items() if before.standings.get(pk) != standing]
        owed = of_entries(BlockEntry.objects.filter(block__in=moved)) if moved else set()
        if self.marks != before.marks:
            owed |= of_house(self.block.event.house_id)
        return owed


def shared_by(block: Block) -> Shared:
    """As it stands now, seen from a block in which something is written."""
    unfinished = Block.objects.filter(event=block.event_id).exclude(state=Block.State.FINISHED)
    return Shared(block, {other.pk: standing_of(other) for other in unfinished}, marks_of(block))


def _on_lanes(lane_ids: Iterable[int], block: Block | None = None) -> set[Debt]:
    lanes = set(lane_ids)
    here = BlockEntry.objects.filter(block__state=Block.State.OPEN, block__event__house__lanes__in=lanes)
    if block is not None:
        here = here.filter(block=block)
    found = pairs_now(here.distinct())
    return {(entry_id, pair) for entry_id, pairs in found.items() for pair in pairs if lanes & set(pair)}
