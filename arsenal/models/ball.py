"""A ball and its layout, in the trade's own terms."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from arsenal.limits import Limit, show_number
from arsenal.models.base import Edited
from arsenal.models.bowler import Bowler


class Cover(models.TextChoices):
    """Values are those of motion.inputs.BallSpec.cover."""

    PLASTIC = "plastic", _("Plastic")
    URETHANE = "urethane", _("Urethane")
    REACTIVE_SOLID = "reactive_solid", _("Reactive solid")
    REACTIVE_HYBRID = "reactive_hybrid", _("Reactive hybrid")
    REACTIVE_PEARL = "reactive_pearl", _("Reactive pearl")


class BagRole(models.TextChoices):
    STRONG = "strong", _("Strong end")
    BENCHMARK = "benchmark", _("Benchmark")
    WEAK = "weak", _("Weak end")
    SPARE = "spare", _("Spare ball")
    UNSET = "unset", _("Not decided")


class Ball(Edited):
    # Weight and the upper RG limit are the rule's own; the others reach as far as older approvals and worn
    # balls do, and the equipment checks say what the rule makes of them.
    LIMITS = {
        "weight_lb": Limit("Weight", 6.0, 16.0, "lb"),
        "rg_in": Limit("Radius of gyration", 2.43, 2.80, "in"),
        "differential_in": Limit("Differential", 0.0, 0.08, "in"),
        "intermediate_differential_in": Limit("Intermediate differential", 0.0, 0.08, "in"),
        "diameter_in": Limit("Diameter", 8.4, 8.7, "in"),
        "hardness_d": Limit("Hardness", 40.0, 100.0, "Shore D"),
    }

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="balls")
    name = models.CharField(max_length=80)
    weight_lb = models.FloatField()
    rg_in = models.FloatField()
    differential_in = models.FloatField(default=0.0)
    intermediate_differential_in = models.FloatField(default=0.0)
    diameter_in = models.FloatField(default=8.55)
    cover = models.CharField(max_length=20, choices=Cover.choices)
    drilled_on = models.DateField(null=True, blank=True)
    role = models.CharField(max_length=10, choices=BagRole.choices, default=BagRole.UNSET)
    serial_number = models.CharField(max_length=40, blank=True)
    hardness_d = models.FloatField(null=True, blank=True)
    approval_note = models.CharField(max_length=200, blank=True)
    approved_on = models.DateField(null=True, blank=True)
    in_bag = models.BooleanField(default=True)
    shared_with_guests = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        super().clean()
        wrong: dict[str, str] = {}
        if self.intermediate_differential_in > self.differential_in:
            wrong["intermediate_differential_in"] = (
                f"Intermediate differential {show_number(self.intermediate_differential_in)} in"
                f" is not allowed: 0 to the differential, here {show_number(self.differential_in)} in."
            )
        for name, label in (("drilled_on", "Date drilled"), ("approved_on", "Date approved")):
            if refusal := _future_day(label, getattr(self, name)):
                wrong[name] = refusal
        if wrong:
            raise ValidationError(wrong)


def _future_day(label: str, day: date | None) -> str | None:
    today = timezone.localdate()
    if not isinstance(day, date) or date(1950, 1, 1) <= day <= today:
        return None
    return f"{label} {day.isoformat()} is not allowed: 1950-01-01 to today, {today.isoformat()}."


class Layout(Edited):
    """Pin-to-PAP distance with the two angles of the usual description, and static imbalance."""

    LIMITS = {
        "pin_to_pap_in": Limit("Pin to PAP", 0.0, 6.75, "in"),
        "drilling_angle_deg": Limit("Drilling angle", 0.0, 180.0, "degrees"),
        "val_angle_deg": Limit("VAL angle", 0.0, 90.0, "degrees"),
        "top_oz": Limit("Top weight", -10.0, 10.0, "oz"),
        "side_oz": Limit("Side weight", -10.0, 10.0, "oz"),
        "finger_oz": Limit("Finger weight", -10.0, 10.0, "oz"),
        "gripping_holes": Limit("Gripping holes", 0, 10, "", whole=True),
    }

    ball = models.OneToOneField(Ball, on_delete=models.CASCADE, related_name="layout")
    pin_to_pap_in = models.FloatField(null=True, blank=True)
    drilling_angle_deg = models.FloatField(null=True, blank=True)
    val_angle_deg = models.FloatField(null=True, blank=True)
    # Static imbalance in ounces: top heavy, side (toward the PAP) and finger heavy are positive.
    top_oz = models.FloatField(null=True, blank=True)
    side_oz = models.FloatField(null=True, blank=True)
    finger_oz = models.FloatField(null=True, blank=True)
    gripping_holes = models.PositiveSmallIntegerField(null=True, blank=True)
    balance_hole = models.BooleanField(null=True, blank=True)
    drilled_by = models.CharField(max_length=80, blank=True)

    def clean(self) -> None:
        super().clean()
        rivals = Layout.objects.filter(ball=self.ball_id).exclude(pk=self.pk).exclude(uuid=self.uuid)
        if rivals.exists():
            raise ValidationError({"ball": "Ball is not allowed: it has a layout already, edit that one."})

    def __str__(self) -> str:
        return f"layout of {self.ball}"
