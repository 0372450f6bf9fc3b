"""A house, its lanes, and when each lane was dressed."""

from django.db import models

from arsenal.models import Stamped, Team
from patterns.models import PatternVersion


class House(Stamped):
    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="houses")
    name = models.CharField(max_length=80)
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.name


class Lane(models.Model):
    """One lane. A pair is two: the odd lane on the left and the even one beside it."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="lanes")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["house", "number"]
        constraints = [models.UniqueConstraint(fields=["house", "number"], name="one_lane_per_number")]

    def __str__(self) -> str:
        return f"Lane {self.number}"


class Dressing(Stamped):
    """A lane freshly oiled; traffic counts from the last one."""

    lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="dressings")
    done_at = models.DateTimeField()
    pattern_version = models.ForeignKey(PatternVersion, on_delete=models.PROTECT, related_name="dressings")
    before_block = models.ForeignKey(
        "logbook.Block", on_delete=models.SET_NULL, null=True, blank=True, related_name="dressings"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["done_at", "pk"]

    def __str__(self) -> str:
        return f"{self.lane} {self.done_at:%Y-%m-%d %H:%M}"
