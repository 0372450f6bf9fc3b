"""When this event lets surfaces be altered, and which of those times are still to come."""

from typing import cast

from arsenal.models.surface import WindowKind
from motion.advice_types import Moment, SurfaceWindow
from sessions.counted import bowled
from sessions.models import Block, BlockEntry, EventWindow, Game, PracticeWindow

MOMENTS: dict[str, str] = {
    WindowKind.BEFORE_EVENT: "before the event",
    WindowKind.OFFICIAL_PRACTICE: "official practice",
    WindowKind.BETWEEN_ROUNDS: "between rounds",
    WindowKind.IN_COMPETITION: "in competition",
}


def moment_now(entry: BlockEntry) -> Moment:
    """Where in the event this block stands: scoring begins with the first game logged in it."""
    block = entry.block
    if bowled(Game.objects.filter(entry__block=block)).exists():
        return "between rounds" if block.state == Block.State.FINISHED else "in competition"
    official = PracticeWindow.Kind.OFFICIAL
    if PracticeWindow.objects.filter(entry__block=block, kind=official).exists():
        return "official practice"
    return "before the event" if not _earlier_blocks(block) else "between rounds"


def windows_of(entry: BlockEntry, now: Moment) -> tuple[SurfaceWindow, ...] | None:
    """The event's own rules; None when it has stated none."""
    event = entry.block.event
    rows = EventWindow.objects.filter(event=event, kind__in=MOMENTS).order_by("kind")
    later = event.blocks.filter(starts_at__gt=entry.block.starts_at).exists()
    to_come = {
        "before the event": now == "before the event",
        "official practice": now in ("before the event", "official practice") or later,
        "between rounds": now == "between rounds" or later,
        "in competition": True,
    }
    confirmed_by = event.rules_confirmed_by if event.rules_confirmed_on else ""
    stated = tuple(
        SurfaceWindow(
            moment=cast(Moment, MOMENTS[row.kind]),
            # No event can allow it once scoring has begun (USBC General Playing Rule 18, found).
            allowed=row.allowed and row.kind != WindowKind.IN_COMPETITION,
            by_hand=row.by_hand,
            by_machine=row.by_machine,
            where=row.where,
            confirmed_by=confirmed_by,
            upcoming=to_come[MOMENTS[row.kind]],
        )
        for row in rows
    )
    return stated or None


def _earlier_blocks(block: Block) -> bool:
    earlier = block.event.blocks.filter(starts_at__lt=block.starts_at)
    return earlier.exclude(state=Block.State.PLANNED).exists()
