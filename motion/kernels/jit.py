"""The one typed door to Numba: serial, float64, deterministic, cached on disk where that is possible."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

import numba

P = ParamSpec("P")
R = TypeVar("R")


def kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function on first use (never in parallel: worker processes fork and workers may be threads).

    A kernel may call only kernels of its own file: Numba's disk cache watches one file per function and would
    otherwise keep a stale copy of the helper. For the same reason what may change (parameters) comes in as an
    argument; only definitions from ``units`` are read as constants.
    """
    options: dict[str, Any] = {"nogil": True, "fastmath": False, "parallel": False}
    try:
        compiled: Callable[P, R] = numba.njit(cache=True, **options)(function)
    except RuntimeError:
        # No writable place for the cache: run without it rather than not at all.
        compiled = numba.njit(cache=False, **options)(function)
    return compiled
