"""Kernels of the reduced model of a layout: where the axis goes in the body, and the oil a cover meets on
each board.

Like ``full_ball_kernels`` but without an orientation: an isotropic ball goes down a handful of lines, and an
average over the ring stands in place of its patches.
"""

from __future__ import annotations

import math

import numpy as np

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.units import BOARD_M, FOOT_M, GRAVITY_MPS2

TWO_PI = 2.0 * math.pi
PER_TURN = 8  # steps of the axis per revolution
ANGLES = 5  # places round half a ring, from one widest part over the bow tie, where all cross, to the other


@kernel
def free_axis(kk: FloatArray, start: FloatArray, out: FloatArray) -> None:
    """Fill out (n, 3) with the unit spin axis in the body at steps of 1/PER_TURN turn of free precession.

    K dw/dt = K w x w (Euler, no torque), by RK4 with the turn as the variable.
    """
    w = start.copy()
    rates = np.zeros(3)
    at = np.empty(3)
    total = np.empty(3)
    for n in range(out.shape[0]):
        size = math.sqrt(w[0] * w[0] + w[1] * w[1] + w[2] * w[2])
        for i in range(3):
            w[i] /= size
            out[n, i] = w[i]
            total[i] = 0.0
        for stage in range(4):
            back = 0.0 if stage == 0 else (1.0 if stage == 3 else 0.5)
            for i in range(3):
                at[i] = w[i] + back * rates[i]
            size = math.sqrt(at[0] * at[0] + at[1] * at[1] + at[2] * at[2])
            h = TWO_PI / PER_TURN / size
            rates[0] = h * (kk[1] - kk[2]) * at[1] * at[2] / kk[0]
            rates[1] = h * (kk[2] - kk[0]) * at[2] * at[0] / kk[1]
            rates[2] = h * (kk[0] - kk[1]) * at[0] * at[1] / kk[2]
            weight = 1.0 if stage == 0 or stage == 3 else 2.0
            for i in range(3):
                total[i] += weight / 6.0 * rates[i]
        for i in range(3):
            w[i] += total[i]


@kernel
def across(values: FloatArray, foot: int, board: float) -> float:
    """A map (61, 39) read on a foot line between boards, constant beyond the outermost."""
    xx = min(max(board - 1.0, 0.0), 38.0)
    j = min(int(xx), 37)
    value: float = values[foot, j] + (values[foot, j + 1] - values[foot, j]) * (xx - j)
    return value


@kernel
def launched(shot: FloatArray, launch: float, k: float, out: FloatArray) -> None:
    """Fill out (7,) as `motion.kernels.march.launch_state` does: slip, velocity once rolling, its slope in
    the slip, slip direction.

    shot (4,): speed, surface speed of the level spin [m/s], rotation [rad], spin about the vertical [rad/s].
    """
    way = shot[2] - launch
    vy, vx = shot[0] * math.cos(launch), -shot[0] * math.sin(launch)
    py, px = shot[1] * math.cos(way), shot[1] * math.sin(way)
    slip = math.hypot(vy - py, vx - px)
    out[:] = 0.0
    out[0] = slip
    out[1], out[2] = (vy + k * py) / (1.0 + k), (vx + k * px) / (1.0 + k)
    if slip > 1e-12:
        out[5], out[6] = (vy - py) / slip, (vx - px) / slip
        out[3], out[4] = out[5] * k / (1.0 + k), out[6] * k / (1.0 + k)


@kernel
def step(
    mu: FloatArray, state: FloatArray, k: float, factor: float, foot: int, board: float, slip: float
) -> tuple[float, float]:
    """Board and slip [m/s] a foot further of an isotropic ball, friction multiplied by factor: one midpoint
    step, enough for a history."""
    rate = (1.0 + 1.0 / k) * GRAVITY_MPS2 * FOOT_M * factor
    vy, vx = max(state[1] + state[3] * slip, 0.1), state[2] + state[4] * slip
    half = board + 0.5 * vx / vy * FOOT_M / BOARD_M
    middle = max(slip - 0.5 * rate * across(mu, foot, board) / vy, 0.0)
    vy, vx = max(state[1] + state[3] * middle, 0.1), state[2] + state[4] * middle
    mean = 0.5 * (across(mu, foot, half) + across(mu, foot + 1, half))
    return board + vx / vy * FOOT_M / BOARD_M, max(slip - rate * mean / vy, 0.0)


@kernel
def pocket_launch(
    mu: FloatArray, shot: FloatArray, k: float, start: float, pocket: float, steepest: float
) -> float:
    """Launch [rad] that brings a ball from a board to the pocket's at 60 ft, or as near as steepest lets
    it."""
    state = np.empty(7)
    low, high = -0.5 * steepest, steepest
    # Past the own gutter the friction of the edge goes on, so more launch always ends further out.
    for _ in range(7):
        launch = 0.5 * (low + high)
        launched(shot, launch, k, state)
        board, slip = start, state[0]
        for foot in range(60):
            board, slip = step(mu, state, k, 1.0, foot, board, slip)
        if board > pocket:
            low = launch
        else:
            high = launch
    return 0.5 * (low + high)


@kernel
def oil_met(
    line: FloatArray,
    fill: FloatArray,
    foot: int,
    axis: FloatArray,
    cover: FloatArray,
    width: float,
    strip: FloatArray,
    out: FloatArray,
) -> None:
    """Fill out (ANGLES,) with the film [um] on the cover that meets the lane at a foot of a line.

    line (3, 61) as `follow_line` fills it, fill (61,): share of its free room a patch fills along it. strip
    (3, 64) is scratch: fill, distance of the tracks and of their latitudes, by turns back.
    """
    now = line[1, foot]
    radius = cover[7]
    count = min(int(now), 63)
    here = min(int(now * PER_TURN), axis.shape[0] - 1)
    before = foot
    for back in range(1, count + 1):
        then = now - back
        while before > 0 and line[1, before] > then:
            before -= 1
        after = min(before + 1, foot)
        turned = line[1, after] - line[1, before]
        part = (then - line[1, before]) / turned if turned > 0.0 else 0.0
        strip[0, back] = fill[before] + (fill[after] - fill[before]) * part
        there = min(int(then * PER_TURN), axis.shape[0] - 1)
        square = 0.0
        for i in range(3):
            square += (axis[here, i] - axis[there, i]) ** 2
        strip[1, back] = radius * math.sqrt(square)
        tilt = line[2, before] + (line[2, after] - line[2, before]) * part
        strip[2, back] = radius * (line[2, foot] - tilt)
    for angle in range(ANGLES):
        wide = math.cos((angle + 0.5) * math.pi / ANGLES)
        oil = cover[0]
        for back in range(count, 0, -1):
            apart = (strip[1, back] * wide + strip[2, back]) / width
            if abs(apart) < 1.0:
                overlap = (1.0 - apart * apart) ** 2
                left = cover[2] * oil
                left += (cover[1] - left) * strip[0, back]
                oil += overlap * (left - oil)
        out[angle] = oil


@kernel
def from_table(table: FloatArray, step: float, at: float) -> float:
    """A table read linearly at steps of `step` from 0, held at its end."""
    place = at / step
    low = min(int(place), table.shape[0] - 2)
    value: float = table[low] + (table[low + 1] - table[low]) * min(place - low, 1.0)
    return value


@kernel
def follow_line(
    film: FloatArray,
    fill: FloatArray,
    mu: FloatArray,
    table: FloatArray,
    table_step: float,
    shot: FloatArray,
    launch: float,
    k: float,
    axis: FloatArray,
    cover: FloatArray,
    spread: float,
    start: float,
    line: FloatArray,
    factors: FloatArray,
) -> None:
    """Fill line (3, 61) with board, revolutions and tilt [rad] by foot of one line, and factors (61,) with
    what the oil on the cover makes of friction there; arguments as for `friction_factor`."""
    state = np.empty(7)
    along = np.zeros(61)
    strip = np.empty((3, 64))
    oil = np.empty(ANGLES)
    launched(shot, launch, k, state)
    board, slip, turns, radius = start, state[0], 0.0, cover[7]
    for foot in range(61):
        vy = max(state[1] + state[3] * slip, 0.1)
        vx = state[2] + state[4] * slip
        level = math.hypot(vy - state[5] * slip, vx - state[6] * slip) / radius
        line[0, foot], line[1, foot], line[2, foot] = board, turns, math.atan2(shot[3], level)
        along[foot] = across(fill, foot, board)
        oil_met(line, along, foot, axis, cover, cover[6] * spread, strip, oil)
        plain = across(film, foot, board)
        total = 0.0
        for angle in range(ANGLES):
            met = max(plain + (oil[angle] - cover[5]) * (cover[4] + along[foot]), 0.0)
            total += from_table(table, table_step, met)
        factors[foot] = total / (ANGLES * from_table(table, table_step, plain))
        if foot < 60:
            turns += FOOT_M / vy * math.hypot(level, shot[3]) / TWO_PI
            board, slip = step(mu, state, k, factors[foot], foot, board, slip)


@kernel
def friction_factor(
    film: FloatArray,
    fill: FloatArray,
    mu: FloatArray,
    table: FloatArray,
    table_step: float,
    shot: FloatArray,
    launches: FloatArray,
    k: float,
    axis: FloatArray,
    cover: FloatArray,
    spread: float,
    starts: FloatArray,
    out: FloatArray,
) -> None:
    """Fill out (61, 39) with friction as the cover's oil leaves it, over friction with a neutral cover.

    Computed along lines laid down at `starts` (n,) boards, ascending, with their launches (n,) [rad], and
    read between them. fill (61, 39): share of its free room a patch fills there. shot (4,): as for
    `launched`. axis (n, 3): as `free_axis` fills it. cover (8,): as `cover_state.Cover.numbers`. spread:
    fitted factor of the width over which tracks overlap.
    """
    n = starts.shape[0]
    line = np.empty((3, 61))
    boards = np.empty((n, 61))
    factors = np.empty((n, 61))
    for i in range(n):
        follow_line(
            film, fill, mu, table, table_step, shot, launches[i], k, axis, cover, spread, starts[i], line,
            factors[i],
        )  # fmt: skip
        boards[i] = line[0]
    for foot in range(61):
        i = 0
        for board in range(39):
            while i < n - 2 and boards[i + 1, foot] < board + 1.0:
                i += 1
            gap = boards[i + 1, foot] - boards[i, foot]
            part = (board + 1.0 - boards[i, foot]) / gap if gap > 1e-9 else 0.5
            part = min(max(part, 0.0), 1.0)
            out[foot, board] = factors[i, foot] + (factors[i + 1, foot] - factors[i, foot]) * part
