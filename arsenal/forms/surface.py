"""A new entry of the surface log."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from arsenal.forms.base import StoredForm, WhenField
from arsenal.models import Person, Stamped, SurfaceEntry
from arsenal.models.surface import ALTERING, MOST_PADS, SurfaceKind, WindowKind
from arsenal.surface_blocks import block_choices, block_key, in_play, link_block

WET = [("", "Not noted"), ("True", "Wet"), ("False", "Dry")]


class PadsField(forms.Field):
    """Pads in the order used, as text: "500, 1000" becomes [500, 1000]."""

    def to_python(self, value: Any) -> list[int]:
        words = str(value or "").replace(",", " ").replace("/", " ").split()
        try:
            return [int(word.lstrip("Pp")) for word in words]
        except ValueError:
            raise ValidationError(
                f"Pads “{str(value)[:60]}” are not a list of grits:"
                f" whole numbers, {SurfaceEntry.GRIT.words} each, at most {MOST_PADS}."
            ) from None

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(str(grit) for grit in value) if isinstance(value, list) else value


class SurfaceForm(StoredForm):
    grits = PadsField(
        required=False,
        label="Pads, in the order used",
        help_text=f"For example 500, 1000. Grits {SurfaceEntry.GRIT.words}.",
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )
    by_machine = forms.TypedChoiceField(
        label="How",
        choices=[("False", "By hand"), ("True", "By machine")],
        coerce=lambda word: word == "True",
        required=False,
        initial=False,
    )
    wet = forms.NullBooleanField(label="Wet or dry", required=False, widget=forms.Select(choices=WET))
    done_at = WhenField(label="When")
    before_block = forms.ChoiceField(
        required=False, label="Before which block", help_text="If it was done for one."
    )

    class Meta:
        model = SurfaceEntry
        fields = (
            "kind",
            "done_at",
            "grits",
            "by_machine",
            "wet",
            "minutes",
            "window",
            "scanner_ra_um",
            "games",
            "lane_kind",
            "note",
        )
        labels = {"kind": "What was done", "window": "In which kind of window"}
        help_texts = {
            "minutes": "All pads together.",
            "scanner_ra_um": "Replaces the estimate with what was measured.",
            "games": "Bowled where nobody logged them.",
            "lane_kind": "Wood, synthetic, how oily: as you would say it.",
        }

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = [choice for choice in SurfaceKind.choices if choice[0] != SurfaceKind.WITHDRAWN]
        self.fields["kind"] = forms.ChoiceField(label="What was done", choices=kinds)
        # A new entry is of now, unless it corrects one of another time.
        self.initial["done_at"] = self.initial.get("done_at") or timezone.now()
        # The page leaves out what does not go with the kind.
        self.fields["window"].required = False
        # Work on a ball in play may put it out, so nothing is taken for granted about when it was done.
        self.in_play = in_play(self.instance.ball) if self.instance.corrects is None else ""
        if self.in_play:
            self.fields["window"].choices = [("", "Choose"), *WindowKind.choices]  # type: ignore[attr-defined]
            self.initial["window"] = ""
        blocks = block_choices(self.instance.ball, person)
        self.initial["before_block"] = block_key(self.instance.corrects)
        if blocks:
            self.fields["before_block"].choices = [("", "None in particular"), *blocks]  # type: ignore[attr-defined]
        else:
            del self.fields["before_block"]

    def clean_by_machine(self) -> bool:
        return bool(self.cleaned_data["by_machine"])

    def clean_window(self) -> str:
        window = self.cleaned_data["window"]
        if not window and self.in_play and self.cleaned_data.get("kind") in ALTERING:
            raise ValidationError(
                f"In which kind of window is missing: the ball is in the bag of a running block"
                f" ({self.in_play}). Choose one of: {', '.join(str(label) for label in WindowKind.labels)}."
            )
        return window or str(WindowKind.HOME)

    def store(self, person: Person) -> Stamped:
        self.instance.entered_by = person
        # Entry and block together or neither.
        with transaction.atomic():
            row, new = self.create(person)
            if new and (block := self.cleaned_data.get("before_block")):
                link_block(self.instance, block)
        return row


class WithdrawForm(StoredForm):
    """An entry that only says: the one before does not count."""

    class Meta:
        model = SurfaceEntry
        fields = ("note",)
        labels = {"note": "Why it does not count"}

    def store(self, person: Person) -> Stamped:
        self.instance.entered_by = person
        return super().store(person)
