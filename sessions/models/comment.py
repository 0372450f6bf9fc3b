"""A comment on a ball, a game or a shot."""

from django.db import models

from arsenal.models import Ball, Person, Stamped
from sessions.models.game import Game
from sessions.models.shot import Shot


class Comment(Stamped):
    ball = models.ForeignKey(Ball, on_delete=models.CASCADE, null=True, blank=True, related_name="comments")
    game = models.ForeignKey(Game, on_delete=models.CASCADE, null=True, blank=True, related_name="comments")
    shot = models.ForeignKey(Shot, on_delete=models.CASCADE, null=True, blank=True, related_name="comments")
    written_by = models.ForeignKey(Person, on_delete=models.SET_NULL, null=True, related_name="+")
    text = models.CharField(max_length=1000)

    class Meta:
        ordering = ["created_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ball__isnull=False, game__isnull=True, shot__isnull=True)
                | models.Q(ball__isnull=True, game__isnull=False, shot__isnull=True)
                | models.Q(ball__isnull=True, game__isnull=True, shot__isnull=False),
                name="comment_on_one_thing",
            )
        ]
