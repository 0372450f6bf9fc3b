"""Whether anybody works in the background, in words fit for a page."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from sessions.models import Heartbeat

SILENT_AFTER = timedelta(seconds=30)


@dataclass(frozen=True)
class WorkState:
    """Seconds since the worker and the scheduler last showed life; None when they never did."""

    worker_seconds: float | None
    scheduler_seconds: float | None

    @property
    def worker_silent(self) -> bool:
        return self.worker_seconds is None or self.worker_seconds > SILENT_AFTER.total_seconds()

    @property
    def scheduler_silent(self) -> bool:
        return self.scheduler_seconds is None or self.scheduler_seconds > SILENT_AFTER.total_seconds()

    @property
    def is_well(self) -> bool:
        return not self.worker_silent and not self.scheduler_silent

    @property
    def words(self) -> str:
        if self.worker_silent:
            seen = (
                "has shown no life yet"
                if self.worker_seconds is None
                else f"was last seen {self._worker_ago}"
            )
            return (
                f"Nobody is computing: the background worker {seen}. What is logged is safe and will be "
                "answered when it runs again."
            )
        if self.scheduler_silent:
            seen = (
                "never seen" if self.scheduler_seconds is None else f"last seen {ago(self.scheduler_seconds)}"
            )
            return (
                f"The scheduler is silent ({seen}): advice still comes, but a wake-up that gets lost is not "
                "sent again until it is back."
            )
        return f"Working: worker seen {self._worker_ago}, scheduler {ago(self.scheduler_seconds or 0.0)}."

    def as_dict(self) -> dict[str, object]:
        return {
            "is_well": self.is_well,
            "worker_seen_seconds_ago": self.worker_seconds,
            "scheduler_seen_seconds_ago": self.scheduler_seconds,
            "words": self.words,
        }

    @property
    def _worker_ago(self) -> str:
        return ago(self.worker_seconds or 0.0)


def ago(seconds: float) -> str:
    """A stretch of time the way people say it."""
    if seconds < 90:
        return f"{round(seconds)} s ago"
    if seconds < 90 * 60:
        return f"{round(seconds / 60)} min ago"
    if seconds < 36 * 3600:
        return f"{round(seconds / 3600)} h ago"
    return f"{round(seconds / 86400)} days ago"


def work_state(now: datetime | None = None) -> WorkState:
    now = now or timezone.now()
    seen = dict(Heartbeat.objects.filter(name__in=("worker", "scheduler")).values_list("name", "beat_at"))
    since = {name: max((now - beat).total_seconds(), 0.0) for name, beat in seen.items()}
    return WorkState(since.get("worker"), since.get("scheduler"))
