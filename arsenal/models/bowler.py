"""A bowler's measured numbers: hand, axis point, feet, and the releases they own."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.limits import Limit
from arsenal.models.base import Edited
from arsenal.models.people import Person, Team
from motion.errors import MotionError
from motion.inputs import AXIS_ROTATION_DEG, AXIS_TILT_DEG, REV_RATE_RPM, SPEED_MPH, Scatter


class Hand(models.TextChoices):
    RIGHT = "right", _("Right-handed")
    LEFT = "left", _("Left-handed")


class Bowler(Edited):
    LIMITS = {
        "pap_over_in": Limit("PAP over", 0.0, 7.0, "in"),
        "pap_up_in": Limit("PAP up", -4.0, 4.0, "in"),
        "gap_boards": Limit("Gap from slide foot to ball", -5.0, 20.0, "boards"),
        "drift_boards": Limit("Drift", -20.0, 20.0, "boards"),
        "laydown_ft": Limit("Laydown distance", 0.0, 8.0, "ft"),
    }

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="bowlers")
    person = models.ForeignKey(
        Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="bowlers"
    )
    name = models.CharField(max_length=80)
    hand = models.CharField(max_length=5, choices=Hand.choices)
    hands_used = models.PositiveSmallIntegerField(
        default=1, choices=[(1, _("One-handed")), (2, _("Two-handed"))]
    )
    # Positive axis point from the grip centre: inches over toward the own side, inches up (down is negative).
    pap_over_in = models.FloatField(null=True, blank=True)
    pap_up_in = models.FloatField(null=True, blank=True)
    # Boards from slide foot to ball at the line, and boards of drift (positive: away from the own gutter).
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

    @property
    def side_letter(self) -> str:
        """Beside a board number where readers of both hands meet: counted from the right or the left."""
        return "L" if self.hand == Hand.LEFT else "R"

    @property
    def pap_down_in(self) -> float | None:
        return None if self.pap_up_in is None else -self.pap_up_in

    @property
    def drift_words(self) -> str:
        if not self.drift_boards:
            return "none"
        way = "away from" if self.drift_boards > 0 else "toward"
        boards = "board" if abs(self.drift_boards) == 1 else "boards"
        return f"{abs(self.drift_boards):g} {boards} {way} the own gutter"


class ReleaseKind(models.TextChoices):
    STRIKE = "strike", _("Strike")
    FLATTER = "flatter", _("Flatter")
    SLOWER = "slower", _("Slower")
    SPARE = "spare", _("Spare")


class Release(Edited):
    """A named release with its spread from shot to shot, and where the numbers came from."""

    LIMITS = {
        "speed_mph": Limit("Speed", *SPEED_MPH, "mph"),
        "rev_rate_rpm": Limit("Rev rate", *REV_RATE_RPM, "rpm"),
        "axis_rotation_deg": Limit("Axis rotation", *AXIS_ROTATION_DEG, "degrees"),
        "axis_tilt_deg": Limit("Axis tilt", *AXIS_TILT_DEG, "degrees"),
        "sd_speed_mph": Limit("Spread of speed", 0.0, 5.0, "mph"),
        "sd_launch_deg": Limit("Spread of launch angle", 0.0, 5.0, "degrees"),
        "sd_laydown_boards": Limit("Spread of laydown", 0.0, 10.0, "boards"),
        "sd_rev_rate_rpm": Limit("Spread of rev rate", 0.0, 200.0, "rpm"),
        "sd_axis_rotation_deg": Limit("Spread of axis rotation", 0.0, 45.0, "degrees"),
    }

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

    def clean(self) -> None:
        super().clean()
        if self.scatter_correlation is not None and (refusal := _bad_correlation(self.scatter_correlation)):
            raise ValidationError({"scatter_correlation": refusal})
        rivals = Release.objects.filter(bowler=self.bowler_id, kind=self.kind)
        if rivals.exclude(pk=self.pk).exclude(uuid=self.uuid).exists():
            label = self.get_kind_display()
            raise ValidationError(
                {"kind": f"Release “{label}” is there already: one card per kind, edit that one."}
            )


def _bad_correlation(matrix: Any) -> str | None:
    """Why this is no correlation of the five, or None; the engine judges its shape and its eigenvalues."""
    rows: list[list[Any]] = [[None]]
    if isinstance(matrix, list) and all(isinstance(row, list) for row in matrix):
        rows = matrix
    why = "must be five rows of five numbers"
    if all(isinstance(cell, int | float) and not isinstance(cell, bool) for row in rows for cell in row):
        try:
            Scatter(correlation=tuple(tuple(row) for row in rows))
        except MotionError as error:
            why = error.allowed
        else:
            return None
    return f"Correlation {str(matrix)[:60]} is not allowed: it {why}; each number lies between -1 and 1."
