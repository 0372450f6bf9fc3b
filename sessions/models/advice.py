"""What advice is owed, and what was answered. The row is the queue; a message only wakes a worker."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from sessions.models.event import BlockEntry
from sessions.models.house import Lane


class OwedAdvice(models.Model):
    """One row per bowler and pair in a block. New input raises `wanted`; work is owed while wanted > done.

    A worker claims the row by one conditional UPDATE that sets the lease; a heartbeat extends it. A worker
    that dies leaves a lease that runs out, and the sweep sends the row again. `lease_token` says which claim
    may finish. `attempts` counts claims since the last input, because a killed worker reports nothing.
    """

    entry = models.ForeignKey(BlockEntry, on_delete=models.CASCADE, related_name="owed")
    left_lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="+")
    right_lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="+")
    wanted = models.PositiveIntegerField(default=1)
    done = models.PositiveIntegerField(default=0)
    wanted_at = models.DateTimeField()
    lease_token = models.UUIDField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    not_before = models.DateTimeField(null=True, blank=True)
    progress = models.FloatField(default=0.0)
    cancelled = models.BooleanField(default=False)
    # Why the last attempt failed, in words fit for the page.
    failure = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["entry", "left_lane", "right_lane"], name="one_owed_row_per_pair")
        ]


class Advice(models.Model):
    """The answer for one lane, with what it was computed from. Older answers stay as a record."""

    class Action(models.TextChoices):
        STAY = "stay", _("Stay")
        MOVE = "move", _("Move the line")
        CHANGE = "change ball", _("Change ball")
        UNKNOWN = "unknown", _("Not enough known")

    owed = models.ForeignKey(OwedAdvice, on_delete=models.CASCADE, related_name="answers")
    lane = models.ForeignKey(Lane, on_delete=models.CASCADE, related_name="advice")
    # The value of OwedAdvice.wanted that this answers; older than `wanted` means stale.
    answers = models.PositiveIntegerField()
    action = models.CharField(max_length=12, choices=Action.choices)
    ball = models.ForeignKey(
        "arsenal.Ball", on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # motion.advice.LaneAdvice.as_dict()
    result = models.JSONField()
    # What it was computed from: pattern version, dressing, counts of shots by lane, last shot, digest.
    inputs = models.JSONField()
    computed_at = models.DateTimeField(auto_now_add=True)
    seconds = models.FloatField()

    class Meta:
        ordering = ["-answers", "lane"]
        constraints = [
            models.UniqueConstraint(fields=["owed", "lane", "answers"], name="one_answer_per_lane_and_input")
        ]


class Heartbeat(models.Model):
    """When the worker and the scheduler last showed life."""

    name = models.CharField(max_length=20, unique=True)
    beat_at = models.DateTimeField()
