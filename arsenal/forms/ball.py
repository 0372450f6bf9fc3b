"""A ball and its layout."""

from typing import Any

from django import forms

from arsenal.edits import Clash, StaleEdit
from arsenal.forms.base import DayField, StoredForm
from arsenal.models import Ball, Layout, Person, Stamped


class BallForm(StoredForm):
    FOLDED = {
        "Intermediate differential, diameter, hardness": (
            "intermediate_differential_in",
            "diameter_in",
            "hardness_d",
        ),
        "Date drilled, serial number, approval": (
            "drilled_on",
            "serial_number",
            "approval_note",
            "approved_on",
        ),
        "Guests, note": ("shared_with_guests", "note"),
    }

    class Meta:
        model = Ball
        fields = (
            "name",
            "cover",
            "weight_lb",
            "rg_in",
            "differential_in",
            "intermediate_differential_in",
            "diameter_in",
            "role",
            "drilled_on",
            "serial_number",
            "hardness_d",
            "approval_note",
            "approved_on",
            "in_bag",
            "shared_with_guests",
            "note",
        )
        labels = {
            "role": "Place in the bag",
            "drilled_on": "Date drilled",
            "approval_note": "Approval",
            "approved_on": "Approved on",
            "in_bag": "In the bag now",
            "shared_with_guests": "Guests may read this ball",
        }
        help_texts = {
            "diameter_in": "8.5 to 8.595 in by the rule restated; 8.4 to 8.7 in can be entered.",
            "approval_note": "As you read it on the list or the ball; nothing is looked up.",
            "approved_on": "Older approvals have other limits.",
            "hardness_d": "Shore D reading, if you have one.",
        }
        field_classes = {"drilled_on": DayField, "approved_on": DayField}
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.is_new:
            # Every ball has one; 0 would be a guess that passes for a number that was read.
            self.fields["differential_in"].required = True
            self.fields["differential_in"].initial = None
            self.initial["differential_in"] = None


class LayoutForm(StoredForm):
    """A ball has one layout. It is made by its first save, so version 0 stands for "there was none"."""

    FOLDED = {
        "Static weights": ("top_oz", "side_oz", "finger_oz"),
        "Holes, and who drilled it": ("gripping_holes", "balance_hole", "drilled_by"),
    }

    balance_hole = forms.NullBooleanField(
        required=False,
        label="Balance hole",
        widget=forms.Select(choices=[("", "Not known"), ("True", "Yes"), ("False", "No")]),
    )

    class Meta:
        model = Layout
        fields = (
            "pin_to_pap_in",
            "drilling_angle_deg",
            "val_angle_deg",
            "top_oz",
            "side_oz",
            "finger_oz",
            "gripping_holes",
            "balance_hole",
            "drilled_by",
        )
        help_texts = {
            "drilling_angle_deg": "Between the line pin to mass-bias (or CG) mark and the line pin to PAP.",
            "val_angle_deg": "Between the line pin to PAP and the vertical axis line through the PAP.",
            "top_oz": "Top heavy is positive, bottom negative.",
            "side_oz": "Toward the PAP is positive.",
            "finger_oz": "Finger heavy is positive, thumb negative.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.is_new:
            self.fields["version"].initial = 0

    def store(self, person: Person) -> Stamped:
        try:
            return super().store(person)
        except Clash:
            raise StaleEdit(Layout.objects.get(ball=self.instance.ball)) from None
