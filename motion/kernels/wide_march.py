"""The fast march: many paths side by side in float32, a row of the lane after another.

Let U be the slip speed. On any map the velocity is v = r + g U with constant vectors r (rolling) and g. Down
the lane dU/dy = -(1 + 1/k) mu g0 / v_y, and v_y is affine in U, so the product Q = r_y U + g_y U^2 / 2 obeys

    dQ/dy = -(1 + 1/k) g0 mu(x, y)          (no division: friction adds up along the lane)

and everything else is a function of Q. With q = Q / Q_at_release, from 1 down to 0 where rolling begins, the
slope dx/dy of the path is one smooth function s(q) of the release alone. Before the march it is put into a
polynomial of degree 4 through five Chebyshev-Lobatto nodes, so a step of h feet needs no root, no division:

    h mu = a[j] + d[j] x    in the middle of the step; j is the board that x is in, a and d come from the map
    q    = max(q - rate h mu, 0)
    x    = x + h s(q)

x is known half a step away from q (leapfrog), which makes both updates second order. ``motion.path`` holds
the float64 twin; `SKEW_RANGE` says for which releases the polynomial is good enough.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.kernels.wide import (
    LANES,
    NARROW,
    ROW,
    TABLE,
    Wide,
    below,
    both,
    choose,
    full,
    fused,
    least,
    load,
    look,
    look_far,
    most,
    root,
    row,
    store,
    whole,
)
from motion.units import BOARD_M, EDGE_HIGH_BOARD, EDGE_LOW_BOARD, FOOT_M, GRAVITY_MPS2, HEAD_PIN_BOARD

Float32Array = NDArray[np.float32]

# Half-foot steps to 30 ft, thirds of a foot from there on, where the path is steep and boards pass quickly.
FINE_FROM_FT = 30
COARSE_STEPS = 2 * FINE_FROM_FT
STEPS = COARSE_STEPS + 3 * (60 - FINE_FROM_FT)
PATHS = 256  # of a chunk: its numbers stay in the nearest cache
IN = 6  # numbers of a path: speed, surface speed along and across [m/s], launch [rad], laydown board, k
OUT = 5  # see `finish`
EVENTS = 4  # see `events`
FAR = NARROW - 1.0  # board beyond which a path may need more than the 32 entries of `look`
LAST = np.float32(TABLE - 1)
# Release speed down the lane over rolling speed, for which the polynomial is good to 0.05 board at 60 ft (a
# test holds it to that); and the steepest slope that the series of `arc_tangent` answers.
SKEW_RANGE = (np.float32(0.7), np.float32(1.45))
LEAST_SLIP = np.float32(1e-3)  # m/s; a ball released rolling is for the float64 march too
STEEPEST = np.float32(0.4)
# Blocks of the scratch memory, PATHS numbers each.
X, Q, LOW, HIGH, RATE, C0, C1, C2, C3, C4, MIDDLE, SLOPE_AT, GOOD, ROLL_VY, GAIN, OUTWARD, SLIDING, BLOCKS = (
    range(18)
)

ONE, TWO, HALF, ZERO = np.float32(1.0), np.float32(2.0), np.float32(0.5), np.float32(0.0)
# Values at q = 0, (2 - sqrt 2)/4, 1/2, (2 + sqrt 2)/4, 1 to coefficients of q, q^2, q^3, q^4.
NODES: FloatArray = 0.5 - 0.5 * np.cos(np.pi * np.arange(5) / 4.0)
_TO_POWERS = np.linalg.inv(NODES[:, None] ** np.arange(5)).astype(np.float32)
POWERS = tuple(tuple(float(v) for v in row) for row in _TO_POWERS[1:])
HALF_CHORD = (float(NODES[1]), float(NODES[3]))


@kernel
def aligned(size: int) -> Float32Array:
    """Room for numbers that begins where a register is read in one go."""
    room = np.empty(size + 16, np.float32)
    skip = (-room.ctypes.data % 64) // 4
    return room[skip : skip + size]


@kernel
def step_ft(n: int) -> float:
    """Length of step n [ft]."""
    return 0.5 if n < COARSE_STEPS else 1.0 / 3.0


@kernel
def begin_ft(n: int) -> float:
    """Where step n begins [ft]; n = STEPS gives 60."""
    return 0.5 * n if n < COARSE_STEPS else FINE_FROM_FT + (n - COARSE_STEPS) / 3.0


@kernel
def rows_of(mu: FloatArray, values: Float32Array, slopes: Float32Array) -> None:
    """Tables of a map mu (61, 39): in the middle of step n, in the board j of x, the step's length [ft] times
    friction is values[48 n + j] + slopes[48 n + j] x; constant below board 1 and beyond board 39."""
    # Boards 0 to TABLE, of which those off the lane are the outermost once more.
    boards = np.empty(TABLE + 1)
    for n in range(STEPS):
        h = step_ft(n)
        y = begin_ft(n) + 0.5 * h
        i = int(y)
        f = y - i
        for j in range(39):
            boards[j + 1] = mu[i, j] * (1.0 - f) + mu[i + 1, j] * f
        boards[0] = boards[1]
        boards[40:] = boards[39]
        for j in range(TABLE):
            slope = np.float32(h * (boards[j + 1] - boards[j]))
            slopes[n * TABLE + j] = slope
            values[n * TABLE + j] = np.float32(h * boards[j] - float(slope) * j)


@kernel
def prepare(paths: Float32Array, scratch: Float32Array, o: int) -> None:
    """Constants of LANES paths from their releases; paths holds IN blocks of PATHS.

    Angles turn with the launch: rotation is measured from the direction of travel.
    """
    one, two, half = full(ONE), full(TWO), full(HALF)
    speed = load(paths, o)
    along = load(paths, PATHS + o)
    across = load(paths, 2 * PATHS + o)
    launch = load(paths, 3 * PATHS + o)
    k = load(paths, 5 * PATHS + o)
    # Series to the tenth power: exact to float32 up to 20 degrees.
    t = launch * launch
    sin = launch * fused(
        t,
        fused(
            t,
            fused(t, full(np.float32(-1.0 / 5040.0)), full(np.float32(1.0 / 120.0))),
            full(np.float32(-1.0 / 6.0)),
        ),
        one,
    )
    cos = fused(
        t,
        fused(
            t, fused(t, full(np.float32(-1.0 / 720.0)), full(np.float32(1.0 / 24.0))), full(np.float32(-0.5))
        ),
        one,
    )
    vy, vx = speed * cos, full(ZERO) - speed * sin
    uy = vy - fused(along, cos, across * sin)
    ux = vx - fused(across, cos, full(ZERO) - along * sin)
    slip = most(root(fused(uy, uy, ux * ux)), full(np.float32(1e-6)))
    share = k / (one + k)
    ry, rx = vy - share * uy, vx - share * ux
    mean_vy = fused(half, share * uy, ry)
    drop = slip * mean_vy
    rate = (one + one / k) * full(np.float32(-GRAVITY_MPS2 * FOOT_M)) / drop
    gained = two * share * uy * mean_vy
    turned = two * share * ux * mean_vy
    step = full(np.float32(FOOT_M / BOARD_M))
    s0 = step * rx / ry
    s4 = step * vx / vy
    n1, n3 = full(np.float32(HALF_CHORD[0])), full(np.float32(HALF_CHORD[1]))
    v1 = root(fused(gained, n1, ry * ry))
    v2 = root(fused(gained, half, ry * ry))
    v3 = root(fused(gained, n3, ry * ry))
    s1 = step * (rx + turned * n1 / (ry + v1)) / v1
    s2 = step * (rx + turned * half / (ry + v2)) / v2
    s3 = step * (rx + turned * n3 / (ry + v3)) / v3
    store(scratch, RATE * PATHS + o, rate)
    store(scratch, C0 * PATHS + o, s0)
    for power in range(4):
        m = POWERS[power]
        c = full(np.float32(m[0])) * s0
        c = fused(full(np.float32(m[1])), s1, c)
        c = fused(full(np.float32(m[2])), s2, c)
        c = fused(full(np.float32(m[3])), s3, c)
        c = fused(full(np.float32(m[4])), s4, c)
        store(scratch, (C1 + power) * PATHS + o, c)
    x = load(paths, 4 * PATHS + o)
    store(scratch, LOW * PATHS + o, x)
    store(scratch, HIGH * PATHS + o, x)
    store(scratch, X * PATHS + o, fused(full(np.float32(0.25)), s4, x))
    store(scratch, Q * PATHS + o, one)
    store(scratch, OUTWARD * PATHS + o, full(ZERO))
    store(scratch, SLIDING * PATHS + o, full(ZERO))
    store(scratch, ROLL_VY * PATHS + o, ry)
    store(scratch, GAIN * PATHS + o, gained)
    skew = vy / ry
    good = both(below(full(SKEW_RANGE[0]), skew), below(full(LEAST_SLIP), slip))
    store(
        scratch,
        GOOD * PATHS + o,
        choose(good, choose(below(skew, full(SKEW_RANGE[1])), one, full(ZERO)), full(ZERO)),
    )


@kernel
def march(
    values: Float32Array,
    slopes: Float32Array,
    scratch: Float32Array,
    groups: int,
    narrow: bool,
    history: Float32Array,
) -> None:
    """March `groups` times LANES paths to 60 ft on the map whose rows are given.

    narrow: look friction up in 32 entries of a row; a path beyond them must be marched again without.
    history, if it is not empty, gets x in the middle and q at the end of every step: 2 STEPS blocks of PATHS;
    how many steps ended on the way out, and how many sliding, is then counted too.
    """
    keep = history.shape[0] > 0
    for n in range(STEPS):
        at = n * TABLE
        v0, v1, v2 = row(values, at), row(values, at + ROW), row(values, at + 2 * ROW)
        d0, d1, d2 = row(slopes, at), row(slopes, at + ROW), row(slopes, at + 2 * ROW)
        # From the middle of this step to the middle of the next.
        on = full(np.float32(0.5 * (step_ft(n) + step_ft(n + 1))))
        for group in range(groups):
            o = group * LANES
            x, q = load(scratch, X * PATHS + o), load(scratch, Q * PATHS + o)
            if narrow:
                board = whole(x)
                mu = fused(look(slopes, at, d0, d1, board), x, look(values, at, v0, v1, board))
            else:
                board = whole(least(most(x, full(ZERO)), full(LAST)))
                mu = fused(
                    look_far(slopes, at, d0, d1, d2, board), x, look_far(values, at, v0, v1, v2, board)
                )
            q = most(fused(load(scratch, RATE * PATHS + o), mu, q), full(ZERO))
            s = slope(scratch, o, q)
            if keep or n % 2 == 1:
                store(scratch, LOW * PATHS + o, least(load(scratch, LOW * PATHS + o), x))
                store(scratch, HIGH * PATHS + o, most(load(scratch, HIGH * PATHS + o), x))
            if n == STEPS - 3:
                store(scratch, SLOPE_AT * PATHS + o, s)
            if n == STEPS - 2:
                store(scratch, MIDDLE * PATHS + o, x)
                store(scratch, SLOPE_AT * PATHS + o, full(HALF) * (load(scratch, SLOPE_AT * PATHS + o) + s))
            if keep:
                store(history, 2 * n * PATHS + o, x)
                store(history, (2 * n + 1) * PATHS + o, q)
                outward = load(scratch, OUTWARD * PATHS + o)
                store(
                    scratch, OUTWARD * PATHS + o, choose(below(s, full(ZERO)), outward + full(ONE), outward)
                )
                sliding = load(scratch, SLIDING * PATHS + o)
                store(
                    scratch, SLIDING * PATHS + o, choose(below(full(ZERO), q), sliding + full(ONE), sliding)
                )
            store(scratch, X * PATHS + o, fused(on, s, x))
            store(scratch, Q * PATHS + o, q)


@kernel
def count(scratch: Float32Array, place: int, which: Wide) -> None:
    """Add one where which holds."""
    so_far = load(scratch, place)
    store(scratch, place, choose(which, so_far + full(ONE), so_far))


@kernel
def slope(scratch: Float32Array, o: int, q: Wide) -> Wide:
    """Boards a foot at q: the polynomial of `prepare`."""
    s = fused(load(scratch, C4 * PATHS + o), q, load(scratch, C3 * PATHS + o))
    s = fused(s, q, load(scratch, C2 * PATHS + o))
    s = fused(s, q, load(scratch, C1 * PATHS + o))
    return fused(s, q, load(scratch, C0 * PATHS + o))


@kernel
def finish(scratch: Float32Array, o: int, reach_m: float, out: Float32Array, to: int, stride: int) -> None:
    """Results of LANES paths after `march`, written to out at `to` and every `stride` further on.

    Board at 60 ft; direction there [rad]; board and direction [rad] at first contact with the head pin (NaN
    if there is none); speed at 60 ft [m/s]. A board of NaN says that the release is for the float64 march:
    the polynomial or the series is not good enough for it.
    """
    one, half, zero, nan = full(ONE), full(HALF), full(ZERO), full(np.float32(np.nan))
    reach = full(np.float32(reach_m))
    board = full(np.float32(BOARD_M))
    q = load(scratch, Q * PATHS + o)
    s = slope(scratch, o, q)
    # The march ended half a step beyond 60 ft.
    x = load(scratch, X * PATHS + o) - full(np.float32(0.5 * step_ft(STEPS))) * s
    tangent = full(np.float32(BOARD_M / FOOT_M))
    m_end, m = tangent * s, tangent * load(scratch, SLOPE_AT * PATHS + o)
    # The last foot is a parabola about its tangent at 59.5 ft, the middle of the last step but one [m].
    before = full(np.float32(0.5 * FOOT_M))
    middle = load(scratch, MIDDLE * PATHS + o)
    across = (middle - full(np.float32(HEAD_PIN_BOARD))) * board + m * before  # the line at 60 ft
    bend = half * (m_end - m) / before
    y = touch(across, m, reach)
    away = y + before
    bulge = bend * away * away
    y = touch(across + bulge, m, reach)
    away = y + before
    contact = fused(m, y, across) + bend * away * away
    contact_m = fused(full(TWO) * bend, away, m)
    low, high = least(x, load(scratch, LOW * PATHS + o)), most(x, load(scratch, HIGH * PATHS + o))
    gutter = choose(
        below(low, full(np.float32(EDGE_LOW_BOARD))),
        one,
        choose(below(full(np.float32(EDGE_HIGH_BOARD)), high), one, zero),
    )
    on_lane = below(gutter, half)
    gentle = below(m_end * m_end, full(STEEPEST * STEEPEST))
    good = choose(gentle, load(scratch, GOOD * PATHS + o), zero)
    store(out, to, choose(below(half, good), x, nan))
    store(out, to + stride, arc_tangent(m_end))
    store(out, to + 2 * stride, choose(on_lane, contact / board + full(np.float32(HEAD_PIN_BOARD)), nan))
    touches = choose(below(full(np.float32(-1e9)), contact), arc_tangent(contact_m), nan)
    store(out, to + 3 * stride, choose(on_lane, touches, nan))
    ry = load(scratch, ROLL_VY * PATHS + o)
    vy = root(fused(load(scratch, GAIN * PATHS + o), q, ry * ry))
    store(out, to + 4 * stride, vy * root(fused(m_end, m_end, one)))


@kernel
def touch(across: Wide, m: Wide, reach: Wide) -> Wide:
    """Distance from the pin's row [m, negative before it] at which a line first is `reach` from the pin; NaN
    where it passes by. across: where the line crosses that row, from the pin [m]; m: its slope."""
    steep = fused(m, m, full(ONE))
    room = fused(reach * reach, steep, full(ZERO) - across * across)
    return (full(ZERO) - fused(m, across, root(room))) / steep


@kernel
def arc_tangent(t: Wide) -> Wide:
    """Angle [rad] of a slope up to 0.4 by its series, to 1e-6."""
    u = t * t
    a = fused(u, full(np.float32(1.0 / 13.0)), full(np.float32(-1.0 / 11.0)))
    a = fused(u, a, full(np.float32(1.0 / 9.0)))
    a = fused(u, a, full(np.float32(-1.0 / 7.0)))
    a = fused(u, a, full(np.float32(1.0 / 5.0)))
    a = fused(u, a, full(np.float32(-1.0 / 3.0)))
    return t * fused(u, a, full(ONE))


@kernel
def march_listed(
    mu: FloatArray,
    map_of_chunk: NDArray[np.int64],
    size_of_chunk: NDArray[np.int64],
    paths: Float32Array,
    reach_m: float,
    out: Float32Array,
    found: Float32Array,
    tracks: Float32Array,
) -> None:
    """March chunks of up to PATHS paths, each chunk on one map: paths (chunks, IN PATHS), out (chunks, OUT
    PATHS), found (chunks, 4 PATHS) and tracks (chunks or 0, 61 PATHS) as `events` gives them."""
    values, slopes = aligned(STEPS * TABLE), aligned(STEPS * TABLE)
    scratch, history = aligned(BLOCKS * PATHS), aligned(2 * STEPS * PATHS)
    again, again_out, again_found = aligned(IN * PATHS), aligned(OUT * PATHS), aligned(EVENTS * PATHS)
    again_tracks = aligned(61 * PATHS if tracks.shape[0] > 0 else 0)
    lanes = np.empty(PATHS, np.int64)
    none = np.empty(0, np.float32)
    there = -1
    for chunk in range(paths.shape[0]):
        if map_of_chunk[chunk] != there:
            there = map_of_chunk[chunk]
            rows_of(mu[there], values, slopes)
        size = size_of_chunk[chunk]
        track = tracks[chunk] if tracks.shape[0] > 0 else none
        here, place = paths[chunk], out[chunk]
        narrow = starts_near(here, size)
        run(values, slopes, here, size, reach_m, narrow, scratch, place, history, found[chunk], track)
        count = strayed(scratch, size, EDGE_LOW_BOARD, lanes) if narrow else 0
        if count > 0:
            gather(here, IN, lanes, count, again)
            run(
                values,
                slopes,
                again,
                count,
                reach_m,
                False,
                scratch,
                again_out,
                history,
                again_found,
                again_tracks,
            )
            scatter(again_out, OUT, lanes, count, place)
            scatter(again_found, EVENTS, lanes, count, found[chunk])
            if tracks.shape[0] > 0:
                scatter(again_tracks, 61, lanes, count, track)


@kernel
def starts_near(paths: Float32Array, size: int) -> bool:
    """Whether a chunk's paths all start where few will ever leave the narrow table."""
    far = np.float32(0.0)
    for i in range(size):
        far = max(far, paths[4 * PATHS + i])
    return bool(far < FAR - 4.0)


@kernel
def run(
    values: Float32Array,
    slopes: Float32Array,
    paths: Float32Array,
    size: int,
    reach_m: float,
    narrow: bool,
    scratch: Float32Array,
    out: Float32Array,
    history: Float32Array,
    found: Float32Array,
    tracks: Float32Array,
) -> None:
    """Prepare, march and finish one chunk; its events too, if there is room for a history."""
    groups = (size + LANES - 1) // LANES
    for group in range(groups):
        prepare(paths, scratch, group * LANES)
    march(values, slopes, scratch, groups, narrow, history)
    for group in range(groups):
        finish(scratch, group * LANES, reach_m, out, group * LANES, PATHS)
    if history.shape[0] > 0:
        events(history, paths[4 * PATHS : 5 * PATHS], scratch, size, found, tracks)


@kernel
def strayed(scratch: Float32Array, size: int, least_board: float, lanes: NDArray[np.int64]) -> int:
    """Which of a chunk's paths went where the narrow table does not reach; fills lanes, returns how many."""
    count = 0
    for i in range(size):
        low, high = scratch[LOW * PATHS + i], max(scratch[HIGH * PATHS + i], scratch[X * PATHS + i])
        if high > FAR or low < least_board:
            lanes[count] = i
            count += 1
    return count


@kernel
def gather(
    source: Float32Array, blocks: int, lanes: NDArray[np.int64], count: int, target: Float32Array
) -> None:
    """Copy some paths of a chunk to the front of another; what is left of the last group repeats it."""
    for block in range(blocks):
        for i in range((count + LANES - 1) // LANES * LANES):
            target[block * PATHS + i] = source[block * PATHS + lanes[min(i, count - 1)]]


@kernel
def scatter(
    source: Float32Array, blocks: int, lanes: NDArray[np.int64], count: int, target: Float32Array
) -> None:
    """Copy results from the front of a chunk to where its paths came from."""
    for block in range(blocks):
        for i in range(count):
            target[block * PATHS + lanes[i]] = source[block * PATHS + i]


@kernel
def middle_ft(n: int) -> float:
    """Where x of step n is known [ft]: its middle; the foul line for n = -1 and 60 ft for n = STEPS."""
    if n < 0:
        return 0.0
    return begin_ft(n) + 0.5 * step_ft(n) if n < STEPS else 60.0


@kernel
def events(
    history: Float32Array,
    laydown: Float32Array,
    scratch: Float32Array,
    size: int,
    found: Float32Array,
    tracks: Float32Array,
) -> None:
    """What happened on the way of a chunk's paths, from history (2 STEPS PATHS,) and counts of their march.

    found (4 PATHS): roll start ft, gutter ft (NaN where there is none), breakpoint board and ft. tracks (61
    PATHS or 0): board at every foot, NaN beyond a gutter. Between the kept points lines are straight, and the
    board is least where the slope, which changes evenly and never falls again, is zero.
    """
    keep = tracks.shape[0] > 0
    if keep:
        for i in range(size):
            tracks[i] = laydown[i]
        for foot in range(1, 61):
            n = 2 * foot if foot <= FINE_FROM_FT else COARSE_STEPS + 3 * (foot - FINE_FROM_FT)
            part = np.float32((foot - middle_ft(n - 1)) / (middle_ft(n) - middle_ft(n - 1)))
            if n < STEPS:
                for i in range(size):
                    before = history[2 * (n - 1) * PATHS + i]
                    tracks[foot * PATHS + i] = before + part * (history[2 * n * PATHS + i] - before)
            else:
                for i in range(size):
                    tracks[foot * PATHS + i] = last_board(history, i)
    for i in range(size):
        found[i] = roll_start_ft(history, int(scratch[SLIDING * PATHS + i]), i)
        low, high = scratch[LOW * PATHS + i], scratch[HIGH * PATHS + i]
        end = last_board(history, i)
        gutter = np.nan
        if min(low, end) < EDGE_LOW_BOARD or max(high, end) > EDGE_HIGH_BOARD:
            gutter = gutter_ft(history, laydown[i], i)
        found[PATHS + i] = gutter
        board, place = least_board(history, laydown[i], int(scratch[OUTWARD * PATHS + i]), i)
        found[2 * PATHS + i], found[3 * PATHS + i] = board, place
        if keep and not np.isnan(gutter):
            for foot in range(61):
                if foot >= gutter:
                    tracks[foot * PATHS + i] = np.nan


@kernel
def kept_board(history: Float32Array, laydown: float, n: int, i: int) -> float:
    """x of path i in the middle of step n; its laydown for n = -1, its board at 60 ft for n = STEPS."""
    if n < 0:
        return laydown
    return float(history[2 * n * PATHS + i]) if n < STEPS else last_board(history, i)


@kernel
def last_board(history: Float32Array, i: int) -> float:
    """Board of path i at 60 ft: on from the middles of the last two steps, in a straight line."""
    last, before = float(history[2 * (STEPS - 1) * PATHS + i]), float(history[2 * (STEPS - 2) * PATHS + i])
    return last + 0.5 * (last - before)


@kernel
def roll_start_ft(history: Float32Array, sliding: int, i: int) -> float:
    """Where q was used up, at the rate of the step before; NaN if it never was."""
    if sliding >= STEPS:
        return np.nan
    left = float(history[(2 * sliding - 1) * PATHS + i]) if sliding > 0 else 1.0
    before = float(history[(2 * sliding - 3) * PATHS + i]) if sliding > 1 else 1.0
    rate = (before - left) / step_ft(sliding - 1) if sliding > 0 else 0.0
    step = step_ft(sliding)
    return begin_ft(sliding) + (min(left / rate, step) if rate > 0.0 else 0.5 * step)


@kernel
def gutter_ft(history: Float32Array, laydown: float, i: int) -> float:
    """Where path i first leaves the lane; NaN if it does not."""
    x_was, y_was = laydown, 0.0
    if x_was < EDGE_LOW_BOARD or x_was > EDGE_HIGH_BOARD:
        return 0.0
    for n in range(STEPS + 1):
        x, y = kept_board(history, laydown, n, i), middle_ft(n)
        if x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD:
            edge = EDGE_LOW_BOARD if x < EDGE_LOW_BOARD else EDGE_HIGH_BOARD
            return y_was + (edge - x_was) / (x - x_was) * (y - y_was)
        x_was, y_was = x, y
    return np.nan


@kernel
def least_board(history: Float32Array, laydown: float, outward: int, i: int) -> tuple[float, float]:
    """Least board of path i and where it is [ft]: it turns within step `outward`."""
    end = last_board(history, i)
    n = min(outward, STEPS - 1)
    x, y = kept_board(history, laydown, n, i), middle_ft(n)
    gap, gap_on = y - middle_ft(n - 1), middle_ft(n + 1) - y
    slope = (x - kept_board(history, laydown, n - 1, i)) / gap
    slope_on = (kept_board(history, laydown, n + 1, i) - x) / gap_on
    if outward >= STEPS or (outward == 0 and slope >= 0.0):
        return (end, 60.0) if end < laydown else (laydown, 0.0)
    if slope_on <= slope:
        return x, y  # so nearly straight that rounding hides the turn
    bend = 2.0 * (slope_on - slope) / (gap + gap_on)
    here = slope + (slope_on - slope) * gap / (gap + gap_on)
    return x - 0.5 * here * here / bend, y - here / bend


@kernel
def search_lines(
    mu: FloatArray,
    balls: FloatArray,
    lines: FloatArray,
    samples: FloatArray,
    first: int,
    last: int,
    out: Float32Array,
) -> None:
    """Throw every sample down the lines first to last - 1, counted over all maps, a map's lines together.

    out (maps, lines, 2, samples) gets the pocket offset [boards] and the direction [rad] at first contact:
    NaN if there is none, infinite where the float64 march must answer.

    balls (maps, 3): radius [m], k, reach of ball and pin [m]. lines (lines, 2): launch [rad], laydown board.
    samples (maps or 1, samples, 5): speed [m/s], spin along and across [rad/s], what launch [rad] and laydown
    [boards] depart from the line.
    """
    values, slopes = aligned(STEPS * TABLE), aligned(STEPS * TABLE)
    scratch, paths, results = aligned(BLOCKS * PATHS), aligned(IN * PATHS), aligned(OUT * PATHS)
    again, again_out, lanes = aligned(IN * PATHS), aligned(OUT * PATHS), np.empty(PATHS, np.int64)
    none = np.empty(0, np.float32)
    count = samples.shape[1]
    there = -1
    for unit in range(first, last):
        place, line = unit // lines.shape[0], unit % lines.shape[0]
        if place != there:
            there = place
            rows_of(mu[place], values, slopes)
        radius, k, reach = balls[place, 0], balls[place, 1], balls[place, 2]
        throws = samples[place if samples.shape[0] > 1 else 0]
        for start in range(0, count, PATHS):
            size = min(PATHS, count - start)
            for i in range(PATHS):
                sample = start + min(i, size - 1)  # lanes left over throw the last sample once more
                paths[i] = throws[sample, 0]
                paths[PATHS + i] = throws[sample, 1] * radius
                paths[2 * PATHS + i] = throws[sample, 2] * radius
                paths[3 * PATHS + i] = lines[line, 0] + throws[sample, 3]
                paths[4 * PATHS + i] = lines[line, 1] + throws[sample, 4]
                paths[5 * PATHS + i] = k
            narrow = starts_near(paths, size)
            run(values, slopes, paths, size, reach, narrow, scratch, results, none, none, none)
            # A path in the near gutter has no contact, whatever friction it met there.
            strays = strayed(scratch, size, -np.inf, lanes) if narrow else 0
            if strays > 0:
                gather(paths, IN, lanes, strays, again)
                run(values, slopes, again, strays, reach, False, scratch, again_out, none, none, none)
                scatter(again_out, OUT, lanes, strays, results)
            for i in range(size):
                offset = np.float32(HEAD_PIN_BOARD) - results[2 * PATHS + i]
                out[place, line, 0, start + i] = np.inf if np.isnan(results[i]) else offset
                out[place, line, 1, start + i] = results[3 * PATHS + i]
