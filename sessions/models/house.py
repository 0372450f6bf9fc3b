"""A house, its lanes, and when each lane was dressed."""

from django.db import models

from arsenal.models import Person, Stamped, Team
from arsenal.models.base import Edited
from patterns.models import PatternVersion


class House(Edited):
    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="houses")
    name = models.CharField(max_length=80)
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.name

    @property
    def lane_count(self) -> int:
        return self.lanes.count()


class Lane(models.Model):
    """One lane. A pair is two: the odd lane on the left and the even one beside it."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="lanes")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["house", "number"]
        constraints = [models.UniqueConstraint(fields=["house", "number"], name="one_lane_per_number")]

    def __str__(self) -> str:
        return f"Lane {self.number}"


class CountedDressings(models.Manager["Dressing"]):
    """Leaves out what was undone, so that nobody has to remember to."""

    def get_queryset(self) -> "models.QuerySet[Dressing]":
        return super().get_queryset().filter(undone_at=None)


class Dressing(Stamped):
    """A lane freshly oiled; traffic counts from the last one. A wrong entry is undone, never deleted."""

    lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="dressings")
    done_at = models.DateTimeField()
    pattern_version = models.ForeignKey(PatternVersion, on_delete=models.PROTECT, related_name="dressings")
    before_block = models.ForeignKey(
        "logbook.Block", on_delete=models.SET_NULL, null=True, blank=True, related_name="dressings"
    )
    note = models.CharField(max_length=200, blank=True)
    entered_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True)

    objects = CountedDressings()
    with_undone = models.Manager["Dressing"]()

    class Meta:
        ordering = ["done_at", "pk"]

    def __str__(self) -> str:
        return f"{self.lane} {self.done_at:%Y-%m-%d %H:%M}"


class NotDressed(Stamped):
    """It is known that a lane was not dressed again before a block: its traffic runs on."""

    lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="not_dressed")
    before_block = models.ForeignKey("logbook.Block", on_delete=models.CASCADE, related_name="not_dressed")
    entered_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["lane", "before_block"], name="one_not_dressed_per_lane_and_block"
            )
        ]
