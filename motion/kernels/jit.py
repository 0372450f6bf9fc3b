"""The one typed door to Numba: serial, deterministic, cached on disk where that is possible."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import numba

P = ParamSpec("P")
R = TypeVar("R")


def _source_digest() -> str:
    """A name for what the kernels are made of: their own sources and the constants they read."""
    here = Path(__file__).parent
    digest = hashlib.sha256()
    for source in (*sorted(here.glob("*.py")), here.parent / "units.py"):
        digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


def _keep_apart() -> None:
    """Give every state of the sources its own cache folder.

    Numba's disk cache watches one file per function and would keep a stale copy of a kernel that calls one of
    another file.
    """
    config: Any = numba.config
    folder = Path(config.CACHE_DIR or Path(__file__).parent / "__pycache__")
    config.CACHE_DIR = str(folder / f"kernels-{_source_digest()}")


_keep_apart()


def uncompiled() -> bool:
    """Whether kernels run as plain Python (a switch of Numba's, for debugging)."""
    config: Any = numba.config
    return bool(config.DISABLE_JIT)


def kernel(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function on first use (never in parallel: worker processes fork and workers may be threads).

    What may change (parameters) comes in as an argument; only definitions from ``units`` are read as
    constants.
    """
    options: dict[str, Any] = {"nogil": True, "fastmath": False, "parallel": False}
    try:
        compiled: Callable[P, R] = numba.njit(cache=True, **options)(function)
    except RuntimeError:
        # No writable place for the cache: run without it rather than not at all.
        compiled = numba.njit(cache=False, **options)(function)
    return compiled
