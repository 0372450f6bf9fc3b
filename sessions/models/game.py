"""A game on a pair, typed as a line or logged shot by shot; practice beside it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models import Ball, Person, Release, Stamped
from sessions.limits import STRETCH_LIMITS
from sessions.models.event import BlockEntry
from sessions.models.house import Lane


class Game(Stamped):
    """Scores are computed from its shots or its line, never stored."""

    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="games")
    number = models.PositiveSmallIntegerField()
    left_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    right_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    starts_on_left = models.BooleanField(default=True)
    started_at = models.DateTimeField()

    class Meta:
        ordering = ["entry", "number"]
        constraints = [models.UniqueConstraint(fields=["entry", "number"], name="one_game_per_number")]

    def __str__(self) -> str:
        return f"{self.entry}, game {self.number}"

    def lane_of_frame(self, frame_number: int) -> Lane:
        """Bowlers change lanes every frame, beginning on the starting lane."""
        on_left = self.starts_on_left == (frame_number % 2 == 1)
        return self.left_lane if on_left else self.right_lane


class GameLine(Stamped):
    """A whole game typed in trade notation. Corrections append; the newest that is not undone counts."""

    game = models.ForeignKey(Game, on_delete=models.CASCADE, related_name="lines")
    notation = models.CharField(max_length=120)
    bowled_at = models.DateTimeField()
    entered_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["created_at", "pk"]


class LineStretch(models.Model):
    """Ball and line for a stretch of frames of a game line; boards are the bowler's own side."""

    LIMITS = STRETCH_LIMITS

    line = models.ForeignKey(GameLine, on_delete=models.CASCADE, related_name="stretches")
    first_frame = models.PositiveSmallIntegerField()
    last_frame = models.PositiveSmallIntegerField()
    ball = models.ForeignKey(Ball, on_delete=models.PROTECT, related_name="stretches")
    release = models.ForeignKey(Release, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    laydown_board = models.FloatField(null=True, blank=True)
    target_board = models.FloatField(null=True, blank=True)
    target_ft = models.FloatField(default=15.0)

    class Meta:
        ordering = ["first_frame"]


class PracticeWindow(Stamped):
    """Practice on a pair: its shots belong here and to no game."""

    class Kind(models.TextChoices):
        OFFICIAL = "official_practice", _("Official practice")
        WARM_UP = "warm_up", _("Warm-up before the block")

    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="practices")
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.WARM_UP)
    left_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    right_lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="+")
    started_at = models.DateTimeField()

    class Meta:
        ordering = ["started_at", "pk"]
