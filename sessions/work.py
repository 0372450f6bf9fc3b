"""One worker at advice that is owed: claim, compute, finish; begun again when newer input comes in."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic

from celery.exceptions import SoftTimeLimitExceeded
from django.db import connection

from motion.advice_types import AdviceCancelled
from motion.errors import MotionError
from sessions import advise, jobs

log = logging.getLogger(__name__)

# The database is asked no more often than this, however often the engine reports.
LOOK_SECONDS = 0.5
KEEP_SECONDS = 5.0
# So often work gives way to newer input; then it is finished first, or a busy pair would never get an answer.
MOST_RESTARTS = 3

TOO_LONG = "Computing took too long and was stopped. It will be tried again."
WENT_WRONG = "Something went wrong while computing; the worker's log says what. It will be tried again."


class Watch:
    """What the engine calls while it works: it keeps the lease and says when to stop."""

    def __init__(self, held: jobs.Claim, *, heed_newer: bool) -> None:
        self.held = held
        self.heed_newer = heed_newer
        self._looked = self._kept = monotonic()
        self._unwanted = False

    def progress(self, share: float) -> None:
        if monotonic() - self._kept >= LOOK_SECONDS:
            self._kept = monotonic()
            self._unwanted = not jobs.keep(self.held, share) or self._unwanted

    def is_unwanted(self) -> bool:
        """Cancelled, held by another worker, or overtaken by newer input."""
        if not self._unwanted and monotonic() - self._looked >= LOOK_SECONDS:
            self._looked = monotonic()
            newer = self.heed_newer and jobs.is_replaced(self.held)
            self._unwanted = newer or not jobs.keep(self.held)
        return self._unwanted


def work_off(owed_id: int, *, keep_alive: bool = False) -> None:
    """Answer what the row owes, until nothing is owed or somebody else holds it.

    keep_alive: extend the lease from a thread too, for stretches in which the engine reports nothing
    (compiling its kernels on a first run).
    """
    restarts = 0
    while (held := jobs.claim(owed_id)) is not None:
        watch = Watch(held, heed_newer=restarts < MOST_RESTARTS)
        try:
            with kept_alive(held, keep_alive):
                answers = advise.answer(owed_id, progress=watch.progress, cancelled=watch.is_unwanted)
        except AdviceCancelled:
            jobs.release(held)
            restarts += 1
        except (advise.CannotAdvise, MotionError) as problem:
            jobs.fail(held, str(problem), hopeless=True)
        except SoftTimeLimitExceeded:
            jobs.fail(held, TOO_LONG)
        except Exception:
            log.exception("advice %s failed", owed_id)
            jobs.fail(held, WENT_WRONG)
        else:
            jobs.finish(held, answers)
            restarts = 0


@contextmanager
def kept_alive(held: jobs.Claim, wanted: bool) -> Iterator[None]:
    if not wanted:
        yield
        return
    done = threading.Event()
    keeper = threading.Thread(target=_keep_until, args=(held, done), daemon=True)
    keeper.start()
    try:
        yield
    finally:
        done.set()
        keeper.join()


def _keep_until(held: jobs.Claim, done: threading.Event) -> None:
    try:
        while not done.wait(KEEP_SECONDS):
            jobs.keep(held)
            jobs.beat("worker")
    except Exception:  # the lease then runs out, and the row is owed again
        log.exception("lease of advice %s could not be extended", held.owed_id)
    finally:
        connection.close()
