"""Whether this installation works, for a supervisor or a load balancer. It tells nothing about the data."""

from datetime import timedelta

from django.apps import apps
from django.db import DatabaseError
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@never_cache
@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """200 while the database answers, with the seconds since the worker last showed life (or null)."""
    try:
        since = time_since_beat("worker")
    except DatabaseError:
        return JsonResponse({"status": "failing", "database": "no answer"}, status=503)
    seconds = None if since is None else round(since.total_seconds(), 1)
    return JsonResponse({"status": "ok", "database": "ok", "worker_seen_seconds_ago": seconds})


def time_since_beat(name: str) -> timedelta | None:
    """How long ago worker or scheduler last showed life; None when it never did."""
    last = apps.get_model("logbook", "Heartbeat").objects.filter(name=name).first()
    return timezone.now() - last.beat_at if last else None
