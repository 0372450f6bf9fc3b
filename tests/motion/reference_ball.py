"""An independent answer to the reference problem: SciPy on the full vector equations, sharing no code with
the engine.

Frame: x down-lane, y away from the own gutter, z up [SI]. State: position (2), velocity (2), angular velocity
(3), turns made. u = v + omega x (-R z); F = -mu m g u/|u|; torque = (-R z) x F; isotropic inertia m RG^2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import RectBivariateSpline

INCH, FOOT, MPH, G = 0.0254, 0.3048, 0.44704, 9.80665
BOARD = 41.5 * INCH / 39.0


@dataclass
class Answer:
    board: float
    angle_deg: float
    speed_mph: float
    time_s: float
    turns: float
    roll_ft: float | None
    momentum_drift: float
    energy_growth: float


def solve(mu, *, speed_mph, rev_rate_rpm, axis_rotation_deg, axis_tilt_deg, launch_deg, laydown_board, rg_in,
          diameter_in, mass=6.8, max_step=0.002) -> Answer:  # fmt: skip
    spline = RectBivariateSpline(np.arange(61.0), np.arange(1.0, 40.0), mu, kx=1, ky=1)
    radius, inertia = diameter_in * INCH / 2.0, mass * (rg_in * INCH) ** 2
    down = np.array([0.0, 0.0, -radius])
    a, phi, tau = np.radians([launch_deg, axis_rotation_deg, axis_tilt_deg])
    travel = np.array([np.cos(a), -np.sin(a), 0.0])
    away = np.array([np.sin(a), np.cos(a), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    rate = rev_rate_rpm * 2.0 * np.pi / 60.0
    # Spin that carries the top of the ball along `pull` turns about up x pull.
    pull = np.cos(phi) * travel + np.sin(phi) * away
    omega = rate * (np.cos(tau) * np.cross(up, pull) + np.sin(tau) * up)
    start = np.array([0.0, laydown_board * BOARD, *(speed_mph * MPH * travel)[:2], *omega, 0.0])

    def slip(s):
        return (np.array([s[2], s[3], 0.0]) + np.cross(s[4:7], down))[:2]

    first = slip(start)
    sliding = np.hypot(*first) > 1e-9

    def rhs(_t, s):
        u = slip(s)
        size = np.hypot(*u)
        board = min(max(s[1] / BOARD, 1.0), 39.0)
        m = spline.ev(min(max(s[0] / FOOT, 0.0), 60.0), board) if size > 0.0 else 0.0
        force = np.zeros(3)
        if size > 0.0:
            force[:2] = -m * mass * G * u / size
        torque = np.cross(down, force)
        return [s[2], s[3], *(force[:2] / mass), *(torque / inertia), np.linalg.norm(s[4:7]) / (2.0 * np.pi)]

    def stops_sliding(_t, s):
        return float(slip(s) @ first)

    def reaches_pins(_t, s):
        return s[0] - 60.0 * FOOT

    for event in (stops_sliding, reaches_pins):
        event.terminal = True
    stops_sliding.direction = -1
    state, time, roll = start, 0.0, 0.0
    energy = []
    spin_momentum = []

    def note(states):
        for s in states.T:
            v = np.array([s[2], s[3], 0.0])
            energy.append(0.5 * mass * v @ v + 0.5 * inertia * s[4:7] @ s[4:7])
            spin_momentum.append(inertia * s[4:7] + mass * radius * np.cross(up, v))

    if sliding:
        run = solve_ivp(rhs, (0.0, 60.0), start, events=(stops_sliding, reaches_pins), max_step=max_step,
                        rtol=1e-9, atol=1e-10)  # fmt: skip
        note(run.y)
        state, time = run.y[:, -1], run.t[-1]
        roll = state[0] / FOOT if run.t_events[0].size else None
    else:
        note(start[:, None])
    left = (60.0 * FOOT - state[0]) / state[2]
    momentum = np.array(spin_momentum)
    return Answer(
        board=(state[1] + left * state[3]) / BOARD,
        angle_deg=float(np.degrees(np.arctan2(state[3], state[2]))),
        speed_mph=float(np.hypot(state[2], state[3]) / MPH),
        time_s=time + left,
        turns=state[7] + left * np.linalg.norm(state[4:7]) / (2.0 * np.pi),
        roll_ft=roll,
        momentum_drift=float(np.abs(momentum - momentum[0]).max() / np.abs(momentum[0]).max()),
        energy_growth=float(np.diff(energy).max() / energy[0]) if len(energy) > 1 else 0.0,
    )
