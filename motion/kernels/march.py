"""Kernels of the reference problem: one accurate march with full output, and one fast march for many paths.

Frame: y down-lane [ft], x own-side board, positive x velocity away from the own gutter; velocities in m/s.
For an isotropic ball the slip direction never turns, so the velocity is v = v_roll + g * U with U the slip
speed, v_roll the velocity once rolling and g = slip direction * k / (1 + k). Along y:

    dU/dy = -(1 + 1/k) mu g0 / vy,   dx/dy = vx / vy,   dt/dy = 1 / vy.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.units import BOARD_M, EDGE_HIGH_BOARD, EDGE_LOW_BOARD, FOOT_M, GRAVITY_MPS2, HEAD_PIN_BOARD

SLOPE = FOOT_M / BOARD_M  # metres per metre -> boards per foot
TWO_PI = 2.0 * math.pi
LAST_FT = 60.0
NO_SLIP_MPS = 1e-12
NO_FRICTION = 1e-9
ROLLING_PIECES = 8
CONTACT_FROM_FT = 59.0  # the pin's reach is 0.56 ft, so nothing touches it earlier
CONTACT_TO_FT = 60.25


@kernel
def bilinear(mu: FloatArray, y: float, x: float) -> float:
    """Friction at y [ft] and board x: bilinear between nodes, constant beyond the outermost."""
    yy = min(max(y, 0.0), 60.0)
    xx = min(max(x - 1.0, 0.0), 38.0)
    i = min(int(yy), 59)
    j = min(int(xx), 37)
    fy = yy - i
    fx = xx - j
    near = mu[i, j] * (1.0 - fx) + mu[i, j + 1] * fx
    far = mu[i + 1, j] * (1.0 - fx) + mu[i + 1, j + 1] * fx
    value: float = near * (1.0 - fy) + far * fy
    return value


@kernel
def launch_state(
    speed_mps: float,
    surface_mps: float,
    rotation: float,
    tilt: float,
    launch: float,
    k: float,
    out: FloatArray,
) -> None:
    """Fill out with U0, v_roll (y, x), g (y, x), slip direction (y, x) for angles in radians."""
    ca, sa = math.cos(launch), math.sin(launch)
    forward = surface_mps * math.cos(tilt) * math.cos(rotation)
    side = surface_mps * math.cos(tilt) * math.sin(rotation)
    # Rotation is measured from the direction of travel, so the spin turns with the launch line.
    py = forward * ca + side * sa
    px = -forward * sa + side * ca
    vy = speed_mps * ca
    vx = -speed_mps * sa
    uy, ux = vy - py, vx - px
    slip = math.sqrt(uy * uy + ux * ux)
    out[0] = slip
    out[1] = (vy + k * py) / (1.0 + k)
    out[2] = (vx + k * px) / (1.0 + k)
    if slip > NO_SLIP_MPS:
        out[5], out[6] = uy / slip, ux / slip
    else:
        out[0], out[5], out[6] = 0.0, 0.0, 0.0
    out[3] = out[5] * k / (1.0 + k)
    out[4] = out[6] * k / (1.0 + k)


@kernel
def contact_fraction(y0: float, x0: float, y1: float, x1: float, reach_m: float) -> float:
    """Fraction of a straight segment (ft, boards) at which the ball first touches the head pin; -1 if it does
    not."""
    ay, ax = (y0 - LAST_FT) * FOOT_M, (x0 - HEAD_PIN_BOARD) * BOARD_M
    dy, dx = (y1 - y0) * FOOT_M, (x1 - x0) * BOARD_M
    a = dy * dy + dx * dx
    b = ay * dy + ax * dx
    c = ay * ay + ax * ax - reach_m * reach_m
    if c <= 0.0:
        return 0.0
    disc = b * b - a * c
    if disc < 0.0 or b >= 0.0:
        return -1.0
    s = c / (-b + math.sqrt(disc))
    return s if s <= 1.0 else -1.0


@kernel
def slopes(
    mu: FloatArray, state: FloatArray, ball: FloatArray, y: float, x: float, slip: float
) -> tuple[float, float, float, float]:
    """dU/dy [m/s per ft], dx/dy [boards per ft], dt/dy [s per ft] and turns per ft at a place and slip speed.

    state as `launch_state` fills it; ball: (1 + 1/k) g, radius [m], spin about the vertical [rad/s].
    """
    slip = max(slip, 0.0)
    vy, vx = state[1] + state[3] * slip, state[2] + state[4] * slip
    py, px = vy - state[5] * slip, vx - state[6] * slip
    spin = math.sqrt((py * py + px * px) / (ball[1] * ball[1]) + ball[2] * ball[2])
    dt = FOOT_M / vy
    return -ball[0] * bilinear(mu, y, x) * dt, vx / vy * SLOPE, dt, dt * spin / TWO_PI


@kernel
def slide(
    mu: FloatArray, state: FloatArray, ball: FloatArray, y: float, x: float, slip: float, h: float
) -> tuple[float, float, float, float]:
    """One RK4 step of h [ft] along the lane: changes of slip, board, time and turns."""
    a0, a1, a2, a3 = slopes(mu, state, ball, y, x, slip)
    b0, b1, b2, b3 = slopes(mu, state, ball, y + 0.5 * h, x + 0.5 * h * a1, slip + 0.5 * h * a0)
    c0, c1, c2, c3 = slopes(mu, state, ball, y + 0.5 * h, x + 0.5 * h * b1, slip + 0.5 * h * b0)
    d0, d1, d2, d3 = slopes(mu, state, ball, y + h, x + h * c1, slip + h * c0)
    w = h / 6.0
    return (
        w * (a0 + 2.0 * b0 + 2.0 * c0 + d0),
        w * (a1 + 2.0 * b1 + 2.0 * c1 + d1),
        w * (a2 + 2.0 * b2 + 2.0 * c2 + d2),
        w * (a3 + 2.0 * b3 + 2.0 * c3 + d3),
    )


@kernel
def slopes_by_slip(
    mu: FloatArray, state: FloatArray, ball: FloatArray, y: float, x: float, slip: float
) -> tuple[float, float, float, float]:
    """dy/dU, dx/dU, dt/dU and turns by U; all NaN where there is no friction, as nothing changes U there."""
    d_slip, d_board, d_time, d_turns = slopes(mu, state, ball, y, x, slip)
    if bilinear(mu, y, x) <= NO_FRICTION:
        return np.nan, np.nan, np.nan, np.nan
    return 1.0 / d_slip, d_board / d_slip, d_time / d_slip, d_turns / d_slip


@kernel
def slide_to_rolling(
    mu: FloatArray, state: FloatArray, ball: FloatArray, y: float, x: float, slip: float
) -> tuple[float, float, float, float]:
    """From a small slip down to none by RK4 with U as the variable, in which every derivative is regular.

    Changes of y [ft], board, time and turns; NaN where friction vanishes on the way.
    """
    h = -slip / ROLLING_PIECES
    dy, dx, dt, dn = 0.0, 0.0, 0.0, 0.0
    for piece in range(ROLLING_PIECES):
        u, yb, xb = slip + piece * h, y + dy, x + dx
        a0, a1, a2, a3 = slopes_by_slip(mu, state, ball, yb, xb, u)
        b0, b1, b2, b3 = slopes_by_slip(mu, state, ball, yb + 0.5 * h * a0, xb + 0.5 * h * a1, u + 0.5 * h)
        c0, c1, c2, c3 = slopes_by_slip(mu, state, ball, yb + 0.5 * h * b0, xb + 0.5 * h * b1, u + 0.5 * h)
        d0, d1, d2, d3 = slopes_by_slip(mu, state, ball, yb + h * c0, xb + h * c1, u + h)
        w = h / 6.0
        dy += w * (a0 + 2.0 * b0 + 2.0 * c0 + d0)
        dx += w * (a1 + 2.0 * b1 + 2.0 * c1 + d1)
        dt += w * (a2 + 2.0 * b2 + 2.0 * c2 + d2)
        dn += w * (a3 + 2.0 * b3 + 2.0 * c3 + d3)
    return dy, dx, dt, dn


@kernel
def turning_point(
    state: FloatArray, x: float, slip_before: float, slip: float, h: float
) -> tuple[float, float]:
    """Where within a step of h [ft] from board x the ball stops going outwards: share of the step and board.

    The share is -1 where it does not turn within the step.
    """
    before, after = state[2] + state[4] * slip_before, state[2] + state[4] * slip
    if not before < 0.0 < after:
        return -1.0, x
    share = before / (before - after)
    return share, x + 0.5 * share * h * before / (state[1] + state[3] * slip_before) * SLOPE


@kernel
def reference_march(
    mu: FloatArray,
    state: FloatArray,
    k: float,
    spin_z: float,
    radius_m: float,
    x_start: float,
    substeps: int,
    rows: FloatArray,
    facts: FloatArray,
) -> None:
    """RK4 in y; rows (n, 7) get y, x, vy, vx, t, turns, U at even distances; facts get the events.

    state: as `launch_state` fills it. facts: in, the reach of ball and pin [m]; out, roll start ft, gutter
    ft, contact board, contact direction [rad], contact y, breakpoint board, its y.
    """
    n = rows.shape[0]
    h = LAST_FT / (n - 1) / substeps
    ball = np.array([(1.0 + 1.0 / k) * GRAVITY_MPS2, radius_m, spin_z])
    slip, ry, rx, gy, gx = state[0], state[1], state[2], state[3], state[4]
    reach = facts[0]
    facts[:] = np.nan
    x, t, turns = x_start, 0.0, 0.0
    best_x, best_y = x, 0.0
    if slip == 0.0:
        facts[0] = 0.0
    if x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD:
        facts[1] = 0.0
    rows[0, 0], rows[0, 1], rows[0, 2], rows[0, 3] = 0.0, x, ry + gy * slip, rx + gx * slip
    rows[0, 4], rows[0, 5], rows[0, 6] = 0.0, 0.0, slip
    rolling_turns = math.sqrt((ry * ry + rx * rx) / (radius_m * radius_m) + spin_z * spin_z) / TWO_PI
    total = (n - 1) * substeps
    for step in range(total):
        y_prev, x_prev, slip_prev = LAST_FT * step / total, x, slip
        rolled = h  # feet of this step that the ball rolls
        if slip > 0.0:
            du, dx, dt, dn = slide(mu, state, ball, y_prev, x, slip, h)
            if slip + du > 0.0:
                rolled = 0.0
                slip += du
            else:
                used, bx, bt, bn = slide_to_rolling(mu, state, ball, y_prev, x, slip)
                if used <= h * 1.001:
                    used = min(used, h)
                    dx, dt, dn = bx, bt, bn
                else:
                    # Friction vanishes where the slip does: take the whole step's slopes up to the crossing.
                    share = slip / -du
                    used, dx, dt, dn = share * h, share * dx, share * dt, share * dn
                rolled = h - used
                facts[0] = y_prev + used
                slip = 0.0
            x, t, turns = x + dx, t + dt, turns + dn
        x += rolled * rx / ry * SLOPE
        t += rolled * FOOT_M / ry
        turns += rolled * FOOT_M / ry * rolling_turns
        y_now = LAST_FT * (step + 1) / total
        share, turn_x = turning_point(state, x_prev, slip_prev, slip, h)
        if share >= 0.0 and turn_x < best_x:
            best_x, best_y = turn_x, y_prev + share * h
        elif x < best_x:
            best_x, best_y = x, y_now
        if math.isnan(facts[1]) and (x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD):
            edge = EDGE_LOW_BOARD if x < EDGE_LOW_BOARD else EDGE_HIGH_BOARD
            facts[1] = y_prev + (edge - x_prev) / (x - x_prev) * (y_now - y_prev)
        if math.isnan(facts[4]) and math.isnan(facts[1]) and y_now > CONTACT_FROM_FT:
            note_contact(state, y_prev, x_prev, slip_prev, y_now, x, slip, reach, facts)
        if (step + 1) % substeps == 0:
            row = (step + 1) // substeps
            rows[row, 0], rows[row, 1] = y_now, x
            rows[row, 2], rows[row, 3] = ry + gy * slip, rx + gx * slip
            rows[row, 4], rows[row, 5], rows[row, 6] = t, turns, slip
    if math.isnan(facts[4]) and math.isnan(facts[1]):
        far = x + (CONTACT_TO_FT - LAST_FT) * (rx + gx * slip) / (ry + gy * slip) * SLOPE
        note_contact(state, LAST_FT, x, slip, CONTACT_TO_FT, far, slip, reach, facts)
    facts[5], facts[6] = best_x, best_y


@kernel
def note_contact(
    state: FloatArray,
    y0: float,
    x0: float,
    slip0: float,
    y1: float,
    x1: float,
    slip1: float,
    reach_m: float,
    facts: FloatArray,
) -> None:
    """Put board, direction and y of a first contact within a straight segment into facts, if there is one."""
    share = contact_fraction(y0, x0, y1, x1, reach_m)
    if share < 0.0:
        return
    slip = slip0 + share * (slip1 - slip0)
    facts[2] = x0 + share * (x1 - x0)
    facts[3] = math.atan2(state[2] + state[4] * slip, state[1] + state[3] * slip)
    facts[4] = y0 + share * (y1 - y0)


@kernel
def march_many(
    mu: FloatArray,
    mu_index: NDArray[np.int64],
    inputs: FloatArray,
    reach_m: float,
    per_foot: int,
    out: FloatArray,
    tracks: FloatArray,
) -> None:
    """Midpoint march of many paths; mu (m, 61, 39), mu_index (n,), inputs (n, 7), out (n, 9).

    inputs: speed m/s, surface speed m/s, rotation, tilt, launch [rad], laydown board, k.
    out: board at 60 ft, direction there [rad], speed there, roll start ft, contact board, contact direction,
    gutter ft, breakpoint board, breakpoint ft; NaN where there is none. tracks (n or 0, 61) gets boards by
    foot.
    """
    state = np.zeros(7)
    facts = np.zeros(5)
    no_track = np.zeros(0)
    keep_tracks = tracks.shape[0] > 0
    for p in range(inputs.shape[0]):
        k = inputs[p, 6]
        launch_state(inputs[p, 0], inputs[p, 1], inputs[p, 2], inputs[p, 3], inputs[p, 4], k, state)
        track = tracks[p] if keep_tracks else no_track
        march_one(mu[mu_index[p]], state, k, inputs[p, 5], reach_m, per_foot, out[p], facts, track)


@kernel
def midpoint(
    mu: FloatArray, state: FloatArray, rate: float, y: float, x: float, slip: float, h: float
) -> tuple[float, float, float]:
    """One midpoint step of h [ft] of a sliding ball: slip and board after it, and where rolling began (NaN
    if it did not)."""
    ry, rx, gy, gx = state[1], state[2], state[3], state[4]
    vy = ry + gy * slip
    s0 = (rx + gx * slip) / vy * SLOPE
    d0 = -rate * bilinear(mu, y, x) * FOOT_M / vy
    u_mid = max(slip + 0.5 * h * d0, 0.0)
    vy = ry + gy * u_mid
    s_mid = (rx + gx * u_mid) / vy * SLOPE
    d_mid = -rate * bilinear(mu, y + 0.5 * h, x + 0.5 * h * s0) * FOOT_M / vy
    u_new = slip + h * d_mid
    if u_new > 0.0:
        return u_new, x + h * s_mid, np.nan
    # Rolling begins inside the step: midpoint in U for the sliding piece, then a straight line.
    vy = ry + gy * 0.5 * slip
    s_mid = (rx + gx * 0.5 * slip) / vy * SLOPE
    piece = h * slip / (slip - u_new)
    for _ in range(2):
        a = rate * bilinear(mu, y + 0.5 * piece, x + 0.5 * piece * s_mid)
        if a > 0.0:
            piece = min(vy * slip / a / FOOT_M, h)
    x += piece * s_mid + (h - piece) * rx / ry * SLOPE
    return 0.0, x, y + piece


@kernel
def march_one(
    mu: FloatArray,
    state: FloatArray,
    k: float,
    x_start: float,
    reach_m: float,
    per_foot: int,
    out: FloatArray,
    facts: FloatArray,
    track: FloatArray,
) -> None:
    """March one path; out (9,) as in `march_many`, facts (5,) is scratch, track (61 or 0,) gets boards."""
    slip, ry, rx, gy, gx = state[0], state[1], state[2], state[3], state[4]
    rate = (1.0 + 1.0 / k) * GRAVITY_MPS2
    h = 1.0 / per_foot
    x = x_start
    facts[:] = np.nan
    roll, gutter = np.nan, np.nan
    if slip == 0.0:
        roll = 0.0
    if x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD:
        gutter = 0.0
    best_x, best_y = x, 0.0
    if track.shape[0] > 0:
        track[0] = x
    for step in range(60 * per_foot):
        y = step * h
        x_prev, slip_prev = x, slip
        if slip <= 0.0:
            x += h * rx / ry * SLOPE
        else:
            slip, x, began = midpoint(mu, state, rate, y, x, slip, h)
            if slip == 0.0:
                roll = began
        y_now = (step + 1) * h
        share, turn_x = turning_point(state, x_prev, slip_prev, slip, h)
        if share >= 0.0:
            if turn_x < best_x:
                best_x, best_y = turn_x, y + share * h
        elif x < best_x:
            best_x, best_y = x, y_now
        if math.isnan(gutter) and (x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD):
            edge = EDGE_LOW_BOARD if x < EDGE_LOW_BOARD else EDGE_HIGH_BOARD
            gutter = y + (edge - x_prev) / (x - x_prev) * h
        if math.isnan(facts[4]) and math.isnan(gutter) and y_now > CONTACT_FROM_FT:
            note_contact(state, y, x_prev, slip_prev, y_now, x, slip, reach_m, facts)
        if track.shape[0] > 0 and (step + 1) % per_foot == 0:
            track[(step + 1) // per_foot] = x if math.isnan(gutter) else np.nan
    vy, vx = ry + gy * slip, rx + gx * slip
    if math.isnan(facts[4]) and math.isnan(gutter):
        far = x + (CONTACT_TO_FT - LAST_FT) * vx / vy * SLOPE
        note_contact(state, LAST_FT, x, slip, CONTACT_TO_FT, far, slip, reach_m, facts)
    out[0] = x
    out[1] = math.atan2(vx, vy)
    out[2] = math.sqrt(vx * vx + vy * vy)
    out[3] = roll
    out[4] = facts[2]
    out[5] = facts[3]
    out[6] = gutter
    out[7] = best_x
    out[8] = best_y
