"""A pattern and its versions. A block keeps the version it was bowled on."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models import Person, Team
from arsenal.models.base import Edited


class Pattern(Edited):
    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="patterns")
    name = models.CharField(max_length=80)
    shared_with_guests = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class PatternVersion(models.Model):
    """One state of a sheet, never edited: a change makes the next version."""

    class Entry(models.TextChoices):
        TABLE = "table", _("Oil by board")
        PASSES = "passes", _("List of passes")
        SUMMARY = "summary", _("Length, volume and ratio")

    class Unit(models.TextChoices):
        UNITS = "units", _("Units")
        MICROLITRES = "ul", _("Microlitres per board and foot")

    pattern = models.ForeignKey(Pattern, on_delete=models.CASCADE, related_name="versions")
    number = models.PositiveIntegerField()
    entry = models.CharField(max_length=10, choices=Entry.choices, default=Entry.TABLE)
    length_ft = models.FloatField()
    unit = models.CharField(max_length=5, choices=Unit.choices, default=Unit.UNITS)
    # Distances (n) in feet and oil (n x 39) in `unit`, boards counted from the right. For a sheet known only
    # as passes or as a summary this is the reconstruction (units at feet 0 to 60), and `passes` or `ratio`
    # hold what was typed.
    distances_ft = models.JSONField()
    oil = models.JSONField()
    passes = models.JSONField(null=True, blank=True)
    ratio = models.FloatField(null=True, blank=True)
    stated_volume_ml = models.FloatField(null=True, blank=True)
    viscosity_cp = models.FloatField(null=True, blank=True)
    lane_surface = models.CharField(max_length=40, blank=True)
    source_note = models.CharField(max_length=300, blank=True)
    # The client's own token of the submission that made this version, so that a repeated one makes no second.
    submission = models.UUIDField(null=True, blank=True, unique=True, editable=False)
    created_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pattern", "number"]
        constraints = [
            models.UniqueConstraint(fields=["pattern", "number"], name="one_pattern_version_per_number")
        ]

    def __str__(self) -> str:
        return f"{self.pattern} v{self.number}"

    @property
    def is_reconstructed(self) -> bool:
        return self.entry != self.Entry.TABLE
