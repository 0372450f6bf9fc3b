"""An event with its own rules, its blocks, who bowls in them, with which bag, on which pairs."""

from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from arsenal.models import Ball, Bowler, Team
from arsenal.models.base import Edited
from arsenal.models.surface import WindowKind
from patterns.models import PatternVersion
from sessions.limits import BLOCK_LIMITS, EVENT_LIMITS, refuse_day
from sessions.models.house import House, Lane


class Objective(models.TextChoices):
    FLOOR = "floor", _("Protect the floor")
    SCORE = "score", _("Go for score")


class Event(Edited):
    LIMITS = EVENT_LIMITS

    team = models.ForeignKey(Team, on_delete=models.CASCADE, related_name="events")
    house = models.ForeignKey(House, on_delete=models.PROTECT, related_name="events")
    name = models.CharField(max_length=100)
    starts_on = models.DateField()
    ends_on = models.DateField()
    time_zone = models.CharField(max_length=50, default="UTC")
    max_balls = models.PositiveSmallIntegerField(null=True, blank=True)
    rules_confirmed_by = models.CharField(max_length=80, blank=True)
    rules_confirmed_on = models.DateField(null=True, blank=True)
    rules_note = models.TextField(blank=True)
    # The field beside the team: how many others bowl on each pair, and the share of right-handers among them.
    others_per_pair = models.PositiveSmallIntegerField(default=4)
    right_handed_share = models.FloatField(default=0.88)
    shared_with_guests = models.BooleanField(default=False)

    class Meta:
        ordering = ["-starts_on", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def clean(self) -> None:
        super().clean()
        days = {"starts_on": "First day", "ends_on": "Last day", "rules_confirmed_on": "Confirmed on"}
        wrong = {
            name: why
            for name, label in days.items()
            if isinstance(day := getattr(self, name), date) and (why := refuse_day(day, label))
        }
        if (
            isinstance(self.starts_on, date)
            and isinstance(self.ends_on, date)
            and self.ends_on < self.starts_on
        ):
            wrong["ends_on"] = (
                f"Last day {self.ends_on} is not allowed: {self.starts_on}, the first day, or later."
            )
        confirmed, today = self.rules_confirmed_on, timezone.localdate()
        if isinstance(confirmed, date) and confirmed > today:
            wrong["rules_confirmed_on"] = f"Confirmed on {confirmed} is not allowed: up to today, {today}."
        if self.house_id and self.house.team_id != self.team_id:
            wrong["house"] = "House is not allowed: it is not one of this team's."
        if not _is_zone(self.time_zone):
            wrong["time_zone"] = (
                f"Time zone “{self.time_zone}” is not known: a name like Europe/Berlin or UTC."
            )
        if wrong:
            raise ValidationError(wrong)


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


class EventWindow(models.Model):
    """What the event says about altering surfaces in one kind of window. No row means unset."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="windows")
    kind = models.CharField(max_length=20, choices=WindowKind.choices)
    allowed = models.BooleanField()
    by_hand = models.BooleanField(default=True)
    by_machine = models.BooleanField(default=False)
    where = models.CharField(max_length=100, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["event", "kind"], name="one_window_per_kind")]

    def __str__(self) -> str:
        return f"{self.event}: {self.kind}"


class Block(Edited):
    LIMITS = BLOCK_LIMITS

    class State(models.TextChoices):
        PLANNED = "planned", _("Planned")
        OPEN = "open", _("Being bowled")
        FINISHED = "finished", _("Finished")

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="blocks")
    name = models.CharField(max_length=80)
    squad = models.CharField(max_length=40, blank=True)
    format = models.CharField(max_length=80, blank=True)
    games_planned = models.PositiveSmallIntegerField(default=6)
    starts_at = models.DateTimeField()
    pattern_version = models.ForeignKey(PatternVersion, on_delete=models.PROTECT, related_name="blocks")
    state = models.CharField(max_length=10, choices=State.choices, default=State.PLANNED)

    class Meta:
        ordering = ["starts_at", "pk"]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        super().clean()
        if isinstance(self.starts_at, datetime) and (far := refuse_day(self.starts_at, "Starts")):
            raise ValidationError({"starts_at": far})
        if self.pattern_version_id and self.pattern_version.pattern.team_id != self.event.team_id:
            raise ValidationError(
                {"pattern_version": "Pattern is not allowed: it is not one of this team's."}
            )


class BlockEntry(Edited):
    """One bowler in one block."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="entries")
    bowler = models.ForeignKey(Bowler, on_delete=models.PROTECT, related_name="entries")
    objective = models.CharField(max_length=5, choices=Objective.choices, default=Objective.FLOOR)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["block", "bowler"], name="one_entry_per_bowler")]

    def __str__(self) -> str:
        return f"{self.bowler} in {self.block}"


class BagBall(models.Model):
    """A ball carried in a block; put away means it is not offered any more."""

    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="bag")
    ball = models.ForeignKey(Ball, on_delete=models.PROTECT, related_name="carried")
    put_away = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "ball"], name="one_bag_place_per_ball")]


class PairVisit(models.Model):
    """Which pair a bowler is on in which game: the crossing plan. `left_lane` is the odd lane of the pair."""

    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="visits")
    game_number = models.PositiveSmallIntegerField()
    left_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    right_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    starts_on_left = models.BooleanField(default=True)

    class Meta:
        ordering = ["game_number"]
        constraints = [models.UniqueConstraint(fields=["entry", "game_number"], name="one_pair_per_game")]
