"""The engine's own threads: made when first needed, never carried over a fork, capped by a setting.

Kernels release the interpreter's lock, so threads share the cores; they are serial inside, so a worker
process of any kind may use them and a forked child makes its own.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from typing import TypeVar

from motion.errors import MotionError

R = TypeVar("R")


class Cancelled(Exception):
    """A long computation was told to stop; what it had is dropped."""


def cores() -> int:
    """Processors this process may run on."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class _Pool:
    def __init__(self) -> None:
        self.limit: int | None = None
        self.forget()

    def forget(self) -> None:
        """Begin anew, as a forked child must: its parent's threads do not exist here."""
        self._lock = threading.Lock()
        self._executor: ThreadPoolExecutor | None = None

    def executor(self) -> ThreadPoolExecutor:
        with self._lock:
            if self._executor is None:
                self._executor = ThreadPoolExecutor(thread_count(), thread_name_prefix="motion")
            return self._executor


_pool = _Pool()
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_pool.forget)


def limit_threads(count: int | None) -> None:
    """Let the engine use at most `count` threads from now on (None: as many as there are cores).

    For processes that share a machine, such as several workers. Raises MotionError below 1.
    """
    if count is not None and (isinstance(count, bool) or not isinstance(count, int) or count < 1):
        raise MotionError("threads", count, "must be a whole number from 1, or None for all cores")
    _pool.limit = count
    _pool.forget()


def thread_count() -> int:
    """How many threads the engine uses."""
    return cores() if _pool.limit is None else min(_pool.limit, cores())


def in_parts(
    work: Callable[[int, int], R],
    size: int,
    part: int,
    *,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> None:
    """Call work(first, last) for consecutive parts of range(size), on all threads; which thread does which
    part changes nothing in the results.

    progress(done, size) and cancelled() are called from the calling thread between parts. Raises Cancelled
    once cancelled() is true, after the parts under way have ended; work that raises ends the whole.
    """
    parts = iter([(first, min(first + part, size)) for first in range(0, size, part)])
    if thread_count() == 1 or size <= part:
        for first, last in _until(parts, cancelled):
            work(first, last)
            if progress is not None:
                progress(last, size)
        return
    executor = _pool.executor()
    ready: dict[Future[R], int] = {}
    done = 0
    try:
        for first, last in _until(parts, cancelled):
            ready[executor.submit(work, first, last)] = last - first
            if len(ready) > thread_count():
                done += _collect(ready)
                if progress is not None:
                    progress(done, size)
        while ready:
            done += _collect(ready)
            if progress is not None:
                progress(done, size)
    finally:
        # Parts write into arrays of the caller: none may still run when it goes on.
        wait(ready)


def _until(
    parts: Iterator[tuple[int, int]], cancelled: Callable[[], bool] | None
) -> Iterator[tuple[int, int]]:
    for part in parts:
        if cancelled is not None and cancelled():
            raise Cancelled("the computation was cancelled")
        yield part


def _collect(ready: dict[Future[R], int]) -> int:
    finished, _ = wait(ready, return_when=FIRST_COMPLETED)
    done = 0
    for future in finished:
        done += ready.pop(future)
        future.result()
    return done
