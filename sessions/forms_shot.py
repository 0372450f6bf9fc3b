"""The form of one delivery, at the lane and when it is corrected later."""

import uuid
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from arsenal.forms.voice import PlainForm
from arsenal.models import Ball
from motion.leaves import PINS
from motion.pocket import HIT_WORDS
from sessions.facts import NOTE_LENGTH, ShotFacts
from sessions.forms_base import ReleaseField, number_field
from sessions.limits import FRAME, GAME, PRACTICE_THROW, SHOT_LIMITS
from sessions.models import BlockEntry, Lane, Shot

CLEAR, LEAVE, NONE_DOWN = "clear", "leave", "none"
_NUMBERS = (
    "laydown_board",
    "target_board",
    "target_ft",
    "breakpoint_board",
    "breakpoint_ft",
    "offset_boards",
    "speed_mph",
)


class ShotForm(PlainForm, forms.Form):
    """`outcome` is the button: all pins down, those touched left standing, or none down."""

    uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"invalid": "This page's own number was lost: load it again."},
    )
    game_number = number_field(GAME, widget=forms.HiddenInput)
    frame_number = number_field(FRAME, widget=forms.HiddenInput)
    # As far as practice counts; of a game record knows the place.
    throw_number = number_field(PRACTICE_THROW, widget=forms.HiddenInput)
    at_pins_left = forms.BooleanField(required=False, widget=forms.HiddenInput)
    outcome = forms.ChoiceField(
        choices=[(CLEAR, "All down"), (LEAVE, "Pins left"), (NONE_DOWN, "None down")],
        error_messages={
            "required": "Pins are missing: press one of the buttons.",
            "invalid_choice": "Press one of the buttons.",
        },
    )
    left = forms.TypedMultipleChoiceField(
        choices=[(pin, str(pin)) for pin in PINS],
        coerce=int,
        required=False,
        label="Pins left",
        error_messages={"invalid_choice": "Pin %(value)s is not allowed: pins are 1 to 10."},
    )
    ball = forms.ModelChoiceField(
        queryset=Ball.objects.none(),
        to_field_name="uuid",
        empty_label=None,
        error_messages={
            "required": "Ball is missing: choose one of the bag.",
            "invalid_choice": "Ball is not allowed: choose one of the bowler's own balls.",
        },
    )
    release = ReleaseField()
    lane = forms.ModelChoiceField(
        queryset=Lane.objects.none(),
        to_field_name="number",
        required=False,
        empty_label="as the frame says",
        error_messages={"invalid_choice": "Lane is not allowed: one of the pair."},
    )
    laydown_board = number_field(SHOT_LIMITS["laydown_board"], label="Laydown")
    target_board = number_field(SHOT_LIMITS["target_board"], label="Target")
    target_ft = number_field(SHOT_LIMITS["target_ft"], label="Target at (ft)")
    breakpoint_board = number_field(SHOT_LIMITS["breakpoint_board"], label="Breakpoint")
    breakpoint_ft = number_field(SHOT_LIMITS["breakpoint_ft"], label="Breakpoint at (ft)")
    offset_boards = number_field(SHOT_LIMITS["offset_boards"], label="Offset (boards)")
    speed_mph = number_field(SHOT_LIMITS["speed_mph"])
    speed_read = forms.ChoiceField(
        choices=[("", "not said"), *Shot.SpeedRead.choices], required=False, label="Speed read"
    )
    hit_word = forms.ChoiceField(
        choices=[("", "not said"), *((word, word) for word in HIT_WORDS)],
        required=False,
        label="Where it hit",
    )
    foul = forms.BooleanField(required=False, label="Foul")
    note = forms.CharField(
        required=False,
        max_length=NOTE_LENGTH,
        error_messages={"max_length": f"Note of %(show_value)s characters is too long: up to {NOTE_LENGTH}."},
    )

    def __init__(self, entry: BlockEntry, lanes: tuple[Lane, Lane] | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["uuid"].initial = uuid.uuid4()
        self._choose("ball", entry.bowler.balls.all())
        self._choose("release", entry.bowler.releases.all())
        if lanes is not None:
            self._choose("lane", Lane.objects.filter(pk__in=[lane.pk for lane in lanes]))

    def _choose(self, name: str, rows: Any) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101  (declared above)
        field.queryset = rows

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        outcome, left = data.get("outcome"), data.get("left")
        if outcome == LEAVE and not left and "left" not in self.errors:
            self.add_error(
                "left", "Pins left are missing: touch the pins that stand, or press the button for all down."
            )
        if outcome in (CLEAR, NONE_DOWN) and left:
            pins = "-".join(map(str, sorted(left)))
            word = "all pins down" if outcome == CLEAR else "no pin down"
            raise ValidationError(
                f"Pin {pins} is touched as standing, but the button says {word}: "
                "use “Log pins left”, or let go of the pins."
            )
        return data

    def facts(self) -> ShotFacts:
        data = self.cleaned_data
        pins: dict[str, Any] = {
            CLEAR: {"pins_left": ()},
            LEAVE: {"pins_left": data["left"]},
            NONE_DOWN: {"pins_down": ()},
        }[data["outcome"]]
        numbers = {name: data[name] for name in _NUMBERS}
        words = {
            name: data[name] for name in ("foul", "hit_word", "speed_read", "note", "ball", "release", "lane")
        }
        return ShotFacts(**pins, **numbers, **words)
