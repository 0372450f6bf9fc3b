"""What the bench compares with: a plain march as anyone would write it first, SciPy's side, a core's peak."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from motion import units
from motion.engine import Samples
from motion.kernels import wide_march
from motion.kernels.jit import kernel
from motion.kernels.march import bilinear, launch_state
from motion.kernels.wide import LANES, full, fused, load, store
from motion.kernels.wide_march import IN, OUT, PATHS, STEPS, aligned
from motion.path import contact_reach_m

FloatArray = NDArray[np.float64]
Columns = dict[str, FloatArray]

DIAMETER_IN = 8.55
RADIUS_M = units.in_to_m(DIAMETER_IN / 2.0)
SLOPE = units.FOOT_M / units.BOARD_M
# One step: friction 2, q 2, polynomial 8, x 1. Preparing and finishing: some 150 each, counted roughly.
FLOPS_A_PATH = 13 * STEPS + 300


@kernel
def plain_march(mu: FloatArray, state: FloatArray, k: float, x: float) -> tuple[float, float]:
    """Board and slope at 60 ft by one midpoint step a foot, in float64."""
    slip, ry, rx, gy, gx = state[0], state[1], state[2], state[3], state[4]
    rate = (1.0 + 1.0 / k) * units.GRAVITY_MPS2 * units.FOOT_M
    for foot in range(60):
        vy = ry + gy * slip
        half_slip = max(slip - 0.5 * rate * bilinear(mu, foot, x) / vy, 0.0)
        half_x = x + 0.5 * SLOPE * (rx + gx * slip) / vy
        vy = ry + gy * half_slip
        slip = max(slip - rate * bilinear(mu, foot + 0.5, half_x) / vy, 0.0)
        x += SLOPE * (rx + gx * half_slip) / vy
    return x, (rx + gx * slip) / (ry + gy * slip)


@kernel
def plain_many(
    mu: FloatArray, index: NDArray[np.int64], inputs: FloatArray, repeat: int, out: FloatArray
) -> None:
    """`plain_march` of every row, `repeat` times over."""
    state = np.zeros(7)
    for _ in range(repeat):
        for p in range(inputs.shape[0]):
            row = inputs[p]
            launch_state(row[0], row[1], row[2], row[3], row[4], row[6], state)
            out[p, 0], out[p, 1] = plain_march(mu[index[p]], state, row[6], row[5])


def _rows(columns: Columns) -> FloatArray:
    return np.column_stack(
        [
            units.mph_to_mps(columns["speed_mph"]),
            units.rpm_to_rad_s(columns["rev_rate_rpm"]) * RADIUS_M,
            np.radians(columns["axis_rotation_deg"]),
            np.radians(columns["axis_tilt_deg"]),
            np.radians(columns["launch_deg"]),
            columns["laydown_board"],
            (units.in_to_m(columns["rg_in"]) / RADIUS_M) ** 2,
        ]
    )


def plain_paths(
    maps: FloatArray, index: NDArray[np.int64], columns: Columns
) -> tuple[FloatArray, FloatArray]:
    """Board and angle [deg] at 60 ft by the plain march."""
    out = np.empty((len(index), 2))
    plain_many(maps, index, _rows(columns), 1, out)
    return out[:, 0], np.degrees(np.arctan(out[:, 1]))


def plain_timed(mu: FloatArray, columns: Columns, repeat: int) -> Callable[[], None]:
    """The plain march of many paths on one map, `repeat` times."""
    rows = _rows(columns)
    index, out = np.zeros(len(rows), dtype=np.int64), np.empty((len(rows), 2))
    return lambda: plain_many(mu[None], index, rows, repeat, out)


def plain_search(
    mu: FloatArray, rg_in: FloatArray, launch_deg: FloatArray, laydown_board: FloatArray, draws: Samples
) -> Callable[[], None]:
    """The plain march of every draw down every line on one map."""
    lines, samples = len(launch_deg), len(draws.speed_mph)
    columns = {
        "speed_mph": np.tile(draws.speed_mph, lines),
        "rev_rate_rpm": np.tile(draws.rev_rate_rpm, lines),
        "axis_rotation_deg": np.tile(draws.axis_rotation_deg, lines),
        "axis_tilt_deg": np.tile(draws.axis_tilt_deg, lines),
        "launch_deg": np.repeat(launch_deg, samples) + np.tile(draws.launch_off_deg, lines),
        "laydown_board": np.repeat(laydown_board, samples) + np.tile(draws.laydown_off_boards, lines),
        "rg_in": np.full(lines * samples, rg_in[0]),
    }
    return plain_timed(mu[0], columns, 1)


@kernel
def wide_many(mu: FloatArray, paths: NDArray[np.float32], reach: float, repeat: int) -> float:
    """The fast kernel on chunks (n, IN PATHS) of one map: prepare, march, finish, and strays once more."""
    values, slopes = aligned(STEPS * 48), aligned(STEPS * 48)
    scratch, out, chunk = aligned(wide_march.BLOCKS * PATHS), aligned(OUT * PATHS), aligned(IN * PATHS)
    again, again_out, lanes = aligned(IN * PATHS), aligned(OUT * PATHS), np.empty(PATHS, np.int64)
    none = np.empty(0, np.float32)
    total = 0.0
    wide_march.rows_of(mu, values, slopes)
    for _ in range(repeat):
        for c in range(paths.shape[0]):
            chunk[:] = paths[c]
            narrow = wide_march.starts_near(chunk, PATHS)
            wide_march.run(values, slopes, chunk, PATHS, reach, narrow, scratch, out, none, none, none)
            count = wide_march.strayed(scratch, PATHS, -np.inf, lanes) if narrow else 0
            if count > 0:
                wide_march.gather(chunk, IN, lanes, count, again)
                wide_march.run(
                    values, slopes, again, count, reach, False, scratch, again_out, none, none, none
                )
                wide_march.scatter(again_out, OUT, lanes, count, out)
            total += out[0]
    return total


def wide_paths(mu: FloatArray, columns: Columns, repeat: int) -> Callable[[], float]:
    """The fast kernel on a whole number of chunks, `repeat` times, without the events on the way."""
    rows = _rows(columns)
    surface = rows[:, 1] * np.cos(rows[:, 3])
    inputs = np.column_stack(
        [
            rows[:, 0],
            surface * np.cos(rows[:, 2]),
            surface * np.sin(rows[:, 2]),
            rows[:, 4],
            rows[:, 5],
            rows[:, 6],
        ]
    )
    chunks = inputs.reshape(-1, PATHS, IN).swapaxes(1, 2).reshape(-1, IN * PATHS).astype(np.float32)
    reach = contact_reach_m(DIAMETER_IN)
    return lambda: wide_many(mu, chunks, reach, repeat)


@kernel
def fused_only(room: NDArray[np.float32], rounds: int) -> None:
    """Four times LANES independent chains of fused operations: what a core can do at most."""
    a, b = load(room, 0), load(room, LANES)
    c, d = load(room, 2 * LANES), load(room, 3 * LANES)
    m, n = full(np.float32(0.999)), full(np.float32(0.001))
    for _ in range(rounds):
        a, b, c, d = fused(a, m, n), fused(b, m, n), fused(c, m, n), fused(d, m, n)
    store(room, 0, a + b + c + d)


def peak_timed() -> tuple[Callable[[], None], float]:
    """`fused_only`, and how many operations one call does."""
    rounds = 2_000_000
    room = np.linspace(0.1, 1.0, 4 * LANES, dtype=np.float32)
    return (lambda: fused_only(room, rounds)), rounds * 4.0 * LANES * 2.0


def scalar_problem(columns: Columns, row: int) -> tuple[FloatArray, FloatArray]:
    """Start (board, slip) and constants of one shot for `scalar_slopes`."""
    values = _rows({name: column[row : row + 1] for name, column in columns.items()})[0]
    state = np.zeros(7)
    launch_state(values[0], values[1], values[2], values[3], values[4], values[6], state)
    rate = (1.0 + 1.0 / values[6]) * units.GRAVITY_MPS2 * units.FOOT_M
    return np.array([values[5], state[0]]), np.array([*state[1:5], rate])


@kernel
def scalar_slopes(y: float, state: FloatArray, constants: FloatArray, mu: FloatArray) -> FloatArray:
    """dx/dy and dU/dy of the reference problem."""
    slip = max(state[1], 0.0)
    vy = constants[0] + constants[2] * slip
    out = np.empty(2)
    out[0] = SLOPE * (constants[1] + constants[3] * slip) / vy
    out[1] = -constants[4] * bilinear(mu, y, state[0]) / vy if state[1] > 0.0 else 0.0
    return out


def numpy_paths(mu: FloatArray, columns: Columns) -> FloatArray:
    """Board at 60 ft by the plain march, every step done for all paths at once in NumPy."""
    speed, surface, rotation, tilt, launch, x, k = _rows(columns).T
    along, across = surface * np.cos(tilt) * np.cos(rotation), surface * np.cos(tilt) * np.sin(rotation)
    cos, sin = np.cos(launch), np.sin(launch)
    vy, vx = speed * cos, -speed * sin
    uy, ux = vy - along * cos - across * sin, vx - across * cos + along * sin
    slip = np.hypot(uy, ux)
    gy, gx = uy / slip * k / (1.0 + k), ux / slip * k / (1.0 + k)
    ry, rx = vy - gy * slip, vx - gx * slip
    rate = (1.0 + 1.0 / k) * units.GRAVITY_MPS2 * units.FOOT_M

    def friction(foot: float, board: FloatArray) -> FloatArray:
        i = min(int(foot), 59)
        row = mu[i] * (1.0 - (foot - i)) + mu[i + 1] * (foot - i)
        place = np.clip(board - 1.0, 0.0, 38.0)
        j = np.minimum(place.astype(np.int64), 37)
        found: FloatArray = row[j] + (row[j + 1] - row[j]) * (place - j)
        return found

    for foot in range(60):
        vy = ry + gy * slip
        half_slip = np.maximum(slip - 0.5 * rate * friction(foot, x) / vy, 0.0)
        half_x = x + 0.5 * SLOPE * (rx + gx * slip) / vy
        vy = ry + gy * half_slip
        slip = np.maximum(slip - rate * friction(foot + 0.5, half_x) / vy, 0.0)
        x = x + SLOPE * (rx + gx * half_slip) / vy
    boards: FloatArray = x
    return boards
