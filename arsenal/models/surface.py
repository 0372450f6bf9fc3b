"""The surface log: append only; a correction is a new entry that names the one it replaces."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models.ball import Ball
from arsenal.models.base import Stamped
from arsenal.models.people import Person


class SurfaceKind(models.TextChoices):
    """Values are those of motion.surface.SurfaceEvent.kind."""

    SANDED = "sanded", _("Sanded")
    POLISHED = "polished", _("Polished")
    CLEANED = "cleaned", _("Cleaned")
    OIL_REMOVED = "oil_removed", _("Oil removed")
    MACHINE = "machine", _("Hit by a machine")
    SCANNER = "scanner", _("Scanner reading")
    GAMES_ELSEWHERE = "games_elsewhere", _("Games bowled elsewhere")
    WITHDRAWN = "withdrawn", _("Entry withdrawn")


class WindowKind(models.TextChoices):
    HOME = "home", _("Away from any event")
    BEFORE_EVENT = "before_event", _("Before the event")
    OFFICIAL_PRACTICE = "official_practice", _("Official practice")
    BETWEEN_ROUNDS = "between_rounds", _("Between rounds")
    IN_COMPETITION = "in_competition", _("In competition")


class SurfaceEntry(Stamped):
    ball = models.ForeignKey(Ball, on_delete=models.CASCADE, related_name="surface_entries")
    kind = models.CharField(max_length=20, choices=SurfaceKind.choices)
    done_at = models.DateTimeField()
    # The pads in the order used, for example [500, 1000].
    grits = models.JSONField(default=list, blank=True)
    by_machine = models.BooleanField(default=False)
    wet = models.BooleanField(null=True, blank=True)
    minutes = models.FloatField(null=True, blank=True)
    window = models.CharField(max_length=20, choices=WindowKind.choices, default=WindowKind.HOME)
    scanner_ra_um = models.FloatField(null=True, blank=True)
    games = models.FloatField(null=True, blank=True)
    lane_kind = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=300, blank=True)
    entered_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    # Set on a correction: the entry it takes the place of, which then counts no more.
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        ordering = ["done_at", "pk"]

    def __str__(self) -> str:
        return f"{self.ball}: {self.get_kind_display()} {self.done_at:%Y-%m-%d}"
