"""Advice is owed anew when a ball, its surface, a release or a bowler changes; those live in an app below."""

from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from sessions.jobs import owe_advice_to
from sessions.models import BlockEntry


@receiver(post_save, sender=Bowler)
def bowler_saved(instance: Bowler, raw: bool = False, **_: Any) -> None:
    _owe(instance.pk, raw)


@receiver(post_save, sender=Release)
def release_saved(instance: Release, raw: bool = False, **_: Any) -> None:
    _owe(instance.bowler_id, raw)


@receiver(post_save, sender=Ball)
def ball_saved(instance: Ball, raw: bool = False, **_: Any) -> None:
    _owe(instance.bowler_id, raw)


@receiver(post_save, sender=Layout)
@receiver(post_save, sender=SurfaceEntry)
def part_of_ball_saved(instance: Layout | SurfaceEntry, raw: bool = False, **_: Any) -> None:
    _owe(instance.ball.bowler_id, raw)


def _owe(bowler_id: int, raw: bool) -> None:
    """`raw`: a fixture is being loaded, whose other rows may not be there yet."""
    if not raw:
        owe_advice_to(BlockEntry.objects.filter(bowler=bowler_id))
