"""Whether anybody works in the background, in words fit for a page."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from sessions.models import Heartbeat

SILENT_AFTER = timedelta(seconds=30)
# A sweep waits its turn behind advice that is being computed, so it may be late without anything being wrong.
SWEEP_SILENT_AFTER = timedelta(seconds=120)


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
        return self.scheduler_seconds is None or self.scheduler_seconds > SWEEP_SILENT_AFTER.total_seconds()

    @property
    def is_well(self) -> bool:
        return not self.worker_silent and not self.scheduler_silent

    @property
    def words(self) -> str:
        """An idle worker shows life only by the sweep, which the scheduler asks for and the worker runs.

        So silence of both, or of the sweep alone, does not tell which of them is at fault.
        """
        if self.worker_silent:
            return (
                f"No sign of life {_since(self.worker_seconds)}: the background worker or its scheduler is "
                "not running. What is logged is safe and will be answered when they run again."
            )
        if self.scheduler_silent:
            return (
                "The background worker works, but it has not looked for work left over "
                f"{_since(self.scheduler_seconds)}: the scheduler is not running, or the worker is busy. "
                "Advice still comes; a wake-up that gets lost is sent again after the next such look."
            )
        worker, scheduler = ago(self.worker_seconds or 0.0), ago(self.scheduler_seconds or 0.0)
        return f"Working: worker seen {worker}, scheduler {scheduler}."

    def as_dict(self) -> dict[str, object]:
        return {
            "is_well": self.is_well,
            "worker_seen_seconds_ago": self.worker_seconds,
            "scheduler_seen_seconds_ago": self.scheduler_seconds,
            "words": self.words,
        }


def _since(seconds: float | None) -> str:
    return "yet" if seconds is None else f"for {_span(seconds)}"


def ago(seconds: float) -> str:
    return f"{_span(seconds)} ago"


def _span(seconds: float) -> str:
    """A stretch of time the way people say it."""
    if seconds < 90:
        return f"{round(seconds)} s"
    if seconds < 90 * 60:
        return f"{round(seconds / 60)} min"
    if seconds < 36 * 3600:
        return f"{round(seconds / 3600)} h"
    return f"{round(seconds / 86400)} days"


def work_state(now: datetime | None = None) -> WorkState:
    now = now or timezone.now()
    seen = dict(Heartbeat.objects.filter(name__in=("worker", "scheduler")).values_list("name", "beat_at"))
    since = {name: max((now - beat).total_seconds(), 0.0) for name, beat in seen.items()}
    return WorkState(since.get("worker"), since.get("scheduler"))
