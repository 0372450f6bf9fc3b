"""How fast and how exact the engine is, measured side by side in one run on this machine.

script/bench [--cases N] [--quick] prints a report; nothing in it is remembered from another machine.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from numba.core.registry import cpu_target  # noqa: E402

from motion import engine, units  # noqa: E402
from motion.draws import release_samples  # noqa: E402
from motion.inputs import ReleaseSpec  # noqa: E402
from motion.kernels.wide_march import STEPS  # noqa: E402
from motion.path import march_batch, solve_path  # noqa: E402
from motion.streams import scatter_normals  # noqa: E402
from motion.threads import cores, limit_threads, thread_count  # noqa: E402
from motion.wear import Passes, apply_traffic  # noqa: E402
from script import bench_kernels as kernels  # noqa: E402
from script.made_up_lanes import LANES, one_shot, shots  # noqa: E402

SEED = 20261125
Array = Any


def say(text: str = "") -> None:
    print(text, flush=True)


def table(header: list[str], rows: list[list[str]]) -> None:
    say("| " + " | ".join(header) + " |")
    say("|" + " --- |" * len(header))
    for row in rows:
        say("| " + " | ".join(row) + " |")
    say()


def fastest(*works: Callable[[], object], rounds: int = 7) -> list[float]:
    """Processor seconds of each work, the least of several rounds; the works take turns, so that whatever
    else the machine does meets them alike."""
    best = [np.inf] * len(works)
    for work in works:
        work()
    for _ in range(rounds):
        for place, work in enumerate(works):
            start = time.process_time()
            work()
            best[place] = min(best[place], time.process_time() - start)
    return [float(b) for b in best]


def processor() -> str:
    """What this machine's processor is called, and the widest registers LLVM uses on it."""
    features: Any = cpu_target.target_context.codegen().magic_tuple()
    width = next((name for name in ("avx512f", "avx2") if f"+{name}" in features[-1].split(",")), "portable")
    return f"a processor that LLVM takes for {features[1]} ({width})"


def accuracy(cases: int) -> None:
    """Errors against the solver, which tests hold to SciPy at 1e-5 board."""
    say(f"## Errors against the reference solver, {cases} random shots a row\n")
    rows = []
    for name, lane in LANES.items():
        rng = np.random.default_rng(SEED)
        columns = shots(rng, cases)
        maps = np.array([lane(rng) for _ in range(cases)])
        exact = [solve_path(mu, **one_shot(columns, row)) for row, mu in enumerate(maps)]
        board = np.array([path.board_at_60 for path in exact])
        angle = np.array([path.entry_angle_deg for path in exact])
        on_lane = np.array([path.gutter_ft is None for path in exact])
        index = np.arange(cases)
        fast = engine.march(maps, **columns, mu_index=index)
        twin = march_batch(maps, **columns, mu_index=index)
        plain = kernels.plain_paths(maps, index, columns)
        for what, got in (
            ("fast engine", (fast.board_at_60, fast.entry_angle_deg)),
            ("float64 twin, 240 steps", (twin.board_at_60, twin.entry_angle_deg)),
            ("plain march, 60 steps", plain),
        ):
            errors = [np.abs(got[0] - board), np.abs(got[1] - angle)]
            cells = [f"{np.quantile(e[on_lane], q):.4f}" for e in errors for q in (0.5, 0.999, 1.0)]
            rows.append([name, what, str(int(on_lane.sum())), *cells])
    heads = ["board 50 %", "board 99.9 %", "board worst", "deg 50 %", "deg 99.9 %", "deg worst"]
    table(["lane", "march", "stay on the lane", *heads], rows)


def speed() -> None:
    """Paths a second of one core, of the kernel alone and of the functions people call."""
    say("## Paths a second of one core\n")
    rng = np.random.default_rng(SEED)
    count = 4096
    columns, mu = shots(rng, count), LANES["smooth"](rng)
    repeat = 40
    wide = kernels.wide_paths(mu, columns, repeat)
    plain = kernels.plain_timed(mu, columns, repeat // 4)
    peak, operations = kernels.peak_timed()
    many: dict[str, Any] = {name: np.resize(values, 10 * count) for name, values in columns.items()}
    limit_threads(1)
    fast_s, plain_s, peak_s, march_s, numpy_s = fastest(
        wide,
        plain,
        peak,
        lambda: engine.march(mu, **many),
        lambda: kernels.numpy_paths(mu, many),
    )
    limit_threads(None)
    plain_rate, fast_rate = count * (repeat // 4) / plain_s, count * repeat / fast_s
    rows = [
        ("NumPy, 60 steps, all paths at once", 10 * count / numpy_s),
        ("plain float64 march in Numba, 60 one-foot midpoint steps", plain_rate),
        (f"fast kernel, {STEPS} steps, arrival at the pins", fast_rate),
        (
            "`engine.march`: with checks, breakpoint, gutter, rolling start of every path",
            10 * count / march_s,
        ),
    ]
    table(
        ["march", "million paths a second", "ratio"],
        [[name, f"{rate / 1e6:.2f}", f"{rate / plain_rate:.1f}"] for name, rate in rows],
    )
    peak_rate = operations / peak_s
    share = fast_rate * kernels.FLOPS_A_PATH / peak_rate
    say(
        f"Arithmetic: {kernels.FLOPS_A_PATH} float32 operations a path (a fused one counts twice; lookups, "
        f"comparisons and conversions count nothing), {fast_rate * kernels.FLOPS_A_PATH / 1e9:.0f} of the "
        f"{peak_rate / 1e9:.0f} thousand million a second that a loop of nothing but fused operations "
        f"reaches here: {share:.0%}.\n"
    )


def growth(most: int) -> None:
    """How time and memory of `engine.search` grow with the number of paths, on all cores."""
    say(f"## From a thousand to ten million paths, {thread_count()} threads\n")
    rng = np.random.default_rng(SEED)
    mu = LANES["rough"](rng)
    release = ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0, axis_tilt_deg=12.0)
    rows = []
    paths = 1000
    while paths <= most:
        draws = release_samples(release, scatter_normals(1024)[: min(1000, paths)])
        lines = paths // len(draws.speed_mph)
        laydown, launch = np.linspace(12.0, 22.0, lines), np.linspace(0.5, 2.0, lines)
        best = np.inf
        for _ in range(3):
            start = time.perf_counter()
            got = engine.search(mu, rg_in=2.5, launch_deg=launch, laydown_board=laydown, samples=draws)
            best = min(best, time.perf_counter() - start)
        size = (got.offset_boards.size + got.angle_deg.size) * 4 / 2**20
        most_memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**10
        rows.append(
            [
                f"{paths:,}",
                f"{1e3 * best:.1f}",
                f"{paths / best / 1e6:.1f}",
                f"{size:.1f}",
                f"{most_memory:.0f}",
            ]
        )
        paths *= 10
    heads = [
        "paths",
        "ms on the clock",
        "million a second",
        "result, MB",
        "most memory of the process so far, MB",
    ]
    table(heads, rows)


def against_scipy() -> None:
    """SciPy's integrators on the same scalar equation, right-hand side and lookup compiled."""
    from scipy.integrate import solve_ivp

    say("## SciPy on the same problem\n")
    rng = np.random.default_rng(SEED)
    count = 40
    columns = shots(rng, count)
    maps = np.array([LANES["rough"](rng) for _ in range(count)])
    exact = np.array([solve_path(mu, **one_shot(columns, row)).board_at_60 for row, mu in enumerate(maps)])
    starts = [kernels.scalar_problem(columns, row) for row in range(count)]
    rows = []
    for method in ("RK23", "RK45", "DOP853", "LSODA"):
        for tolerance in (1e-3, 1e-4, 1e-5, 1e-6):
            got = np.empty(count)

            def work(method: str = method, tolerance: float = tolerance, got: Array = got) -> None:
                for row, (first, constants) in enumerate(starts):
                    end = solve_ivp(
                        kernels.scalar_slopes,
                        (0.0, 60.0),
                        first,
                        method=method,
                        rtol=tolerance,
                        atol=tolerance,
                        max_step=1.0,
                        args=(constants, maps[row]),
                    )
                    got[row] = end.y[0, -1]

            (seconds,) = fastest(work, rounds=2)
            rows.append((method, tolerance, float(np.abs(got - exact).max()), count / seconds))
    index = np.arange(count)
    many: dict[str, Any] = {name: np.resize(values, 40960) for name, values in columns.items()}
    (ours,) = fastest(lambda: engine.march(maps[0], **many))
    fast = engine.march(maps, **columns, mu_index=index).board_at_60
    table(
        ["method", "tolerance", "worst error, board", "paths a second"],
        [[m, f"{t:g}", f"{e:.4f}", f"{r:.0f}"] for m, t, e, r in rows],
    )
    good = [row for row in rows if row[2] <= 0.1]
    best = max(good, key=lambda row: row[3])
    say(
        f"Fastest within 0.1 board: {best[0]} at {best[1]:g}, {best[3]:.0f} paths a second. The fast engine, "
        f"with breakpoint, gutter and rolling start of every path: {40960 / ours:.0f} "
        f"({40960 / ours / best[3]:.0f} times as many), worst error here "
        f"{np.abs(fast - exact).max():.4f} board.\n"
    )


def first_path() -> None:
    """Seconds of a fresh process from import to its first path, with an empty and with a warm cache."""
    say("## First path of a fresh process\n")
    shot = "march(np.full((61, 39), 0.05), 17.0, 350.0, 45.0, 1.0, 15.0, 2.5)"
    begin = "import time; t = time.perf_counter(); import numpy as np; from motion.engine import march; "
    alone = begin + shot + "; print(time.perf_counter() - t)"
    # As a pool of worker processes does it: the parent has imported the engine and never used it.
    forked = (
        begin
        + "import os; t = time.perf_counter(); child = os.fork() or ("
        + shot
        + ", print(time.perf_counter() - t, flush=True), os._exit(0)); os.waitpid(child, 0)"
    )
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        variables = {**os.environ, "NUMBA_CACHE_DIR": folder}
        for name, code, rounds in (
            ("empty cache (compiles), from the import on", alone, 1),
            ("warm cache, from the import on", alone, 3),
            ("warm cache, in a child forked from a parent that imported the engine", forked, 3),
        ):
            times = []
            for _ in range(rounds):
                done = subprocess.run(
                    [sys.executable, "-c", code],
                    cwd=ROOT,
                    env=variables,
                    capture_output=True,
                    text=True,
                    check=True,
                )
                times.append(float(done.stdout))
            rows.append([name, f"{min(times):.2f}"])
    table(["first path", "seconds, least of the rounds"], rows)


def big_search(share: float) -> None:
    """30 balls x 200 lines x 256 samples x 12 states of the lane in one call."""
    say("## One search: 30 balls x 200 lines x 256 samples x 12 states of wear\n")
    rng = np.random.default_rng(SEED)
    balls, states, lines, samples = max(1, round(30 * share)), 12, 200, 256
    mu = np.array([LANES["rough"](rng) for _ in range(balls * states)])
    rg = np.repeat(rng.uniform(2.46, 2.60, balls), states)
    at_arrows = rng.uniform(8.0, 16.0, lines)
    laydown = at_arrows + rng.uniform(2.0, 7.0, lines)
    launch = np.degrees(np.arctan2((laydown - at_arrows) * units.BOARD_IN, 180.0))
    release = ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0, axis_tilt_deg=12.0)
    draws = release_samples(release, scatter_normals(samples))

    def search() -> engine.Arrivals:
        return engine.search(mu, rg_in=rg, launch_deg=launch, laydown_board=laydown, samples=draws)

    search()
    rows = []
    paths = len(mu) * lines * samples
    for threads in (1, cores()):
        limit_threads(threads)
        best_wall, best_cpu = np.inf, np.inf
        for _ in range(3):
            wall, cpu = time.perf_counter(), time.process_time()
            search()
            best_wall = min(best_wall, time.perf_counter() - wall)
            best_cpu = min(best_cpu, time.process_time() - cpu)
        rows.append([f"fast engine, {thread_count()} threads", f"{best_wall:.2f}", f"{best_cpu:.2f}"])
    limit_threads(None)
    some = 40
    work = kernels.plain_search(mu[:1], rg[:1], launch[:some], laydown[:some], draws)
    (seconds,) = fastest(work, rounds=3)
    scaled = seconds * paths / (some * samples)
    rows.append(["plain march, 1 thread, scaled up from a part", "", f"{scaled:.2f}"])
    table([f"{paths / 1e6:.1f} million paths", "seconds on the clock", "processor seconds"], rows)


def sampling() -> None:
    """How many random draws one even draw is worth, for the chance of the pocket."""
    say("## Even draws against random ones: standard error of the chance of the pocket\n")
    rng = np.random.default_rng(SEED)
    mu = np.array([LANES["smooth"](rng) for _ in range(24)])
    release = ReleaseSpec(speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0, axis_tilt_deg=12.0)
    at_arrows = np.linspace(8.0, 18.0, 60)
    laydown = at_arrows + 5.0
    launch = np.degrees(np.arctan2((laydown - at_arrows) * units.BOARD_IN, 180.0))

    def chance(normals: Array) -> Array:
        got = engine.search(
            mu, rg_in=2.5, launch_deg=launch, laydown_board=laydown, samples=release_samples(release, normals)
        )
        return (np.abs(got.offset_boards - 2.5) <= 0.75).mean(axis=2)

    truth = chance(scatter_normals(2**15))
    open_lines = (truth > 0.1) & (truth < 0.9)
    rows = []
    from scipy.special import ndtri
    from scipy.stats import qmc

    for count in (64, 256, 1024):
        even, random = [], []
        for repeat in range(16):
            sobol = qmc.Sobol(5, scramble=True, rng=np.random.default_rng(repeat)).random(count)
            even.append(chance(ndtri(np.clip(sobol, 1e-6, 1.0 - 1e-6)))[open_lines])
            random.append(chance(np.random.default_rng(repeat).standard_normal((count, 5)))[open_lines])
        errors = [float(np.sqrt(np.mean((np.array(e) - truth[open_lines]) ** 2))) for e in (even, random)]
        rows.append(
            [str(count), f"{errors[1]:.4f}", f"{errors[0]:.4f}", f"{(errors[1] / errors[0]) ** 2:.1f}"]
        )
    table(["draws", "random", "even", "random draws that one even draw is worth"], rows)


def wear() -> None:
    """Passes a second of the wear law."""
    say("## Wear\n")
    rng = np.random.default_rng(SEED)
    tracks = engine.march(LANES["smooth"](rng), **shots(rng, 2000), tracks=True).tracks()
    passes = Passes(track_board=tracks, lift=np.array(0.03), kept=np.array(0.8))
    film = np.full((61, 39), 3.0)
    (seconds,) = fastest(lambda: apply_traffic(film, passes))
    worn = apply_traffic(film, passes)
    from motion.film import volume_ml

    lost = abs(volume_ml(film) - volume_ml(worn.film_um) - worn.carried_off_ul / 1000.0) / volume_ml(film)
    say(f"{len(passes) / seconds:.0f} passes a second; oil lost or made by 2000 of them: {lost:.1e} of it.\n")


def main() -> None:
    parser = argparse.ArgumentParser(prog="script/bench", description=__doc__)
    parser.add_argument("--cases", type=int, default=10_000, help="shots a row of the table of errors")
    parser.add_argument("--quick", action="store_true", help="a tenth of everything, to try the command")
    options = parser.parse_args()
    say(f"# The engine on this machine\n\n{cores()} cores of {processor()}, NumPy {np.__version__}\n")
    growth(10**5 if options.quick else 10**7)
    accuracy(options.cases // 10 if options.quick else options.cases)
    speed()
    against_scipy()
    first_path()
    big_search(0.1 if options.quick else 1.0)
    sampling()
    wear()


if __name__ == "__main__":
    main()
