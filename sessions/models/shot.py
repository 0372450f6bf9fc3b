"""One delivery. Only ball and pins must be known; nothing is ever deleted."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from arsenal.models import Ball, Person, Release, Stamped
from sessions.limits import SHOT_LIMITS
from sessions.models.event import BlockEntry
from sessions.models.game import Game, GameLine, PracticeWindow
from sessions.models.house import Lane


class Shot(Stamped):
    """Boards are the bowler's own side. A shot counts while `undone_at` is null.

    An edit appends a shot that `replaces` the old one and sets `undone_at` there, so the record keeps both.
    """

    LIMITS = SHOT_LIMITS

    class SpeedRead(models.TextChoices):
        RELEASE = "release", _("At release")
        DISPLAY = "display", _("On the display")
        PINS = "pins", _("Near the pins")

    # Whose shot it is, the same for game and practice; always that of the game or of the practice.
    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="shots", editable=False)
    game = models.ForeignKey(Game, on_delete=models.CASCADE, null=True, blank=True, related_name="shots")
    practice = models.ForeignKey(
        PracticeWindow, on_delete=models.CASCADE, null=True, blank=True, related_name="shots"
    )
    # Within a game: frame 1..10 and throw 1..3. Within practice: frame 0 and throw counts up.
    frame_number = models.PositiveSmallIntegerField()
    throw_number = models.PositiveSmallIntegerField()
    lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="shots")
    lane_corrected = models.BooleanField(default=False)
    ball = models.ForeignKey(Ball, on_delete=models.PROTECT, related_name="shots")
    release = models.ForeignKey(Release, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    laydown_board = models.FloatField(null=True, blank=True)
    target_board = models.FloatField(null=True, blank=True)
    target_ft = models.FloatField(default=15.0)
    breakpoint_board = models.FloatField(null=True, blank=True)
    breakpoint_ft = models.FloatField(null=True, blank=True)
    # A word of motion.pocket.HIT_WORDS, and the offset in boards at first contact where one was read.
    hit_word = models.CharField(max_length=20, blank=True)
    offset_boards = models.FloatField(null=True, blank=True)
    # Bit n - 1 set: pin n stood (before the throw, and after it).
    pins_before = models.PositiveSmallIntegerField(default=1023)
    pins_left = models.PositiveSmallIntegerField()
    foul = models.BooleanField(default=False)
    speed_mph = models.FloatField(null=True, blank=True)
    speed_read = models.CharField(max_length=10, choices=SpeedRead.choices, blank=True)
    note = models.CharField(max_length=300, blank=True)
    thrown_at = models.DateTimeField()
    entered_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    # The typed line that took the place of this shot; with the line undone, the shot counts again.
    set_aside_by = models.ForeignKey(
        GameLine, on_delete=models.SET_NULL, null=True, blank=True, related_name="set_aside"
    )
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )

    class Meta:
        ordering = ["frame_number", "throw_number", "pk"]
        indexes = [models.Index(fields=["lane", "thrown_at"], name="shot_lane_time")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(game__isnull=False, practice__isnull=True)
                | models.Q(game__isnull=True, practice__isnull=False),
                name="shot_in_game_or_practice",
            ),
            # The database itself refuses a second shot in the same place of a game.
            models.UniqueConstraint(
                fields=["game", "frame_number", "throw_number"],
                condition=models.Q(undone_at__isnull=True, game__isnull=False),
                name="one_counted_shot_per_throw",
            ),
            models.UniqueConstraint(
                fields=["practice", "throw_number"],
                condition=models.Q(undone_at__isnull=True, practice__isnull=False),
                name="one_counted_practice_shot_per_throw",
            ),
        ]

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.entry_id is None:
            self.entry_id = (self.game or self.practice).entry_id
        super().save(*args, **kwargs)

    def __str__(self) -> str:
        return f"frame {self.frame_number}, throw {self.throw_number}"
