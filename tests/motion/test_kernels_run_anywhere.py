"""The kernels give the same answers uncompiled, in threads, in forked children and without a cache to write
to."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numba
import pytest

from motion.kernels import jit

ROOT = Path(__file__).resolve().parents[2]
SHOT = """
import numpy as np
from motion.path import march_batch, solve_path
from motion.wear import Passes, apply_traffic
mu = np.full((61, 39), 0.02) + np.linspace(0.0, 0.01, 39)
mu[41:] = 0.2
def answer():
    path = solve_path(mu, speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0, axis_tilt_deg=12.0,
                      launch_deg=1.5, laydown_board=14.0, rg_in=2.5, step_ft=0.5)
    batch = march_batch(mu, 17.0, [300.0, 350.0], 45.0, 1.5, 14.0, 2.5, tracks=True)
    passes = Passes(track_board=batch.tracks(), lift=0.03, kept=0.8)
    worn = apply_traffic(np.full((61, 39), 3.0), passes)
    return (path.board_at_60, path.time_s_total, float(batch.board_at_60[1]), worn.carried_off_ul)
"""


def run(code: str, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", SHOT + code],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_uncompiled_kernels_give_the_compiled_answers():
    compiled = [float(x) for x in run("print(*answer())").split()]
    plain = [float(x) for x in run("print(*answer())", NUMBA_DISABLE_JIT="1").split()]
    assert plain == pytest.approx(compiled, rel=1e-12)


def test_two_hundred_uncompiled_passes_conserve_oil_and_never_make_it_negative():
    code = """
film, rng = np.full((61, 39), 2.0), np.random.default_rng(3)
tracks = np.clip(8.0 + 4.0 * rng.standard_normal((200, 1)) + np.linspace(0.0, 9.0, 61), 0.6, 39.4)
worn = apply_traffic(film, Passes(track_board=tracks, lift=0.05, kept=0.8))
from motion.film import volume_ml
before, after = volume_ml(film), volume_ml(worn.film_um)
print(abs(before - after - worn.carried_off_ul / 1000.0) / before < 1e-9, bool((worn.film_um >= 0.0).all()))
"""
    assert run(code, NUMBA_DISABLE_JIT="1") == "True True"


def test_first_use_in_threads_and_in_forked_children_is_safe(tmp_path):
    code = """
import multiprocessing
from concurrent.futures import ThreadPoolExecutor
if __name__ == "__main__":
    fork = multiprocessing.get_context("fork")
    with fork.Pool(2) as pool:
        children = pool.starmap(answer, [(), ()])
    with ThreadPoolExecutor(4) as threads:
        here = [f.result() for f in [threads.submit(answer) for _ in range(4)]]
    with fork.Pool(1) as pool:
        later = pool.starmap(answer, [()])
    print(len(set(children + here + later)))
"""
    # An empty cache folder, so that the first use really compiles, twice at the same moment.
    assert run(code, NUMBA_CACHE_DIR=str(tmp_path)) == "1"


def test_where_no_cache_can_be_written_kernels_still_compile(monkeypatch):
    def njit(*, cache, **options):
        if cache:
            raise RuntimeError("cannot cache function: no locator available")
        return numba.njit(cache=False, **options)

    # Only the name the module uses: Numba's own late imports need the real one.
    monkeypatch.setattr(jit, "numba", SimpleNamespace(njit=njit))
    assert jit.kernel(lambda x: 2.0 * x)(3.0) == 6.0
