"""A bowler's measured numbers: hand, axis point, feet, and the releases they own."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models.base import Stamped
from arsenal.models.people import Person, Team


class Hand(models.TextChoices):
    RIGHT = "right", _("Right-handed")
    LEFT = "left", _("Left-handed")


class Bowler(Stamped):
    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="bowlers")
    person = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="bowlers")
    name = models.CharField(max_length=80)
    hand = models.CharField(max_length=5, choices=Hand.choices)
    hands_used = models.PositiveSmallIntegerField(
        default=1, choices=[(1, _("One-handed")), (2, _("Two-handed"))]
    )
    # Positive axis point from the grip centre: inches over toward the own side, inches up (down is negative).
    pap_over_in = models.FloatField(null=True, blank=True)
    pap_up_in = models.FloatField(null=True, blank=True)
    # Boards from slide foot to ball at the line, and boards the walk drifts (positive: away from the own gutter).
    gap_boards = models.FloatField(default=6.5)
    drift_boards = models.FloatField(default=0.0)
    # Where the ball's centre first touches, feet past the foul line.
    laydown_ft = models.FloatField(default=0.5)
    is_active = models.BooleanField(default=True)
    shared_with_guests = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class ReleaseKind(models.TextChoices):
    STRIKE = "strike", _("Strike")
    FLATTER = "flatter", _("Flatter")
    SLOWER = "slower", _("Slower")
    SPARE = "spare", _("Spare")


class Release(Stamped):
    """A named release with its spread from shot to shot, and where the numbers came from."""

    class Origin(models.TextChoices):
        MEASURED = "measured", _("Measured")
        VIDEO = "video", _("Read off video")
        ESTIMATED = "estimated", _("Estimated")

    bowler = models.ForeignKey(Bowler, on_delete=models.CASCADE, related_name="releases")
    kind = models.CharField(max_length=10, choices=ReleaseKind.choices)
    speed_mph = models.FloatField()
    rev_rate_rpm = models.FloatField()
    axis_rotation_deg = models.FloatField()
    axis_tilt_deg = models.FloatField(default=12.0)
    sd_speed_mph = models.FloatField(default=0.3)
    sd_launch_deg = models.FloatField(default=0.15)
    sd_laydown_boards = models.FloatField(default=0.6)
    sd_rev_rate_rpm = models.FloatField(default=10.0)
    sd_axis_rotation_deg = models.FloatField(default=3.0)
    # 5 x 5, order: speed, launch, laydown, rev rate, rotation; null means independent.
    scatter_correlation = models.JSONField(null=True, blank=True)
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.ESTIMATED)
    origin_note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["bowler", "kind"], name="one_release_per_kind")]

    def __str__(self) -> str:
        return f"{self.bowler}: {self.get_kind_display()}"
