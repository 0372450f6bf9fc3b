"""Forms about a house: its lanes, and when they were dressed."""

import uuid
from typing import Any

from django import forms
from django.utils import timezone

from arsenal.forms.voice import PlainForm
from arsenal.models import Person
from patterns.models import PatternVersion
from sessions import record
from sessions.edit_page import RecordedForm
from sessions.forms_base import moment_field, number_field
from sessions.limits import LANES
from sessions.models import Block, Dressing, House, Lane, NotDressed, PairVisit

DRESSED, NOT_DRESSED = "dressed", "not dressed"


class HouseForm(RecordedForm):
    FOLDED = {"Note": ("note",)}

    lanes = number_field(LANES, required=True, help_text="An even number: lanes come in pairs.")

    class Meta:
        model = House
        fields = ("name", "note")
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.fields["lanes"].initial = self.instance.lanes.count()

    def write(self, person: Person) -> House:
        lanes, version = self.cleaned_data["lanes"], self.seen_version
        return record.save_house(self.instance, lanes, by=person, expected_version=version)[0]


def block_to_dress_for(house: House) -> Block | None:
    """The next block that is not over and has a lane of which nothing is said yet."""
    ahead = Block.objects.filter(event__house=house).exclude(state=Block.State.FINISHED)
    ordered = list(ahead.order_by("starts_at", "pk"))
    return next((block for block in ordered if undressed(block)), ordered[0] if ordered else None)


def undressed(block: Block) -> list[Lane]:
    """Lanes of the block, or of the whole house while no pairs are planned, of which nothing is said yet."""
    on = Lane.objects.filter(house=block.event.house_id)
    visits = PairVisit.objects.filter(entry__block=block).values_list("left_lane", "right_lane")
    if planned := {lane for pair in visits for lane in pair}:
        on = on.filter(pk__in=planned)
    said = (Dressing.objects, NotDressed.objects)
    known = {lane for rows in said for lane in rows.filter(before_block=block).values_list("lane", flat=True)}
    return list(on.exclude(pk__in=known).order_by("number"))


class DressForm(PlainForm, forms.Form):
    """Which lanes were dressed, when, with which sheet and before which block; or known not to be."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    what = forms.ChoiceField(
        choices=[(DRESSED, "Dressed"), (NOT_DRESSED, "Not dressed again: traffic runs on")],
        widget=forms.RadioSelect,
        initial=DRESSED,
        label="What happened",
    )
    before_block = forms.ModelChoiceField(
        queryset=Block.objects.none(),
        to_field_name="uuid",
        required=False,
        empty_label="no block",
        label="Before which block",
        error_messages={"invalid_choice": "Block is not allowed: choose one that is bowled in this house."},
    )
    pattern_version = forms.ModelChoiceField(
        queryset=PatternVersion.objects.none(),
        required=False,
        empty_label="as the block says",
        label="Pattern",
        error_messages={"invalid_choice": "Pattern is not allowed: choose one of the team's."},
    )
    done_at = moment_field("When", help_text="When the machine was done.")
    lanes = forms.TypedMultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Lanes are missing: choose at least one.",
            "invalid_choice": "Lane %(value)s is not allowed: choose lanes of this house.",
        },
    )
    note = forms.CharField(required=False, max_length=200)

    def __init__(self, house: House, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["uuid"].initial = uuid.uuid4()
        self.fields["done_at"].initial = timezone.now()
        blocks = Block.objects.filter(event__house=house).select_related("event").order_by("-starts_at")
        self._choose("before_block", blocks)
        self.before = block_to_dress_for(house)
        self.fields["before_block"].initial = self.before and self.before.uuid
        versions = PatternVersion.objects.filter(pattern__team=house.team).select_related("pattern")
        self._choose("pattern_version", versions.order_by("pattern__name", "-number"))
        self._offer_lanes({str(lane.number): lane for lane in house.lanes.order_by("number")})

    def _offer_lanes(self, by_number: dict[str, Lane]) -> None:
        lanes = self.fields["lanes"]
        assert isinstance(lanes, forms.TypedMultipleChoiceField)  # noqa: S101  (declared above)
        lanes.choices = [(number, number) for number in by_number]
        lanes.coerce = by_number.__getitem__
        if self.before is not None:
            lanes.initial = [str(lane.number) for lane in undressed(self.before)]

    def _choose(self, name: str, rows: Any) -> None:
        self.fields[name].queryset = rows  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        block = data.get("before_block")
        if data.get("what") == NOT_DRESSED:
            if block is None and "before_block" not in self.errors:
                self.add_error("before_block", "Block is missing: say before which block it was not dressed.")
            return data
        if data.get("pattern_version") is None and block is not None:
            data["pattern_version"] = block.pattern_version
        if data.get("pattern_version") is None and "pattern_version" not in self.errors:
            self.add_error("pattern_version", "Pattern is missing: choose one, or the block that says it.")
        if data.get("done_at") is None and "done_at" not in self.errors:
            self.add_error("done_at", "When is missing: a date and time like 2026-06-06 08:15.")
        return data
