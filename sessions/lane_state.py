"""Each lane's film as it was last dressed: which sheet, when, and how far it is believed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Min, OuterRef, Subquery
from django.utils import timezone

from motion.errors import FloatArray
from patterns.engine_inputs import film_for
from patterns.models import PatternVersion
from sessions.models import Block, Dressing, Lane, PracticeWindow


@dataclass(frozen=True)
class DressedLane:
    """A lane and the sheet it was last dressed with; without a logged dressing, the block's own sheet."""

    lane: Lane
    version: PatternVersion
    since: datetime
    dressing: Dressing | None

    @property
    def film_um(self) -> FloatArray:
        """Fresh film, (61, 39) [um], boards from the right."""
        return film_for(self.version)[0]


def dressed_lanes(lanes: Iterable[Lane], block: Block, at: datetime | None = None) -> dict[int, DressedLane]:
    """The last dressing up to now (or `at`), by primary key of the lane.

    Without one, traffic counts from the first ball of the block.
    """
    lanes = list(lanes)
    until = at or timezone.now()
    newest = Dressing.objects.filter(lane=OuterRef("lane"), done_at__lte=until).order_by("-done_at", "-pk")
    found = {
        dressing.lane_id: dressing
        for dressing in Dressing.objects.filter(lane__in=lanes, pk=Subquery(newest.values("pk")[:1]))
        .select_related("pattern_version__pattern")
        .order_by()
    }
    begun = _begun(block)
    result = {}
    for lane in lanes:
        dressing = found.get(lane.pk)
        version = dressing.pattern_version if dressing else block.pattern_version
        since = dressing.done_at if dressing else begun
        result[lane.pk] = DressedLane(lane, version, since, dressing)
    return result


def _begun(block: Block) -> datetime:
    practised: datetime | None = PracticeWindow.objects.filter(entry__block=block).aggregate(
        first=Min("started_at")
    )["first"]
    return min(practised or block.starts_at, block.starts_at)
