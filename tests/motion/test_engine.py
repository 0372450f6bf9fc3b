"""The fast engine against its float64 twin, the reference solver, SciPy, and itself in other company."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion import engine, units
from motion.answerable import march_answerable
from motion.draws import release_samples
from motion.errors import MotionError
from motion.inputs import ReleaseSpec
from motion.kernels.wide_march import SKEW_RANGE
from motion.path import march_batch, solve_path
from motion.streams import scatter_normals
from motion.threads import Cancelled, limit_threads, thread_count
from script.made_up_lanes import LANES, one_shot, shots
from tests.motion import reference_ball

ROOT = Path(__file__).resolve().parents[2]
NAMES = (
    "board_at_60",
    "entry_angle_deg",
    "speed_at_60_mph",
    "roll_start_ft",
    "contact_board",
    "contact_angle_deg",
    "contact_offset_boards",
    "gutter",
    "gutter_ft",
    "breakpoint_board",
    "breakpoint_ft",
    "track_board",
)
# What the issue allows at the 99.9th percentile (boards, degrees).
ALLOWED = {"smooth": (0.05, 0.02), "rough": (0.1, 0.03)}


@pytest.fixture(autouse=True)
def all_cores():
    """These tests use every core, whatever the settings of the site say."""
    before = thread_count()
    limit_threads(None)
    yield
    limit_threads(before)


def lanes_and_shots(kind: str, count: int, seed: int = 0):
    rng = np.random.default_rng(seed)
    return np.array([LANES[kind](rng) for _ in range(count)]), shots(rng, count)


@pytest.mark.parametrize("kind", ["smooth", "rough"])
def test_fast_paths_agree_with_the_reference_solver(kind):
    maps, columns = lanes_and_shots(kind, 400)
    fast = engine.march(maps, **columns, mu_index=np.arange(400))
    exact = [solve_path(mu, **one_shot(columns, row)) for row, mu in enumerate(maps)]
    stays = np.array([path.gutter_ft is None for path in exact])
    board = np.abs(fast.board_at_60 - [path.board_at_60 for path in exact])[stays]
    angle = np.abs(fast.entry_angle_deg - [path.entry_angle_deg for path in exact])[stays]
    # A sample of some 270 paths: nearly all of them within what 999 of 1000 are allowed.
    assert np.quantile(board, 0.99) < ALLOWED[kind][0]
    assert np.quantile(angle, 0.99) < ALLOWED[kind][1]
    assert board.max() < 2.0 * ALLOWED[kind][0]
    assert (fast.gutter[stays] == 0).mean() > 0.99


@pytest.mark.long
@pytest.mark.parametrize("kind", ["smooth", "rough"])
def test_999_of_1000_fast_paths_are_within_what_is_allowed(kind):
    count = 10_000
    maps, columns = lanes_and_shots(kind, count, seed=1)
    fast = engine.march(maps, **columns, mu_index=np.arange(count))
    exact = [solve_path(mu, **one_shot(columns, row)) for row, mu in enumerate(maps)]
    stays = np.array([path.gutter_ft is None for path in exact])
    board = np.abs(fast.board_at_60 - [path.board_at_60 for path in exact])[stays]
    angle = np.abs(fast.entry_angle_deg - [path.entry_angle_deg for path in exact])[stays]
    assert np.quantile(board, 0.999) <= ALLOWED[kind][0]
    assert np.quantile(angle, 0.999) <= ALLOWED[kind][1]


@pytest.mark.parametrize("kind", ["smooth", "rough"])
def test_every_result_agrees_with_the_float64_twin(kind):
    maps, columns = lanes_and_shots(kind, 12, seed=2)
    columns = shots(np.random.default_rng(3), 900)
    index = np.arange(900) % 12
    fast = engine.march(maps, **columns, mu_index=index, tracks=True)
    twin = march_batch(maps, **columns, mu_index=index, tracks=True)
    near = {"speed_at_60_mph": 0.02, "roll_start_ft": 0.3, "gutter_ft": 0.2, "breakpoint_ft": 0.35}
    for name in NAMES:
        ours, theirs = (np.asarray(getattr(b, name), dtype=float) for b in (fast, twin))
        both = ~np.isnan(ours) & ~np.isnan(theirs)
        assert (np.isnan(ours) != np.isnan(theirs)).mean() < 0.002, name
        away = np.abs(ours - theirs)[both]
        if name == "gutter":
            assert away.mean() < 0.002
        else:
            assert np.quantile(away, 0.99) < near.get(name, 0.1), name


@pytest.mark.parametrize("kind", ["smooth", "rough"])
def test_scipy_gives_the_same_paths_from_the_vector_equations(kind):
    """SciPy's solve_ivp on position, velocity and spin: the textbook equations (standard mechanics)."""
    maps, columns = lanes_and_shots(kind, 4, seed=4)
    fast = engine.march(maps, **columns, mu_index=np.arange(4))
    for row, mu in enumerate(maps):
        exact = reference_ball.solve(mu, **one_shot(columns, row), diameter_in=8.55, max_step=0.01)
        assert fast.board_at_60[row] == pytest.approx(exact.board, abs=ALLOWED[kind][0])
        assert fast.entry_angle_deg[row] == pytest.approx(exact.angle_deg, abs=ALLOWED[kind][1])
        assert fast.speed_at_60_mph[row] == pytest.approx(exact.speed_mph, abs=0.02)


def same(a, b, rows=slice(None)):
    return all(np.array_equal(getattr(a, name)[rows], getattr(b, name), equal_nan=True) for name in NAMES)


def test_same_bits_whatever_the_company_and_the_number_of_threads():
    maps, _ = lanes_and_shots("rough", 5, seed=5)
    columns, index = shots(np.random.default_rng(6), 3000), np.arange(3000) % 5
    whole = engine.march(maps, **columns, mu_index=index, tracks=True)
    limit_threads(1)
    assert same(whole, engine.march(maps, **columns, mu_index=index, tracks=True))
    rows = np.array([2999, 17, 1203, 17, 4])
    some = {name: values[rows] for name, values in columns.items()}
    assert same(whole, engine.march(maps, **some, mu_index=index[rows], tracks=True), rows)
    one = {name: values[:1] for name, values in columns.items()}
    assert same(whole, engine.march(maps[0], **one, tracks=True), slice(0, 1))


def test_search_gives_what_march_gives_for_every_map_line_and_draw():
    maps, _ = lanes_and_shots("smooth", 3, seed=7)
    release = ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0, axis_tilt_deg=12.0)
    draws = release_samples(release, scatter_normals(64)[:37])
    launch, laydown, rg = np.array([0.5, 1.5]), np.array([12.0, 22.0]), np.array([2.48, 2.5, 2.6])
    got = engine.search(maps, rg_in=rg, launch_deg=launch, laydown_board=laydown, samples=draws)
    assert got.offset_boards.shape == (3, 2, 37)
    for place in range(3):
        for line in range(2):
            batch = engine.march(
                maps[place],
                draws.speed_mph,
                draws.rev_rate_rpm,
                draws.axis_rotation_deg,
                launch[line] + draws.launch_off_deg,
                laydown[line] + draws.laydown_off_boards,
                rg[place],
                axis_tilt_deg=draws.axis_tilt_deg,
            )
            ours, theirs = got.offset_boards[place, line], batch.contact_offset_boards
            assert np.allclose(ours, theirs, atol=1e-5, equal_nan=True)
            assert np.allclose(got.angle_deg[place, line], batch.contact_angle_deg, atol=1e-5, equal_nan=True)


def test_search_counts_its_progress_and_can_be_cancelled():
    maps, _ = lanes_and_shots("smooth", 24, seed=8)
    draws = release_samples(
        ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0), scatter_normals(2048)
    )
    lines = {"rg_in": 2.5, "launch_deg": np.linspace(0, 2, 20), "laydown_board": np.linspace(12, 22, 20)}
    seen = []
    engine.search(maps, **lines, samples=draws, progress=lambda done, size: seen.append((done, size)))
    assert seen[-1] == (24 * 20, 24 * 20)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    asked = iter([False, False, True])
    with pytest.raises(Cancelled):
        engine.search(maps, **lines, samples=draws, cancelled=lambda: next(asked, True))


def test_the_polynomial_is_good_to_the_end_of_its_range():
    """On even friction the steps themselves are all but exact, so what is left is the polynomial's error."""
    rng = np.random.default_rng(14)
    columns = shots(rng, 4000) | {
        "speed_mph": rng.uniform(7.0, 24.0, 4000),
        "rev_rate_rpm": rng.uniform(0.0, 800.0, 4000),
        "axis_rotation_deg": rng.uniform(-90.0, 90.0, 4000),
    }
    skew = skew_of(columns)
    low, high = (float(end) for end in SKEW_RANGE)
    near_an_end = ((skew > low) & (skew < low + 0.08)) | ((skew < high) & (skew > high - 0.08))
    assert near_an_end.sum() > 100
    columns = {name: values[near_an_end] for name, values in columns.items()}
    for friction in (0.02, 0.06, 0.2):
        mu = np.full((61, 39), friction)
        fast = engine.march(mu, **columns)
        exact = march_batch(mu, **columns, steps_per_foot=32)
        assert (~exact.gutter).sum() > 20
        assert np.abs(fast.board_at_60 - exact.board_at_60)[~exact.gutter].max() < 0.05


def skew_of(columns):
    """Speed down the lane at release over that once rolling, (v + k p)/(1 + k) (standard mechanics)."""
    launch, rotation = np.radians(columns["launch_deg"]), np.radians(columns["axis_rotation_deg"])
    speed = columns["speed_mph"] * 0.44704
    spin = columns["rev_rate_rpm"] * np.pi / 30.0 * np.cos(np.radians(columns["axis_tilt_deg"]))
    surface = spin * 8.55 / 2.0 * 0.0254
    k = (columns["rg_in"] / (8.55 / 2.0)) ** 2
    down = speed * np.cos(launch)
    return down * (1.0 + k) / (down + k * surface * np.cos(rotation - launch))


def test_releases_beyond_the_polynomial_are_marched_in_float64():
    mu = np.full((61, 39), 0.1)
    slow_and_wild = {"speed_mph": 6.0, "rev_rate_rpm": 700.0, "axis_rotation_deg": 20.0, "launch_deg": 0.0}
    fast = engine.march(mu, **slow_and_wild, laydown_board=20.0, rg_in=2.5)
    exact = solve_path(mu, **slow_and_wild, laydown_board=20.0, rg_in=2.5)
    assert fast.board_at_60[0] == pytest.approx(exact.board_at_60, abs=0.1)


def test_one_map_is_shared_out_and_can_be_cancelled_too():
    draws = release_samples(
        ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0), scatter_normals(1024)
    )
    lines = {"launch_deg": np.linspace(0, 2, 200), "laydown_board": np.linspace(12, 22, 200)}
    mu, seen = np.full((61, 39), 0.05), []
    engine.search(mu, rg_in=2.5, **lines, samples=draws, progress=lambda done, size: seen.append(done))
    assert len(seen) > 3
    with pytest.raises(Cancelled):
        engine.search(mu, rg_in=2.5, **lines, samples=draws, cancelled=lambda: True)


def test_search_takes_the_k_of_a_drilled_ball():
    draws = release_samples(
        ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0), scatter_normals(16)
    )
    mu, line = np.full((61, 39), 0.05), {"launch_deg": [1.0], "laydown_board": [15.0], "samples": draws}
    k = (2.6 / (8.55 / 2.0)) ** 2
    by_rg = engine.search(mu, rg_in=2.6, **line)
    by_k = engine.search(mu, rg_in=2.5, k=k, **line)
    assert np.array_equal(by_rg.offset_boards, by_k.offset_boards, equal_nan=True)
    with pytest.raises(MotionError) as error:
        engine.search(mu, rg_in=2.5, k=[k, k], **line)
    assert error.value.field == "k"


@settings(max_examples=60, deadline=None)
@given(
    speed=st.floats(5, 40),
    revs=st.floats(0, 800),
    rotation=st.floats(-100, 100),
    tilt=st.floats(-30, 90),
    launch=st.floats(-10, 10),
    laydown=st.floats(-20, 60),
    rg=st.floats(2.46, 2.80),
    seed=st.integers(0, 50),
)
def test_over_the_whole_legal_range_every_row_is_answered_near_the_twin(
    speed, revs, rotation, tilt, launch, laydown, rg, seed
):
    mu = LANES["rough"](np.random.default_rng(seed))
    shot = (speed, revs, rotation, launch, laydown, rg)
    fast = engine.march(mu, *shot, axis_tilt_deg=tilt)
    twin = march_batch(mu, *shot, axis_tilt_deg=tilt, steps_per_foot=16)
    assert np.isfinite(fast.board_at_60[0])
    assert np.isfinite(fast.speed_at_60_mph[0])
    # Slow wild paths cross many boards a foot: there the step itself is coarse.
    slack = 0.25 + 0.02 * abs(twin.board_at_60[0] - laydown)
    assert fast.board_at_60[0] == pytest.approx(twin.board_at_60[0], abs=slack)


def test_bad_rows_are_named_and_the_rest_is_answered():
    maps, columns = lanes_and_shots("smooth", 4, seed=9)
    columns["speed_mph"][1] = 0.0
    columns["launch_deg"][2] = np.nan
    batch, problems = march_answerable(maps, {**columns, "mu_index": np.array([0, 1, 2, 1.5])})
    assert sorted(problems) == [1, 2, 3]
    assert str(problems[1]) == "speed_mph[1]: 0 — allowed 5 to 40 mph"
    assert problems[2].field == "launch_deg[2]"
    assert problems[3].field == "mu_index[3]"
    assert np.isfinite(batch.board_at_60[0])
    assert np.isnan(batch.board_at_60[1:]).all()
    alone = engine.march(maps, **{name: values[:1] for name, values in columns.items()}, mu_index=[0])
    assert batch.board_at_60[0] == alone.board_at_60[0]


@pytest.mark.parametrize(
    ("rows", "field"),
    [({"speed_mph": [17.0]}, "rows"), ({"colour": [1.0]}, "rows"), ({"speed_mph": ["x"]}, "rows")],
)
def test_what_spoils_a_whole_batch_is_said_at_once(rows, field):
    with pytest.raises(MotionError) as error:
        march_answerable(np.full((61, 39), 0.1), rows)
    assert error.value.field == field


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"speed_mph": [17.0, np.inf]}, "speed_mph[1]"),
        ({"rg_in": 3.4}, "rg_in"),
        ({"launch_deg": 30.0}, "launch_deg"),
        ({"mu_index": [3]}, "mu_index"),
        ({"mu_index": ["a"]}, "mu_index"),
        ({"mu": "x"}, "mu"),
        ({"mu": np.full((61, 39), 0.1 + 1j)}, "mu"),
        ({"speed_mph": [17.0, 17.0], "launch_deg": [1.0, 1.0, 1.0]}, "path inputs"),
    ],
)
def test_bad_input_is_named(change, field):
    shot = {
        "speed_mph": 17.0,
        "rev_rate_rpm": 300.0,
        "axis_rotation_deg": 45.0,
        "launch_deg": 1.0,
        "laydown_board": 15.0,
        "rg_in": 2.5,
    }
    with pytest.raises(MotionError) as error:
        engine.march(**{"mu": np.full((61, 39), 0.1), **shot, **change})
    assert error.value.field == field


def test_a_film_with_holes_is_refused():
    mu = np.full((61, 39), 0.1)
    mu[3, 4] = np.nan
    with pytest.raises(MotionError):
        engine.march(mu, 17.0, 300.0, 45.0, 1.0, 15.0, 2.5)


def test_threads_must_be_at_least_one():
    for count in (0, -1, True, 1.5):
        with pytest.raises(MotionError):
            limit_threads(count)


ANSWER = """
import sys
import numpy as np
from motion import engine
from script.made_up_lanes import LANES, shots
def answer(*_):
    rng = np.random.default_rng(11)
    maps = np.array([LANES["rough"](rng) for _ in range(40)])
    batch = engine.march(maps, **shots(rng, 9000), mu_index=np.arange(9000) % 40)
    return float(batch.board_at_60.sum()), float(np.nansum(batch.contact_angle_deg))
"""


def run(code: str, **variables: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", ANSWER + code],
        cwd=ROOT,
        env={**os.environ, **variables},
        capture_output=True,
        text=True,
        timeout=280,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_a_forked_child_of_a_parent_that_used_the_engine_gets_the_same_bits():
    code = """
import multiprocessing
if __name__ == "__main__":
    here = answer()
    with multiprocessing.get_context("fork").Pool(2) as pool:
        children = pool.map(answer, range(2))
    print(len({here, *children}))
"""
    assert run(code) == "1"


@pytest.mark.parametrize("pool", ["prefork", "solo", "threads"])
def test_every_kind_of_worker_pool_gets_the_same_bits(pool, tmp_path):
    """A Celery worker of each kind; the parent used the engine before it forked or started threads."""
    code = f"""
import os, threading, time
from pathlib import Path
from celery import Celery
folder = Path({str(tmp_path)!r})
app = Celery("pools", broker="memory://")
app.conf.task_ignore_result = True
@app.task(name="answer")
def task(number):
    part = folder / f"part-{{number}}"
    part.write_text(repr(answer()))
    part.rename(folder / f"answer-{{number}}")
def ask(here):
    for number in range(3):
        task.delay(number)
    until = time.monotonic() + 150
    while time.monotonic() < until and len(list(folder.glob("answer-*"))) < 3:
        time.sleep(0.1)
    got = [path.read_text() for path in folder.glob("answer-*")]
    os.write(1, b"answers: %d, different: %d" % (len(got), len({{repr(here), *got}})))
    os._exit(0)
if __name__ == "__main__":
    threading.Timer(1.0, ask, [answer()]).start()
    app.worker_main(["worker", "--pool", {pool!r}, "--concurrency", "2", "--without-gossip",
                     "--without-mingle", "--without-heartbeat", "--loglevel", "ERROR"])
"""
    assert run(code).endswith("answers: 3, different: 1")


@pytest.mark.long
@pytest.mark.parametrize("features", ["+sse2", "+avx,+avx2,+fma"])
def test_other_processors_get_the_same_answers(features, tmp_path):
    """Compiled for a processor without these instructions, as Numba lets one ask for."""
    here = [float(part) for part in run("print(*answer())").split()]
    there = run(
        "print(*answer())",
        NUMBA_CPU_NAME="generic",
        NUMBA_CPU_FEATURES=features,
        NUMBA_CACHE_DIR=str(tmp_path),
    )
    assert [float(part) for part in there.split()] == pytest.approx(here, rel=1e-5)


def test_a_mirrored_view_of_a_lane_gives_the_bits_of_a_plain_array():
    """A left-hander's own-side map is the flipped lane: a view with its boards backwards in memory."""
    lane = LANES["rough"](np.random.default_rng(12))
    columns = shots(np.random.default_rng(13), 200)
    mirrored = np.ascontiguousarray(lane[:, ::-1])
    view = engine.march(mirrored[:, ::-1], **columns, tracks=True)
    assert same(engine.march(lane, **columns, tracks=True), view)


def test_no_paths_are_no_error():
    nothing = {name: np.array([]) for name in shots(np.random.default_rng(0), 1)}
    mu = np.full((61, 39), 0.1)
    assert engine.march(mu, **nothing, tracks=True).board_at_60.shape == (0,)
    batch, problems = march_answerable(mu, nothing)
    assert (batch.board_at_60.shape, problems) == ((0,), {})


def test_a_ball_released_rolling_rolls_from_the_foul_line():
    """5/7-like closed form turned round: surface speed equal to ball speed is no slip at all."""
    revs = units.mph_to_mps(17.0) / units.in_to_m(8.55 / 2.0) * 30.0 / np.pi
    for friction in (0.0, 0.1):
        batch = engine.march(np.full((61, 39), friction), 17.0, revs, 0.0, 0.0, 20.0, 2.5)
        assert batch.roll_start_ft[0] == 0.0
        assert batch.board_at_60[0] == pytest.approx(20.0, abs=1e-6)


def test_no_friction_means_a_straight_path():
    batch = engine.march(np.zeros((61, 39)), 17.0, 300.0, 45.0, 1.0, 20.0, 2.5)
    boards_out = 60.0 * np.tan(np.radians(1.0)) * 12.0 / units.BOARD_IN
    assert batch.board_at_60[0] == pytest.approx(20.0 - boards_out, abs=1e-3)
    assert batch.entry_angle_deg[0] == pytest.approx(-1.0, abs=1e-4)
    assert np.isnan(batch.roll_start_ft[0])
