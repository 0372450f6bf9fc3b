"""When this event lets surfaces be altered, and which of those times are still to come."""

from dataclasses import dataclass

from arsenal.models.surface import WindowKind
from motion.advice_types import Moment, SurfaceWindow
from sessions.counted import bowled
from sessions.models import Block, BlockEntry, EventWindow, Game, PracticeWindow

MOMENTS: dict[str, Moment] = {
    WindowKind.BEFORE_EVENT: "before the event",
    WindowKind.OFFICIAL_PRACTICE: "official practice",
    WindowKind.BETWEEN_ROUNDS: "between rounds",
    WindowKind.IN_COMPETITION: "in competition",
}


@dataclass(frozen=True)
class Standing:
    """Where in the event a block stands, and whether another one is still to come after it."""

    now: Moment
    later: bool


def standing_of(block: Block) -> Standing:
    """All that `moment_now` and `windows_of` read of what is logged."""
    return Standing(_moment(block), _later_blocks(block))


def moment_now(entry: BlockEntry) -> Moment:
    """Where in the event this block stands: scoring begins with the first game logged in it."""
    return _moment(entry.block)


def _moment(block: Block) -> Moment:
    if bowled(Game.objects.filter(entry__block=block)).exists():
        return "between rounds" if block.state == Block.State.FINISHED else "in competition"
    official = PracticeWindow.Kind.OFFICIAL
    if PracticeWindow.objects.filter(entry__block=block, kind=official).exists():
        return "official practice"
    return "before the event" if not _earlier_blocks(block) else "between rounds"


def windows_of(entry: BlockEntry, now: Moment) -> tuple[SurfaceWindow, ...] | None:
    """The event's own rules in the order in which their times come; None when it has stated none."""
    event = entry.block.event
    rules = {MOMENTS[row.kind]: row for row in EventWindow.objects.filter(event=event, kind__in=MOMENTS)}
    later = _later_blocks(entry.block)
    to_come = {
        "before the event": now == "before the event",
        "official practice": now in ("before the event", "official practice") or later,
        "between rounds": now == "between rounds" or later,
        "in competition": True,
    }
    stated = tuple(
        SurfaceWindow(
            moment=moment,
            # No event can allow it once scoring has begun (USBC General Playing Rule 18, found).
            allowed=rules[moment].allowed and moment != "in competition",
            by_hand=rules[moment].by_hand,
            by_machine=rules[moment].by_machine,
            where=rules[moment].where,
            confirmed_by=event.rules_confirmed_by,
            upcoming=to_come[moment],
        )
        for moment in _in_order(now)
        if moment in rules
    )
    return stated or None


def _in_order(now: Moment) -> tuple[Moment, ...]:
    """The moments as they come from now on: once scoring has begun, rounds end before a next practice."""
    if now in ("before the event", "official practice"):
        return ("before the event", "official practice", "between rounds", "in competition")
    return ("between rounds", "official practice", "before the event", "in competition")


def _later_blocks(block: Block) -> bool:
    return block.event.blocks.filter(starts_at__gt=block.starts_at).exists()


def _earlier_blocks(block: Block) -> bool:
    earlier = block.event.blocks.filter(starts_at__lt=block.starts_at)
    return earlier.exclude(state=Block.State.PLANNED).exists()
