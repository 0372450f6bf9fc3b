"""Forms of an event with its own rules, and of a block."""

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils import timezone

from arsenal.models import Person
from arsenal.models.surface import WindowKind
from patterns.models import PatternVersion
from sessions import record
from sessions.edit_page import RecordedForm
from sessions.forms_base import date_field, moment_field
from sessions.models import Block, Event, EventWindow, House

# Away from any event no event has a say.
WINDOW_KINDS = [kind for kind in WindowKind if kind != WindowKind.HOME]
WINDOW_PARTS = ("allowed", "by_hand", "by_machine", "where")
UNSET, YES, NO = "", "yes", "no"


def next_full_hour(event: Event) -> datetime:
    """In the reader's time; on the event's first day while that is still to come."""
    now = timezone.localtime()
    hour = now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    ahead = (event.starts_on - hour.date()).days
    return hour + timedelta(days=ahead) if ahead > 0 else hour


class EventForm(RecordedForm):
    FOLDED = {
        "Time zone, guests": ("time_zone", "shared_with_guests"),
        "Limits, and who confirmed the rules": (
            "max_balls",
            "rules_confirmed_by",
            "rules_confirmed_on",
            "rules_note",
        ),
        "The field beside the team": ("others_per_pair", "right_handed_share"),
    }

    starts_on = date_field("First day")
    ends_on = date_field("Last day")
    rules_confirmed_on = date_field("Confirmed on", required=False)

    class Meta:
        model = Event
        fields = (
            "name",
            "house",
            "starts_on",
            "ends_on",
            "time_zone",
            "shared_with_guests",
            "max_balls",
            "rules_confirmed_by",
            "rules_confirmed_on",
            "rules_note",
            "others_per_pair",
            "right_handed_share",
        )
        labels = {
            "time_zone": "Time zone",
            "shared_with_guests": "Guests of the team may read it",
            "rules_confirmed_by": "Confirmed by",
            "rules_note": "The rules in their own words",
        }
        help_texts = {
            "max_balls": "Left empty: no limit is known.",
            "rules_confirmed_by": "Tournament director or whoever said it.",
            "others_per_pair": "Bowlers beside the team on each pair; the wear they make is assumed.",
            "right_handed_share": "Among those others: 0.88 means 88 of 100.",
        }
        widgets = {"rules_note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        house = self.fields["house"]
        assert isinstance(house, forms.ModelChoiceField)  # noqa: S101  (a foreign key's field)
        house.queryset = House.objects.filter(team=self.instance.team).order_by("name")
        house.error_messages["required"] = "House is missing: choose one, or add it first."
        house.error_messages["invalid_choice"] = "House is not allowed: choose one of the team's."
        self.fields["name"].error_messages["required"] = "Name is missing: up to 100 characters."
        if self.is_new:
            self._begin_with(house.queryset)
        known = {window.kind: window for window in self.instance.windows.all()} if self.instance.pk else {}
        for kind in WINDOW_KINDS:
            self._add_window(kind, known.get(kind))

    def _begin_with(self, houses: "QuerySet[House]") -> None:
        """Today, in the house of the last event, or in the only one."""
        last = Event.objects.filter(team=self.instance.team).order_by("-starts_on", "-pk").first()
        usual = last.house if last else houses.first() if houses.count() == 1 else None
        self.initial["house"] = usual and usual.pk
        self.initial["starts_on"] = self.initial["ends_on"] = timezone.localdate()

    def _add_window(self, kind: WindowKind, known: EventWindow | None) -> None:
        self.fields[f"{kind}_allowed"] = forms.ChoiceField(
            choices=[(UNSET, "Unset"), (YES, "Allowed"), (NO, "Not allowed")],
            required=False,
            label=str(kind.label),
            initial=UNSET if known is None else YES if known.allowed else NO,
        )
        self.fields[f"{kind}_by_hand"] = forms.BooleanField(
            required=False, label="by hand", initial=known.by_hand if known else True
        )
        self.fields[f"{kind}_by_machine"] = forms.BooleanField(
            required=False, label="by machine", initial=known.by_machine if known else False
        )
        self.fields[f"{kind}_where"] = forms.CharField(
            required=False, max_length=100, label="Where", initial=known.where if known else ""
        )

    @property
    def main_fields(self) -> list[forms.BoundField]:
        names = {f"{kind}_{part}" for kind in WINDOW_KINDS for part in WINDOW_PARTS}
        return [field for field in super().main_fields if field.name not in names]

    @property
    def windows_said(self) -> list[str]:
        """What is said so far of altering surfaces, for when the rows are folded away."""
        rows = [(row["allowed"].label, row["allowed"].value()) for row in self.window_rows]
        return [f"{label}: {'allowed' if said == YES else 'not allowed'}" for label, said in rows if said]

    @property
    def windows_open(self) -> bool:
        return any(field.errors for row in self.window_rows for field in row.values())

    @property
    def window_rows(self) -> list[dict[str, forms.BoundField]]:
        return [{name: self[f"{kind}_{name}"] for name in WINDOW_PARTS} for kind in WINDOW_KINDS]

    def windows(self) -> dict[str, record.WindowRule]:
        data = self.cleaned_data
        return {
            kind.value: record.WindowRule(
                allowed=data[f"{kind}_allowed"] == YES,
                by_hand=data[f"{kind}_by_hand"],
                by_machine=data[f"{kind}_by_machine"],
                where=data[f"{kind}_where"],
            )
            for kind in WINDOW_KINDS
            if data[f"{kind}_allowed"] != UNSET
        }

    def write(self, person: Person) -> Event:
        version = self.seen_version
        return record.save_event(self.instance, self.windows(), by=person, expected_version=version)[0]


class BlockForm(RecordedForm):
    FOLDED = {"Squad, format, state": ("squad", "format", "state")}

    starts_at = moment_field("Starts", required=True)

    class Meta:
        model = Block
        fields = ("name", "squad", "format", "games_planned", "starts_at", "pattern_version", "state")
        labels = {"pattern_version": "Pattern", "format": "Format"}
        help_texts = {"format": "For example: singles, 6 games, crossing one pair right."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        versions = self.fields["pattern_version"]
        assert isinstance(versions, forms.ModelChoiceField)  # noqa: S101  (a foreign key's field)
        team = self.instance.event.team
        versions.queryset = (
            PatternVersion.objects.filter(pattern__team=team)
            .select_related("pattern")
            .order_by("pattern__name", "-number")
        )
        versions.error_messages["required"] = "Pattern is missing: choose one, or type its sheet first."
        versions.error_messages["invalid_choice"] = "Pattern is not allowed: choose one of the team's."
        self.fields["name"].error_messages["required"] = "Name is missing: up to 80 characters."
        if self.is_new:
            self._begin_with(versions.queryset)

    def _begin_with(self, versions: "QuerySet[PatternVersion]") -> None:
        """The next full hour of a day of the event, on the sheet of its last block or on the only one."""
        event = self.instance.event
        begun = list(event.blocks.select_related("pattern_version").order_by("-starts_at", "-pk"))
        self.initial["name"] = f"Block {len(begun) + 1}"
        self.initial["starts_at"] = next_full_hour(event)
        if begun:
            self.initial["pattern_version"] = begun[0].pattern_version_id
            self.initial["games_planned"] = begun[0].games_planned
        elif versions.values("pattern").distinct().count() == 1:
            newest = versions.first()
            self.initial["pattern_version"] = newest and newest.pk

    def write(self, person: Person) -> Block:
        return record.save_block(self.instance, by=person, expected_version=self.seen_version)[0]
