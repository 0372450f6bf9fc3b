"""What a person says about one delivery, and the rules for it that every way of entering shares."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.utils import timezone

from arsenal.models import Ball, Release
from motion.errors import MotionError
from motion.frames import throw_from_pins
from motion.leaves import PINS, dashed
from motion.pocket import HIT_WORDS
from sessions.limits import LINE_LIMITS, SHOT_LIMITS, refusals, refuse_day
from sessions.models import BlockEntry, Lane, Shot

# A phone's clock may be a little ahead of the server's.
CLOCK_SLACK = timedelta(minutes=5)
NOTE_LENGTH = 300


@dataclass(frozen=True, kw_only=True)
class ShotFacts:
    """One delivery as told. Pins by number: those left standing, those knocked down, or both.

    Only ball and pins must be known. Boards are the bowler's own side.
    """

    ball: Ball | None = None
    pins_left: Iterable[int] | None = None
    pins_down: Iterable[int] | None = None
    foul: bool = False
    release: Release | None = None
    lane: Lane | None = None
    laydown_board: float | None = None
    target_board: float | None = None
    target_ft: float | None = None
    breakpoint_board: float | None = None
    breakpoint_ft: float | None = None
    hit_word: str = ""
    offset_boards: float | None = None
    speed_mph: float | None = None
    speed_read: str = ""
    note: str = ""
    thrown_at: datetime | None = None


def check_facts(facts: ShotFacts, entry: BlockEntry, standing: int, lanes: tuple[Lane, Lane]) -> int:
    """The mask of the pins left, or one ValidationError that names every field that is wrong."""
    wrong = refusals(vars(facts), SHOT_LIMITS)
    wrong |= refuse_ball(facts.ball, entry)
    wrong |= refuse_release(facts.release, entry)
    wrong |= refuse_moment(facts.thrown_at, "thrown_at", "Time")
    if facts.lane is not None and facts.lane not in lanes:
        wrong["lane"] = f"Lane {facts.lane.number} is not allowed: {lanes[0].number} or {lanes[1].number}."
    if facts.hit_word and facts.hit_word not in HIT_WORDS:
        wrong["hit_word"] = f"Hit “{facts.hit_word[:40]}” is not known: {', '.join(HIT_WORDS)}."
    if facts.speed_read and facts.speed_read not in Shot.SpeedRead.values:
        wrong["speed_read"] = (
            f"Speed read “{facts.speed_read[:40]}” is not known: {', '.join(Shot.SpeedRead.values)}."
        )
    if len(facts.note) > NOTE_LENGTH:
        wrong["note"] = f"Note of {len(facts.note)} characters is too long: up to {NOTE_LENGTH}."
    left = 0
    try:
        left = read_pins(facts, standing)
    except ValidationError as error:
        wrong |= {field: " ".join(texts) for field, texts in error.message_dict.items()}
    if wrong:
        raise ValidationError(wrong)
    return left


def read_pins(facts: ShotFacts, standing: int) -> int:
    """The pins left as a mask, from pins left, pins down or both; names the pin that cannot be."""
    left = None if facts.pins_left is None else list(facts.pins_left)
    down = None if facts.pins_down is None else list(facts.pins_down)
    if left is None and down is None:
        raise ValidationError({"pins_left": f"Pins are missing: the pins left of {dashed(standing)}."})
    for field, pins in (("pins_left", left), ("pins_down", down)):
        for pin in pins or ():
            if isinstance(pin, bool) or pin not in PINS:
                raise ValidationError({field: f"Pin {str(pin)[:10]} is not allowed: pins are 1 to 10."})
    if both := sorted(set(left or ()) & set(down or ())):
        named = "-".join(map(str, both))
        raise ValidationError({"pins_left": f"Pin {named} is both down and standing: one or the other."})
    try:
        return throw_from_pins(standing=standing, left=left, down=down).left
    except MotionError as error:
        field = "pins_down" if error.field == "pins down" else "pins_left"
        raise ValidationError({field: f"Pin {error.value} is not allowed: {error.allowed}."}) from None


def refuse_ball(ball: Ball | None, entry: BlockEntry) -> dict[str, str]:
    """A shot is thrown with a ball of its bowler, from the bag of the block where one was named."""
    if ball is None:
        return {"ball": "Ball is missing: choose one of the bag."}
    if ball.bowler_id != entry.bowler_id:
        return {"ball": f"Ball “{ball.name}” is not allowed: it is not one of {entry.bowler.name}'s balls."}
    bag = list(entry.bag.values_list("ball_id", flat=True))
    if bag and ball.pk not in bag:
        return {"ball": f"Ball “{ball.name}” is not in the bag of this block: add it to the bag first."}
    return {}


def refuse_release(release: Release | None, entry: BlockEntry) -> dict[str, str]:
    if release is not None and release.bowler_id != entry.bowler_id:
        return {"release": f"Release is not allowed: it is not one of {entry.bowler.name}'s."}
    return {}


def refuse_moment(moment: datetime | None, field: str, label: str) -> dict[str, str]:
    if moment is None:
        return {}
    if moment > timezone.now() + CLOCK_SLACK:
        # As it was given: a moment far enough away cannot be turned into another time zone.
        return {field: f"{label} {moment:%Y-%m-%d %H:%M} is not allowed: now or earlier."}
    far = refuse_day(moment, label)
    return {field: far} if far else {}


def line_of(facts: ShotFacts) -> dict[str, float | None]:
    """The fields of a line as stored; a target without a distance is at the arrows' usual 15 ft."""
    line = {name: getattr(facts, name) for name in LINE_LIMITS}
    line["target_ft"] = 15.0 if facts.target_ft is None else facts.target_ft
    return line


def shot_from(facts: ShotFacts, pins_left: int) -> Shot:
    """An unsaved shot with everything that was said; the place in the game is filled in by the caller.

    The number a trade word stands for is not stored: it is derived, and believed less than one that was read.
    """
    return Shot(
        ball=facts.ball,
        release=facts.release,
        **line_of(facts),
        breakpoint_board=facts.breakpoint_board,
        breakpoint_ft=facts.breakpoint_ft,
        hit_word=facts.hit_word,
        offset_boards=facts.offset_boards,
        pins_left=pins_left,
        foul=facts.foul,
        speed_mph=facts.speed_mph,
        speed_read=facts.speed_read,
        note=facts.note,
        thrown_at=facts.thrown_at or timezone.now(),
    )
