"""Shows that scheduler, broker and worker work together: the one sends this task, the other runs it."""

from datetime import timedelta

from celery import shared_task
from django.apps import apps
from django.utils import timezone

BEAT_SECONDS = 5


@shared_task(name="config.heartbeat.beat", expires=3 * BEAT_SECONDS)
def beat() -> None:
    apps.get_model("logbook", "Heartbeat").objects.update_or_create(
        name="worker", defaults={"beat_at": timezone.now()}
    )


def time_since_beat() -> timedelta | None:
    """How long ago the worker last showed life; None when it never did."""
    last = apps.get_model("logbook", "Heartbeat").objects.filter(name="worker").first()
    return timezone.now() - last.beat_at if last else None
