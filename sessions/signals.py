"""Advice is owed anew when a ball, its surface, a release or a bowler changes; those live in an app below.

Not only to that bowler: team-mates on the same lanes read what these balls have done to them.
"""

from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from sessions.dependents import reading_balls_of
from sessions.jobs import owe


@receiver(post_save, sender=Bowler)
def bowler_saved(instance: Bowler, raw: bool = False, **_: Any) -> None:
    _owe(instance.pk, raw)


@receiver(post_save, sender=Release)
def release_saved(instance: Release, raw: bool = False, **_: Any) -> None:
    _owe(instance.bowler_id, raw)


@receiver(post_save, sender=Ball)
def ball_saved(instance: Ball, raw: bool = False, **_: Any) -> None:
    _owe(instance.bowler_id, raw, instance.pk)


@receiver(post_save, sender=Layout)
@receiver(post_save, sender=SurfaceEntry)
def part_of_ball_saved(instance: Layout | SurfaceEntry, raw: bool = False, **_: Any) -> None:
    _owe(instance.ball.bowler_id, raw, instance.ball_id)


def _owe(bowler_id: int, raw: bool, ball_id: int | None = None) -> None:
    """`raw`: a fixture is being loaded, whose other rows may not be there yet."""
    if not raw:
        owe(reading_balls_of(bowler_id, ball_id))
