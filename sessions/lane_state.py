"""Each lane's film as it was last dressed: which sheet, when, and how far that is known or assumed.

A lane's history is walked through in time: dressings that were logged, and the blocks bowled on it. A block
begins on a dressing that was logged for it, or on what lay there where it is known that nobody dressed the
lane again. Where neither was said, the lane is taken as dressed with the block's sheet just before it began.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Min, Q, QuerySet
from django.utils import timezone

from motion.errors import FloatArray
from patterns.engine_inputs import film_for
from patterns.models import PatternVersion
from sessions.models import Block, Dressing, Game, Lane, NotDressed, PracticeWindow


@dataclass(frozen=True)
class DressedLane:
    """A lane and the sheet it was last dressed with; without a logged dressing, an assumed one.

    `note` says in a sentence where what is taken differs from what is logged; empty where it does not.
    """

    lane: Lane
    version: PatternVersion
    since: datetime
    dressing: Dressing | None
    note: str = ""

    @property
    def film_um(self) -> FloatArray:
        """Fresh film, (61, 39) [um], boards from the right."""
        return film_for(self.version)[0]


def dressed_lanes(lanes: Iterable[Lane], block: Block, at: datetime | None = None) -> dict[int, DressedLane]:
    """Each lane for a block, by primary key, as it was last dressed up to now (or `at`).

    A constant number of queries, however many lanes and blocks there are.
    """
    lanes = list(lanes)
    until = at or timezone.now()
    logged: dict[int, list[Dressing]] = {lane.pk: [] for lane in lanes}
    found = Dressing.objects.filter(lane__in=lanes, done_at__lte=until)
    for dressing in found.select_related("pattern_version__pattern").order_by("done_at", "pk"):
        logged[dressing.lane_id].append(dressing)
    blocks, bowled = _blocks_up_to(block, lanes)
    known = NotDressed.objects.filter(lane__in=lanes, before_block__in=[begun.block.pk for begun in blocks])
    left_alone = set(known.values_list("lane_id", "before_block_id"))
    return {
        lane.pk: _walk(
            lane,
            logged[lane.pk],
            [begun for begun in blocks if begun.block.pk == block.pk or (lane.pk, begun.block.pk) in bowled],
            {block_id for lane_id, block_id in left_alone if lane_id == lane.pk},
        )
        for lane in lanes
    }


@dataclass(frozen=True)
class _Begun:
    """A block and when it began: as planned, or earlier if something was bowled in it before."""

    block: Block
    at: datetime

    @property
    def order(self) -> tuple[datetime, int]:
        return self.at, self.block.pk

    def is_meant_by(self, dressing: Dressing) -> bool:
        """Whether a dressing before it was done for this block: it says so, or names none on the same day."""
        if dressing.before_block_id is not None:
            return dressing.before_block_id == self.block.pk
        zone = self.block.event.zone
        return dressing.done_at.astimezone(zone).date() == self.at.astimezone(zone).date()


def _walk(
    lane: Lane, dressings: Sequence[Dressing], blocks: Sequence[_Begun], left_alone: set[int]
) -> DressedLane:
    """The lane after its history; `blocks` in order, the last of them the one that is asked for."""
    asked, pending = blocks[-1], list(dressings)
    lies: DressedLane | None = None
    last: Dressing | None = None
    for begun in blocks:
        dressed_for_it = False
        while pending and pending[0].done_at <= begun.at:
            fresh = pending.pop(0)
            dressed_for_it = dressed_for_it or begun.is_meant_by(fresh)
            lies, last = _logged(lane, fresh, begun), fresh
        if begun.block.pk in left_alone:
            lies = _runs_on(lane, lies, begun)
        elif not dressed_for_it:
            lies = _assumed(lane, last, begun)
    if pending:
        lies = _logged(lane, pending[-1], asked)
    assert lies is not None  # noqa: S101  (the block that is asked for has begun on something)
    return lies


def _logged(lane: Lane, dressing: Dressing, begun: _Begun) -> DressedLane:
    version, named = dressing.pattern_version, begun.block.pattern_version
    note = ""
    if version.pk != named.pk:
        note = f"Logged as dressed with {version}, while the block names {named}: what is logged is taken."
    return DressedLane(lane, version, dressing.done_at, dressing, note)


def _runs_on(lane: Lane, lies: DressedLane | None, begun: _Begun) -> DressedLane:
    if lies is None:
        note = (
            "The lane is known not to have been dressed again before this block, but no earlier dressing is "
            f"logged: it is taken as dressed with {begun.block.pattern_version} just before the block began, "
            "so it is worn more than is assumed."
        )
        return DressedLane(lane, begun.block.pattern_version, begun.at, None, note)
    since = f"{lies.since.astimezone(begun.block.event.zone):%Y-%m-%d %H:%M}"
    taken = "dressed" if lies.dressing else "taken as dressed"
    note = (
        "The lane is known not to have been dressed again before this block: its traffic runs on since it "
        f"was {taken} with {lies.version} at {since}."
    )
    return DressedLane(lane, lies.version, lies.since, lies.dressing, note)


def _assumed(lane: Lane, last: Dressing | None, begun: _Begun) -> DressedLane:
    version = begun.block.pattern_version
    why = "No dressing is logged for this lane"
    if last is not None:
        at = f"{last.done_at.astimezone(begun.block.event.zone):%Y-%m-%d %H:%M}"
        why = (
            f"The last dressing logged for this lane, {last.pattern_version} at {at}, was not for this "
            "block, and nobody said that the lane was left as it was"
        )
    note = f"{why}: it is taken as dressed with {version} just before the block began."
    return DressedLane(lane, version, begun.at, None, note)


def _blocks_up_to(block: Block, lanes: Sequence[Lane]) -> tuple[list[_Begun], set[tuple[int, int]]]:
    """The blocks bowled on these lanes that began before this one, in order, and itself; who used which."""
    bowled: tuple[QuerySet[Any], ...] = (Game.objects.order_by(), PracticeWindow.objects.order_by())
    used: set[tuple[int, int]] = set()
    for rows in bowled:
        on = rows.filter(Q(left_lane__in=lanes) | Q(right_lane__in=lanes))
        for block_id, left, right in on.values_list("entry__block", "left_lane", "right_lane").distinct():
            used |= {(left, block_id), (right, block_id)}
    ids = {block_id for _, block_id in used} | {block.pk}
    first: dict[int, datetime] = {}
    for rows in bowled:
        times = rows.filter(entry__block__in=ids).values_list("entry__block")
        for block_id, at in times.annotate(first=Min("started_at")):
            first[block_id] = min(at, first.get(block_id, at))
    others = Block.objects.filter(pk__in=ids - {block.pk}).select_related("event", "pattern_version__pattern")
    asked, *begun = [_Begun(b, min(b.starts_at, first.get(b.pk, b.starts_at))) for b in (block, *others)]
    before = sorted((item for item in begun if item.order < asked.order), key=lambda item: item.order)
    return [*before, asked], used
