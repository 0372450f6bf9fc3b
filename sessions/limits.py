"""The numbers of the logbook and what each may be; models, forms, API and record all ask here."""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from django.core.exceptions import ValidationError

from arsenal.limits import Limit
from motion.inputs import SPEED_MPH

LINE_LIMITS = {
    "laydown_board": Limit("Laydown board", 1, 39),
    "target_board": Limit("Target board", 1, 39),
    "target_ft": Limit("Target distance", 5, 50, "ft"),
}
SHOT_LIMITS = {
    **LINE_LIMITS,
    "breakpoint_board": Limit("Breakpoint board", 1, 39),
    "breakpoint_ft": Limit("Breakpoint distance", 20, 60, "ft"),
    "offset_boards": Limit("Offset at contact", -20, 20, "boards"),
    "speed_mph": Limit("Speed", *SPEED_MPH, "mph"),
}
EVENT_LIMITS = {
    "max_balls": Limit("Balls allowed", 1, 40, whole=True),
    "others_per_pair": Limit("Others on each pair", 0, 20, whole=True),
    "right_handed_share": Limit("Share of right-handers", 0, 1),
}
BLOCK_LIMITS = {"games_planned": Limit("Number of games", 1, 50, whole=True)}
STRETCH_LIMITS = {
    "first_frame": Limit("First frame", 1, 10, whole=True),
    "last_frame": Limit("Last frame", 1, 10, whole=True),
    **LINE_LIMITS,
}
FRAME = Limit("Frame", 1, 10, whole=True)
THROW = Limit("Throw", 1, 3, whole=True)
# In practice throws count up and nobody is bound to an end.
PRACTICE_THROW = Limit("Throw", 1, 1000, whole=True)
GAME = Limit("Game", 1, 50, whole=True)
LANES = Limit("Number of lanes", 2, 200, whole=True)
LANE = Limit("Lane", 1, 200, whole=True)
MOVE = Limit("Pairs to move", -20, 20, whole=True)
# Wider than any logbook; beyond them lie slips of the keyboard, and moments no time zone can show.
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2100, 1, 1)


def refuse_day(day: date | datetime, label: str) -> str | None:
    """Why a day or a moment is refused that lies in no logbook, or None."""
    at = day if isinstance(day, datetime) else datetime(day.year, day.month, day.day, tzinfo=UTC)
    first, last = (datetime(d.year, d.month, d.day, tzinfo=UTC) for d in (FIRST_DAY, LAST_DAY))
    if first <= at <= last:
        return None
    shown = day.isoformat()[:16].replace("T", " ")
    return f"{label} {shown} is not allowed: {FIRST_DAY} to {LAST_DAY}."


def refusals(values: Mapping[str, Any], limits: Mapping[str, Limit]) -> dict[str, str]:
    """Why each value that is no number in its range is refused, by field; None is not judged."""
    wrong: dict[str, str] = {}
    for name, limit in limits.items():
        value = values.get(name)
        if value is None:
            continue
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            wrong[name] = limit.not_a_number(value)
        elif refusal := limit.refusal(value):
            wrong[name] = refusal
    return wrong


def refuse(wrong: Mapping[str, str | None]) -> None:
    """Raise every refusal at once, by field."""
    if found := {name: why for name, why in wrong.items() if why}:
        raise ValidationError(found)
