"""A ball and its layout, in the trade's own terms."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models.base import Stamped
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


class Ball(Stamped):
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


class Layout(Stamped):
    """Pin-to-PAP distance with the two angles of the usual description, and static imbalance."""

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

    def __str__(self) -> str:
        return f"layout of {self.ball}"
