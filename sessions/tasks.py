"""The thin Celery shell around advice: wake-ups in, everything else lives on rows."""

from celery import Task, shared_task

from sessions import jobs


@shared_task(name="sessions.tasks.compute_advice", bind=True)
def compute_advice(self: "Task[..., None]", owed_id: int) -> None:
    # The engine is heavy, and the web process, which only sends this message, has no use for it.
    from sessions.work import work_off

    jobs.beat("worker")
    work_off(jobs.most_urgent(owed_id), keep_alive=not self.request.is_eager)


@shared_task(name="sessions.tasks.sweep_owed")
def sweep_owed() -> None:
    """Sent by the scheduler and run by the worker, so it shows that both are alive."""
    jobs.beat("scheduler", "worker")
    jobs.sweep()
