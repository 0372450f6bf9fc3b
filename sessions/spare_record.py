"""How often a bowler converts what a first ball leaves, from the log, drawn toward the assumed shares."""

from dataclasses import fields

from arsenal.models import Bowler
from motion.advice_types import SpareRecord
from motion.leaves import FULL_RACK, is_corner_pin, is_split, is_washout, pin_count
from sessions.models import Shot

# The assumed share weighs as much as this many logged attempts; assumed, no published source.
ASSUMED_ATTEMPTS = 12
MOST_ATTEMPTS = 600


def kind_of_leave(mask: int) -> str:
    """Field of SpareRecord that a leave belongs to."""
    if is_corner_pin(mask):
        return "corner_pin"
    if pin_count(mask) == 1:
        return "single_pin"
    if is_split(mask):
        return "split"
    return "washout" if is_washout(mask) else "multi_pin"


def spare_record(bowler: Bowler) -> SpareRecord:
    attempts = Shot.objects.filter(
        entry__bowler=bowler, game__isnull=False, undone_at=None, pins_before__gt=0, pins_before__lt=FULL_RACK
    ).order_by("-thrown_at", "-frame_number", "-throw_number")
    rows = attempts.values_list("pins_before", "pins_left", "foul")[:MOST_ATTEMPTS]
    tried: dict[str, int] = {}
    made: dict[str, int] = {}
    for before, left, foul in rows:
        kind = kind_of_leave(before)
        tried[kind] = tried.get(kind, 0) + 1
        made[kind] = made.get(kind, 0) + (left == 0 and not foul)
    assumed = SpareRecord()
    shares = {}
    for item in fields(SpareRecord):
        prior = getattr(assumed, item.name)
        count = tried.get(item.name, 0)
        shares[item.name] = (made.get(item.name, 0) + prior * ASSUMED_ATTEMPTS) / (count + ASSUMED_ATTEMPTS)
    return SpareRecord(**shares)
