"""Kernels of the reference problem: one accurate march with full output, and one fast march for many paths.

Frame: y down-lane [ft], x own-side board, positive x velocity away from the own gutter; velocities in m/s.
For an isotropic ball the slip direction never turns, so the velocity is v = v_roll + g * U with U the slip
speed, v_roll the velocity once rolling and g = slip direction * k / (1 + k). Along y:

    dU/dy = -(1 + 1/k) mu g0 / vy,   dx/dy = vx / vy,   dt/dy = 1 / vy.
"""

from __future__ import annotations

import math

import numpy as np

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.units import BOARD_M, EDGE_HIGH_BOARD, EDGE_LOW_BOARD, FOOT_M, GRAVITY_MPS2, HEAD_PIN_BOARD

SLOPE = FOOT_M / BOARD_M  # metres per metre -> boards per foot
TWO_PI = 2.0 * math.pi
LAST_FT = 60.0
NO_SLIP_MPS = 1e-12
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

    facts: roll start ft, gutter ft, contact board, contact direction [rad], contact y, breakpoint board, its
    y. Rolling that begins inside a step is found by integrating that piece with U as the variable, down to U
    = 0.
    """
    n = rows.shape[0]
    h = LAST_FT / (n - 1) / substeps
    rate = (1.0 + 1.0 / k) * GRAVITY_MPS2
    slip, ry, rx, gy, gx = state[0], state[1], state[2], state[3], state[4]
    sy, sx = state[5], state[6]
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
    total = (n - 1) * substeps
    for step in range(total):
        y = LAST_FT * step / total
        y_prev, x_prev, slip_prev = y, x, slip
        left = h
        while left > 0.0:
            if slip <= 0.0:
                x += left * rx / ry * SLOPE
                t += left * FOOT_M / ry
                pz = math.sqrt(ry * ry + rx * rx) / radius_m
                turns += left * FOOT_M / ry * math.sqrt(pz * pz + spin_z * spin_z) / TWO_PI
                left = 0.0
                break
            u, xa, ya = slip, x, y
            du = 0.0
            dx = 0.0
            dt = 0.0
            dn = 0.0
            ks, kx = 0.0, 0.0
            for stage in range(4):
                if stage == 0:
                    us, xs, ys, w = u, xa, ya, 1.0
                elif stage == 3:
                    us, xs, ys, w = u + left * ks, xa + left * kx, ya + left, 1.0
                else:
                    us, xs, ys, w = u + 0.5 * left * ks, xa + 0.5 * left * kx, ya + 0.5 * left, 2.0
                uc = max(us, 0.0)
                vy, vx = ry + gy * uc, rx + gx * uc
                ks = -rate * bilinear(mu, ys, xs) * FOOT_M / vy
                kx = vx / vy * SLOPE
                py, px = vy - sy * uc, vx - sx * uc
                spin = math.sqrt((py * py + px * px) / (radius_m * radius_m) + spin_z * spin_z)
                du += w * ks
                dx += w * kx
                dt += w * FOOT_M / vy
                dn += w * FOOT_M / vy * spin / TWO_PI
            u_new = u + left * du / 6.0
            if u_new > 0.0:
                slip = u_new
                x = xa + left * dx / 6.0
                t += left * dt / 6.0
                turns += left * dn / 6.0
                left = 0.0
                break
            # The ball starts to roll within this step. With U as the variable every derivative is regular.
            pieces = 8
            hu = -u / pieces
            yb, xb, tb, nb = ya, xa, 0.0, 0.0
            regular = True
            for piece in range(pieces):
                ub = u + piece * hu
                k_y, k_x = 0.0, 0.0
                ey, ex, et, en = 0.0, 0.0, 0.0, 0.0
                for stage in range(4):
                    if stage == 0:
                        us, ys, xs, w = ub, yb, xb, 1.0
                    elif stage == 3:
                        us, ys, xs, w = ub + hu, yb + hu * k_y, xb + hu * k_x, 1.0
                    else:
                        us, ys, xs, w = ub + 0.5 * hu, yb + 0.5 * hu * k_y, xb + 0.5 * hu * k_x, 2.0
                    uc = max(us, 0.0)
                    m = bilinear(mu, ys, xs)
                    if m <= 1e-9:
                        regular = False
                        m = 1.0
                    vy, vx = ry + gy * uc, rx + gx * uc
                    k_t = -1.0 / (rate * m)
                    k_y = k_t * vy / FOOT_M
                    k_x = k_t * vx / BOARD_M
                    py, px = vy - sy * uc, vx - sx * uc
                    spin = math.sqrt((py * py + px * px) / (radius_m * radius_m) + spin_z * spin_z)
                    ey += w * k_y
                    ex += w * k_x
                    et += w * k_t
                    en += w * k_t * spin / TWO_PI
                yb += hu * ey / 6.0
                xb += hu * ex / 6.0
                tb += hu * et / 6.0
                nb += hu * en / 6.0
            if regular and yb - ya <= left * 1.001:
                used = min(yb - ya, left)
                x, t, turns = xb, t + tb, turns + nb
            else:
                # Friction vanishes where the slip does: take the RK4 step's own slopes up to the crossing.
                used = left * u / (u - u_new)
                x, t, turns = xa + used * dx / 6.0, t + used * dt / 6.0, turns + used * dn / 6.0
            slip = 0.0
            facts[0] = ya + used
            y = ya + used
            left -= used
        y_now = LAST_FT * (step + 1) / total
        if x < best_x:
            best_x, best_y = x, y_now
            vx0, vx1 = rx + gx * slip_prev, rx + gx * slip
            if vx0 < 0.0 < vx1:
                f = vx0 / (vx0 - vx1)
                best_y = y_prev + f * (y_now - y_prev)
                best_x = min(x, x_prev + 0.5 * f * h * vx0 / (ry + gy * slip_prev) * SLOPE)
        elif best_y == y_prev and rx + gx * slip_prev < 0.0:
            vx0, vx1 = rx + gx * slip_prev, rx + gx * slip
            if vx1 > 0.0:
                f = vx0 / (vx0 - vx1)
                best_y = y_prev + f * (y_now - y_prev)
                best_x = x_prev + 0.5 * f * h * vx0 / (ry + gy * slip_prev) * SLOPE
        if math.isnan(facts[1]) and (x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD):
            edge = EDGE_LOW_BOARD if x < EDGE_LOW_BOARD else EDGE_HIGH_BOARD
            facts[1] = y_prev + (edge - x_prev) / (x - x_prev) * (y_now - y_prev)
        if math.isnan(facts[4]) and math.isnan(facts[1]) and y_now > CONTACT_FROM_FT:
            f = contact_fraction(y_prev, x_prev, y_now, x, reach)
            if f >= 0.0:
                uc = slip_prev + f * (slip - slip_prev)
                facts[2] = x_prev + f * (x - x_prev)
                facts[3] = math.atan2(rx + gx * uc, ry + gy * uc)
                facts[4] = y_prev + f * (y_now - y_prev)
        if (step + 1) % substeps == 0:
            row = (step + 1) // substeps
            rows[row, 0], rows[row, 1] = y_now, x
            rows[row, 2], rows[row, 3] = ry + gy * slip, rx + gx * slip
            rows[row, 4], rows[row, 5], rows[row, 6] = t, turns, slip
    if math.isnan(facts[4]) and math.isnan(facts[1]):
        vy, vx = ry + gy * slip, rx + gx * slip
        far = x + (CONTACT_TO_FT - LAST_FT) * vx / vy * SLOPE
        f = contact_fraction(LAST_FT, x, CONTACT_TO_FT, far, reach)
        if f >= 0.0:
            facts[2] = x + f * (far - x)
            facts[3] = math.atan2(vx, vy)
            facts[4] = LAST_FT + f * (CONTACT_TO_FT - LAST_FT)
    facts[5], facts[6] = best_x, best_y


@kernel
def march_many(
    mu: FloatArray,
    mu_index: FloatArray,
    inputs: FloatArray,
    reach_m: float,
    radius_m: float,
    per_foot: int,
    out: FloatArray,
    tracks: FloatArray,
) -> None:
    """Midpoint march of many paths; mu (m, 61, 39), mu_index (n,) integers, inputs (n, 7), out (n, 9).

    inputs: speed m/s, surface speed m/s, rotation, tilt, launch [rad], laydown board, k.
    out: board at 60 ft, direction there [rad], speed there, roll start ft, contact board, contact direction,
    gutter ft, breakpoint board, breakpoint ft; NaN where there is none. tracks (n or 0, 61) gets boards by
    foot.
    """
    state = np.zeros(7)
    steps = 60 * per_foot
    h = 1.0 / per_foot
    keep_tracks = tracks.shape[0] > 0
    for p in range(inputs.shape[0]):
        m = mu[int(mu_index[p])]
        k = inputs[p, 6]
        launch_state(inputs[p, 0], inputs[p, 1], inputs[p, 2], inputs[p, 3], inputs[p, 4], k, state)
        slip, ry, rx, gy, gx = state[0], state[1], state[2], state[3], state[4]
        rate = (1.0 + 1.0 / k) * GRAVITY_MPS2
        x = inputs[p, 5]
        roll, gutter, c_board, c_dir = np.nan, np.nan, np.nan, np.nan
        if slip == 0.0:
            roll = 0.0
        if x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD:
            gutter = 0.0
        best_x, best_y = x, 0.0
        if keep_tracks:
            tracks[p, 0] = x
        for step in range(steps):
            y = step * h
            x_prev, slip_prev = x, slip
            if slip <= 0.0:
                x += h * rx / ry * SLOPE
            else:
                vy = ry + gy * slip
                s0 = (rx + gx * slip) / vy * SLOPE
                d0 = -rate * bilinear(m, y, x) * FOOT_M / vy
                u_mid = max(slip + 0.5 * h * d0, 0.0)
                vy = ry + gy * u_mid
                s_mid = (rx + gx * u_mid) / vy * SLOPE
                d_mid = -rate * bilinear(m, y + 0.5 * h, x + 0.5 * h * s0) * FOOT_M / vy
                u_new = slip + h * d_mid
                if u_new > 0.0:
                    slip = u_new
                    x += h * s_mid
                else:
                    # Rolling begins inside the step: midpoint in U for the sliding piece, then a straight
                    # line.
                    vy = ry + gy * 0.5 * slip
                    s_mid = (rx + gx * 0.5 * slip) / vy * SLOPE
                    piece = h * slip / (slip - u_new)
                    for _ in range(2):
                        a = rate * bilinear(m, y + 0.5 * piece, x + 0.5 * piece * s_mid)
                        if a > 0.0:
                            piece = min(vy * slip / a / FOOT_M, h)
                    x += piece * s_mid + (h - piece) * rx / ry * SLOPE
                    roll = y + piece
                    slip = 0.0
            y_now = (step + 1) * h
            vx0 = rx + gx * slip_prev
            vx1 = rx + gx * slip
            if vx0 < 0.0 < vx1:
                f = vx0 / (vx0 - vx1)
                turn = x_prev + 0.5 * f * h * vx0 / (ry + gy * slip_prev) * SLOPE
                if turn < best_x:
                    best_x, best_y = turn, y + f * h
            elif x < best_x:
                best_x, best_y = x, y_now
            if math.isnan(gutter) and (x < EDGE_LOW_BOARD or x > EDGE_HIGH_BOARD):
                edge = EDGE_LOW_BOARD if x < EDGE_LOW_BOARD else EDGE_HIGH_BOARD
                gutter = y + (edge - x_prev) / (x - x_prev) * h
            if math.isnan(c_board) and math.isnan(gutter) and y_now > CONTACT_FROM_FT:
                f = contact_fraction(y, x_prev, y_now, x, reach_m)
                if f >= 0.0:
                    uc = slip_prev + f * (slip - slip_prev)
                    c_board = x_prev + f * (x - x_prev)
                    c_dir = math.atan2(rx + gx * uc, ry + gy * uc)
            if keep_tracks and (step + 1) % per_foot == 0:
                tracks[p, (step + 1) // per_foot] = x if math.isnan(gutter) else np.nan
        vy, vx = ry + gy * slip, rx + gx * slip
        if math.isnan(c_board) and math.isnan(gutter):
            far = x + (CONTACT_TO_FT - LAST_FT) * vx / vy * SLOPE
            f = contact_fraction(LAST_FT, x, CONTACT_TO_FT, far, reach_m)
            if f >= 0.0:
                c_board = x + f * (far - x)
                c_dir = math.atan2(vx, vy)
        out[p, 0] = x
        out[p, 1] = math.atan2(vx, vy)
        out[p, 2] = math.sqrt(vx * vx + vy * vy)
        out[p, 3] = roll
        out[p, 4] = c_board
        out[p, 5] = c_dir
        out[p, 6] = gutter
        out[p, 7] = best_x
        out[p, 8] = best_y
