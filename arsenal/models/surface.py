"""The surface log: append only; a correction is a new entry that names the one it replaces."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from arsenal.limits import Limit, check_limits
from arsenal.models.ball import Ball
from arsenal.models.base import Stamped
from arsenal.models.people import Person
from motion.grit import GRIT_MAX, GRIT_MIN
from motion.surface import RA_MAX_UM, RA_MIN_UM


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


# What the published rule counts as altering or cleaning a ball (General Playing Rule 18, found).
ALTERING = frozenset(
    (
        SurfaceKind.SANDED,
        SurfaceKind.POLISHED,
        SurfaceKind.CLEANED,
        SurfaceKind.OIL_REMOVED,
        SurfaceKind.MACHINE,
    )
)
# A phone's clock may run a little ahead of the server's.
CLOCK_SLACK = timedelta(minutes=5)
EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)
MOST_PADS = 12

WITH_PADS = (SurfaceKind.SANDED, SurfaceKind.POLISHED, SurfaceKind.MACHINE)
# Which kinds a detail belongs to: elsewhere it would be stored and never read.
BELONGS = {
    "grits": WITH_PADS,
    "minutes": (*WITH_PADS, SurfaceKind.CLEANED, SurfaceKind.OIL_REMOVED),
    "wet": WITH_PADS,
    "scanner_ra_um": (SurfaceKind.SCANNER,),
    "games": (SurfaceKind.GAMES_ELSEWHERE,),
    "lane_kind": (SurfaceKind.GAMES_ELSEWHERE,),
}
NEEDS = {
    SurfaceKind.SANDED: "grits",
    SurfaceKind.SCANNER: "scanner_ra_um",
    SurfaceKind.GAMES_ELSEWHERE: "games",
    SurfaceKind.WITHDRAWN: "corrects",
}


class SurfaceEntry(Stamped):
    LIMITS = {
        "minutes": Limit("Minutes", 0.1, 120.0, "minutes"),
        "scanner_ra_um": Limit("Scanner reading Ra", RA_MIN_UM, RA_MAX_UM, "µm"),
        "games": Limit("Games elsewhere", 0.1, 500.0, "games"),
    }
    GRIT = Limit("Grit", GRIT_MIN, GRIT_MAX, whole=True)
    LABELS = {
        "grits": "Pad list",
        "minutes": "Minutes",
        "wet": "Wet or dry",
        "scanner_ra_um": "Scanner reading",
        "games": "Games elsewhere",
        "lane_kind": "Kind of lane",
        "corrects": "The entry it corrects",
    }

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

    @property
    def is_corrected(self) -> bool:
        later: SurfaceEntry | None = getattr(self, "corrected_by", None)
        return later is not None and later.pk is not None

    @property
    def before_block(self) -> str:
        """The block it was made for, as the app that knows blocks names it."""
        work = getattr(self, "work", None)
        return str(work.before_block) if work else ""

    @property
    def alters(self) -> bool:
        return self.kind in ALTERING

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise TypeError("The surface log is append only: add an entry that corrects this one.")
        super().save(*args, **kwargs)

    def clean(self) -> None:
        super().clean()
        check_limits(self, self.LIMITS)
        wrong = self._wrong_time() | self._wrong_pads() | self._wrong_details() | self._wrong_correction()
        if wrong:
            raise ValidationError(wrong)

    def _wrong_time(self) -> dict[str, str]:
        latest = timezone.now() + CLOCK_SLACK
        if self.done_at is None or EARLIEST <= self.done_at <= latest:
            return {}
        # The first and last days of the calendar have no local time everywhere.
        ends = self.done_at.year in (1, 9999)
        shown = self.done_at if ends else timezone.localtime(self.done_at)
        return {
            "done_at": f"When {shown.isoformat(sep=' ')[:16]} is not allowed:"
            f" from {EARLIEST:%Y-%m-%d} up to now,"
            f" {timezone.localtime():%Y-%m-%d %H:%M}."
        }

    def _wrong_pads(self) -> dict[str, str]:
        if not isinstance(self.grits, list):
            return {
                "grits": f"Pad list {str(self.grits)[:40]} is not a list of grits: {self.GRIT.words} each."
            }
        if len(self.grits) > MOST_PADS:
            return {"grits": f"Pads: {len(self.grits)} in one entry is not allowed: at most {MOST_PADS}."}
        for grit in self.grits:
            if isinstance(grit, bool) or not isinstance(grit, int | float):
                return {"grits": self.GRIT.not_a_number(grit)}
            if refusal := self.GRIT.refusal(grit):
                return {"grits": refusal}
        return {}

    def _wrong_details(self) -> dict[str, str]:
        """Each kind has its own details: the needed one must be there, and none may be there for nothing."""
        kind = SurfaceKind(self.kind) if self.kind in SurfaceKind.values else None
        if kind is None:
            return {}
        wrong = {
            name: f"{self.LABELS[name]} {_shown(getattr(self, name))} does not go with “{kind.label}”:"
            f" only with {_or(kinds)}."
            for name, kinds in BELONGS.items()
            if kind not in kinds and getattr(self, name) not in (None, "", [])
        }
        needed = NEEDS.get(kind)
        if needed and getattr(self, needed) in (None, []):
            wrong[needed] = (
                f"{self.LABELS[needed]} is missing: “{kind.label}” needs it{self._range_of(needed)}."
            )
        return wrong

    def _range_of(self, name: str) -> str:
        limit = self.GRIT if name == "grits" else self.LIMITS.get(name)
        return f", {limit.words}" if limit else ""

    def _wrong_correction(self) -> dict[str, str]:
        old = self.corrects
        if old is None:
            return {}
        if old.ball_id != self.ball_id:
            return {
                "corrects": "The entry it corrects is of another ball: only entries of this ball's own log."
            }
        later = SurfaceEntry.objects.filter(corrects=old).exclude(uuid=self.uuid)
        if later.exists():
            return {
                "corrects": "The entry it corrects was corrected already: correct the newest one instead."
            }
        return {}


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)[:60]
    if isinstance(value, bool):
        return "wet" if value else "dry"
    return str(value)[:60]


def _or(kinds: Iterable[SurfaceKind]) -> str:
    return " or ".join(f"“{kind.label}”" for kind in kinds)
