"""How gunicorn serves Burnline. Address and certificate are given on the command line."""

import os
import signal
from pathlib import Path
from typing import Any

from django.conf import settings

from config.lifeline import end_with_parent, end_with_supervisor

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

wsgi_app = "config.wsgi:application"
worker_class = "gthread"
workers = settings.WEB_PROCESSES
threads = 8
timeout = 60
graceful_timeout = 15
keepalive = 5
# Heartbeat files of the workers; on a disk they can stall a worker while it waits for a write.
SHARED_MEMORY = Path("/dev/shm")  # noqa: S108  gunicorn makes its files there safely
worker_tmp_dir = str(SHARED_MEMORY) if SHARED_MEMORY.is_dir() else None
control_socket_disable = True
accesslog = None
errorlog = "-"


def on_starting(server: Any) -> None:
    end_with_supervisor()


def post_fork(server: Any, worker: Any) -> None:
    end_with_parent(server.pid, signal.SIGKILL)
