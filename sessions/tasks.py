"""The thin Celery shell around advice: wake-ups in, everything else lives on rows."""

from celery import shared_task

from sessions import jobs


@shared_task(name="sessions.tasks.compute_advice")
def compute_advice(owed_id: int) -> None:
    jobs.beat("worker")


@shared_task(name="sessions.tasks.sweep_owed")
def sweep_owed() -> None:
    """Sent by the scheduler and run by the worker, so it shows that both are alive."""
    jobs.beat("scheduler", "worker")
    jobs.sweep()
