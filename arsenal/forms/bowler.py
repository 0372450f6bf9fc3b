"""A bowler's measured numbers and releases."""

import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from arsenal.forms.base import StoredForm
from arsenal.models import Bowler, Person, Release, Stamped, Team
from arsenal.models.people import Role

CORRELATION_HELP = (
    "Optional: five rows of five numbers from -1 to 1, in the order speed, launch angle, laydown, rev rate,"
    " rotation, with 1 on the diagonal. Empty means independent."
)


class BowlerForm(StoredForm):
    FOLDED = {
        "Drift, laydown distance": ("drift_boards", "laydown_ft"),
        "Bowling now, guests, note": ("is_active", "shared_with_guests", "note"),
    }

    class Meta:
        model = Bowler
        fields = (
            "name",
            "hand",
            "hands_used",
            "pap_over_in",
            "pap_up_in",
            "gap_boards",
            "drift_boards",
            "laydown_ft",
            "person",
            "is_active",
            "shared_with_guests",
            "note",
        )
        labels = {
            "hands_used": "Delivery",
            "person": "Signs in as",
            "is_active": "Bowls for the team now",
            "shared_with_guests": "Guests may read this card",
        }
        help_texts = {
            "pap_over_in": "Positive axis point: inches from the grip centre toward the bowler's own side.",
            "pap_up_in": "Inches up from the grip centre's midline; down is negative.",
            "gap_boards": "Slide foot to ball at the line; common practice 5 to 8 boards.",
            "drift_boards": "How far the walk drifts: away from the own gutter is positive.",
            "laydown_ft": "How far past the foul line the ball first touches.",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, team: Team | None = None, by_coach: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.team, self.by_coach = team, by_coach
        if not by_coach:
            # Whose card it is, is the coach's to say.
            del self.fields["person"]
            return
        self.fields["person"] = forms.ModelChoiceField(
            queryset=Person.objects.filter(
                memberships__team=team, memberships__role__in=(Role.COACH, Role.PLAYER)
            ),
            required=False,
            label="Signs in as",
            help_text="That person may edit this card and bag.",
        )

    def _of_stored(self, row: Stamped) -> StoredForm:
        return BowlerForm(instance=row, team=self.team, by_coach=self.by_coach)


class CorrelationField(forms.Field):
    """Five rows of five numbers as text; the release itself judges whether they are a correlation."""

    widget = forms.Textarea(attrs={"rows": 5, "spellcheck": "false", "class": "digits"})

    def to_python(self, value: Any) -> list[list[float]] | None:
        text = str(value or "").strip()
        if not text:
            return None
        rows = []
        for line in text.splitlines():
            try:
                rows.append([float(cell) for cell in line.replace(",", " ").split()])
            except ValueError:
                raise ValidationError(
                    f"Correlation “{line[:60]}” is not a row of numbers from -1 to 1."
                ) from None
        return rows

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, list):
            return "\n".join(" ".join(json.dumps(cell) for cell in row) for row in value)
        return value


class ReleaseForm(StoredForm):
    FOLDED = {
        "Spread from shot to shot": (
            "sd_speed_mph",
            "sd_launch_deg",
            "sd_laydown_boards",
            "sd_rev_rate_rpm",
            "sd_axis_rotation_deg",
        ),
        "Correlation of the five": ("scatter_correlation",),
        "How and when it was found": ("origin_note",),
    }

    scatter_correlation = CorrelationField(required=False, label="Correlation", help_text=CORRELATION_HELP)

    class Meta:
        model = Release
        fields = (
            "kind",
            "speed_mph",
            "rev_rate_rpm",
            "axis_rotation_deg",
            "axis_tilt_deg",
            "sd_speed_mph",
            "sd_launch_deg",
            "sd_laydown_boards",
            "sd_rev_rate_rpm",
            "sd_axis_rotation_deg",
            "scatter_correlation",
            "origin",
            "origin_note",
        )
        labels = {"kind": "Release", "origin": "Where the numbers come from", "origin_note": "How and when"}
        help_texts = {
            "speed_mph": "Of the ball's centre at release.",
            "axis_rotation_deg": "0 is end over end, 90 full side roll.",
            "axis_tilt_deg": "Angle of the spin axis above the lane.",
        }
