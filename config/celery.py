"""The Celery application. A message is only a wake-up: what is owed is a row, and so are the results."""

import os
import signal
from typing import Any

from celery import Celery
from celery.signals import beat_init, worker_init, worker_process_init

from config.lifeline import end_with_supervisor, watch_parent

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("burnline")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
SWEEP = "sessions.tasks.sweep_owed"


@worker_init.connect
@beat_init.connect
def follow_supervisor(**_: Any) -> None:
    end_with_supervisor()


@beat_init.connect
def sweep_at_once(**_: Any) -> None:
    """What was owed when everything stopped need not wait for the first interval to pass."""
    app.send_task(SWEEP, expires=15)


@worker_process_init.connect
def follow_worker(**_: Any) -> None:
    """A pool process whose worker was killed would go on, holding a lease nobody watches."""
    watch_parent(os.getppid(), signal.SIGKILL)
