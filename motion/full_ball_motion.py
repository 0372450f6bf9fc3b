"""The motion of the real ball in stretches: slipping, rolling, and the changes between them.

Equations and conventions: ``full_ball``, which tells the result in people's units. SI units here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from motion import full_ball_kernels as kernels
from motion import units
from motion.cover_state import TABLE_STEP_UM, cover_of, friction_table
from motion.errors import FloatArray, MotionError, number
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS
from motion.inertia import axes_at_release, radii_of_gyration_in
from motion.inputs import LAUNCH_DEG, LAYDOWN_BOARD, BallSpec, ReleaseSpec, lane_map
from motion.parameters import Physics
from motion.path import MU_RANGE

# Slip counts as none below this; a last small impulse, which keeps l + R z x v, takes it away.
NO_SLIP_MPS = 1e-6
# Force a rolling ball may need beyond mu g before slip resumes [m/s2]; half of it is enough for a contact
# just come to rest to slip on, so that rounding cannot make the two take turns in one place.
FORCE_SLACK = 1e-9
MAX_STEP_S = 0.02
# A track crosses the strip an earlier one left in some 10 ms; longer steps could miss it.
MAX_STEP_WITH_COVER_S = 0.003
LONGEST_S = 120.0
MOST_RINGS = 256  # the slowest ball with most revs makes some 150
MOST_STRETCHES = 5000


@dataclass(frozen=True, kw_only=True, eq=False)
class Problem:
    """A ball on a lane in SI units: kk (3,) squares of the radii of gyration [m2], R [m], friction map
    (61, 39); with a cover its film map [um], friction by film and numbers (8,), else empty arrays."""

    kk: FloatArray
    radius_m: float
    mu: FloatArray
    film: FloatArray
    table: FloatArray
    cover: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Stretch:
    """Part of a motion, slipping or rolling throughout: its end times [s] and the state (12,) between."""

    start_s: float
    end_s: float
    rolls: bool
    at: Callable[[Any], FloatArray]


def problem_of(
    mu: FloatArray,
    ball: BallSpec,
    film_um: FloatArray | None,
    physics: Physics = DEFAULT_PHYSICS,
    start_cover_um: float | None = None,
) -> Problem:
    """The ball and lane in SI units, arguments as for `full_ball.solve_full_ball`; raises MotionError."""
    radius_m = units.in_to_m(ball.diameter_in / 2.0)
    cover = cover_of(ball, physics, start_um=start_cover_um)
    return Problem(
        kk=units.in_to_m(radii_of_gyration_in(ball)) ** 2,
        radius_m=radius_m,
        mu=lane_map("mu", mu, *MU_RANGE),
        film=lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
        if film_um is not None
        else np.empty((0, 0)),
        table=np.ones(2) if film_um is None else friction_table(ball, physics),
        cover=cover.numbers(radius_m),
    )


def state_at_release(
    ball: BallSpec, release: ReleaseSpec, *, launch_deg: float, laydown_board: float, phase_deg: float = 0.0
) -> FloatArray:
    """The state (12,) at the foul line, laid out as in ``full_ball_kernels``; raises MotionError."""
    launch = math.radians(number("launch_deg", launch_deg, *LAUNCH_DEG, "degrees"))
    board = number("laydown_board", laydown_board, *LAYDOWN_BOARD, "(board)")
    speed = units.mph_to_mps(release.speed_mph)
    axes = axes_at_release(
        ball,
        launch_deg=launch_deg,
        axis_rotation_deg=release.axis_rotation_deg,
        axis_tilt_deg=release.axis_tilt_deg,
        phase_deg=phase_deg,
    )
    # The spin vector leaves the ball at the PAP, the first column of the hand's frame.
    rotation, tilt = math.radians(release.axis_rotation_deg) - launch, math.radians(release.axis_tilt_deg)
    omega = units.rpm_to_rad_s(release.rev_rate_rpm) * np.array(
        [-math.sin(rotation) * math.cos(tilt), math.cos(rotation) * math.cos(tilt), math.sin(tilt)]
    )
    squares = units.in_to_m(radii_of_gyration_in(ball)) ** 2
    state = np.zeros(12)
    state[1] = units.board_to_m(board)
    state[2], state[3] = speed * math.cos(launch), -speed * math.sin(launch)
    state[4:7] = axes @ (squares * (axes.T @ omega))
    state[7:11] = quaternion(axes)
    return state


def quaternion(turn: FloatArray) -> FloatArray:
    """Unit quaternion (w, x, y, z) of a rotation (3, 3): the eigenvector of Bar-Itzhack (2000), from
    memory."""
    m = turn
    k = np.array(
        [
            [m[0, 0] + m[1, 1] + m[2, 2], m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]],
            [m[2, 1] - m[1, 2], m[0, 0] - m[1, 1] - m[2, 2], m[1, 0] + m[0, 1], m[2, 0] + m[0, 2]],
            [m[0, 2] - m[2, 0], m[1, 0] + m[0, 1], m[1, 1] - m[0, 0] - m[2, 2], m[2, 1] + m[1, 2]],
            [m[1, 0] - m[0, 1], m[2, 0] + m[0, 2], m[2, 1] + m[1, 2], m[2, 2] - m[0, 0] - m[1, 1]],
        ]
    )
    vector: FloatArray = np.linalg.eigh(k)[1][:, -1]
    return vector


class _Motion:
    """The equations of one problem with the rings laid so far, as `solve_ivp` wants them."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.rings = np.zeros((MOST_RINGS, kernels.RING_FIELDS))
        self.n_rings = 0

    def sliding(self, _t: float, s: FloatArray) -> FloatArray:
        p, out = self.problem, np.empty(12)
        kernels.sliding_rates(
            s, p.kk, p.radius_m, p.mu, p.film, p.table, TABLE_STEP_UM, self.rings, self.n_rings, p.cover, out
        )
        return out

    def rolling(self, _t: float, s: FloatArray) -> FloatArray:
        out = np.empty(12)
        kernels.rolling_rates(s, self.problem.kk, self.problem.radius_m, out)
        return out

    def slip(self, s: FloatArray) -> FloatArray:
        return np.array(kernels.slip_of(s, self.problem.kk, self.problem.radius_m))

    def slip_left(self, _t: float, s: FloatArray) -> float:
        return float(np.hypot(*self.slip(s))) - NO_SLIP_MPS

    def force_missing(self, _t: float, s: FloatArray) -> float:
        """What a rolling ball needs beyond the friction there is, and the slack [m/s2]."""
        p = self.problem
        needed = kernels.rolling_force(s, p.kk, p.radius_m, np.empty(5))
        return math.hypot(*needed) - self.friction_mps2(s) - FORCE_SLACK

    def friction_mps2(self, s: FloatArray) -> float:
        p = self.problem
        mu = kernels.friction_now(s, p.mu, p.film, p.table, TABLE_STEP_UM, self.rings, self.n_rings, p.cover)
        return mu * units.GRAVITY_MPS2

    def with_slip(self, s: FloatArray, slip: FloatArray) -> FloatArray:
        """The state after the impulse at the contact that gives it this slip."""
        terms = np.empty(5)
        kernels.rolling_force(s, self.problem.kk, self.problem.radius_m, terms)
        matrix = np.array([[terms[0], terms[1]], [terms[1], terms[2]]])
        push = np.linalg.solve(matrix, slip - self.slip(s))
        after = s.copy()
        after[2:4] += push
        after[4] += self.problem.radius_m * push[1]
        after[5] -= self.problem.radius_m * push[0]
        return after

    def way_it_slips(self, s: FloatArray) -> FloatArray | None:
        """Unit direction in which slip starts from rest, or None if friction holds the contact.

        (lambda + mu g A) u = b with |u| = 1 and lambda > 0 the growth of the slip, du/dt = A f + b.
        """
        if self.force_missing(0.0, s) <= -0.5 * FORCE_SLACK:
            return None
        terms = np.empty(5)
        kernels.rolling_force(s, self.problem.kk, self.problem.radius_m, terms)
        matrix = np.array([[terms[0], terms[1]], [terms[1], terms[2]]])
        matrix *= self.friction_mps2(s)
        b = terms[3:5]

        def direction(growth: float) -> FloatArray:
            return np.asarray(np.linalg.solve(matrix + growth * np.eye(2), b), dtype=np.float64)

        most = float(np.hypot(*b))
        growth = brentq(lambda g: float(np.hypot(*direction(g))) - 1.0, 1e-12 * most, most * (1.0 + 1e-9))
        way = direction(growth)
        return np.asarray(way / float(np.hypot(*way)), dtype=np.float64)


def integrate(
    problem: Problem, start: FloatArray, *, rtol: float, end_ft: float = units.LANE_LENGTH_FT
) -> tuple[list[Stretch], FloatArray]:
    """Integrate from a state (12,) to end_ft [ft]; returns the stretches and the rings (m, 39) laid.

    Raises MotionError for a ball that does not get there.
    """
    motion = _Motion(problem)
    end_m = end_ft * units.FOOT_M
    # Places, velocities, angular momenta, quaternion, turns: sizes of order 1 but for l, of order 0.1.
    atol = rtol * np.array([0.1] * 4 + [0.01] * 3 + [0.1] * 4 + [0.1])
    stretches: list[Stretch] = []
    state, time = start.copy(), 0.0
    rolls = float(np.hypot(*motion.slip(state))) <= NO_SLIP_MPS
    while state[0] < end_m - 1e-12:
        if len(stretches) > MOST_STRETCHES or time > LONGEST_S:
            raise MotionError("path", f"{state[0] / units.FOOT_M:.2f} ft", "the ball must reach the pins")
        if rolls:
            way = motion.way_it_slips(state)
            state = motion.with_slip(state, np.zeros(2) if way is None else 2.0 * NO_SLIP_MPS * way)
            rolls = way is None
        next_turn = math.floor(state[11] + 1e-9) + 1.0

        def at_pins(_t: float, s: FloatArray) -> float:
            return float(s[0]) - end_m

        def turned(_t: float, s: FloatArray, goal: float = next_turn) -> float:
            return float(s[11]) - goal

        def changes(t: float, s: FloatArray, rolling: bool = rolls) -> float:
            return motion.force_missing(t, s) if rolling else motion.slip_left(t, s)

        events: list[Any] = [at_pins, turned, changes]
        for event in events:
            event.terminal, event.direction = True, 1.0
        events[2].direction = 1.0 if rolls else -1.0
        run = solve_ivp(
            motion.rolling if rolls else motion.sliding,
            (time, LONGEST_S + 1.0),
            state,
            method="DOP853",
            rtol=rtol,
            atol=atol,
            max_step=MAX_STEP_WITH_COVER_S if problem.film.shape[0] else MAX_STEP_S,
            dense_output=True,
            events=events,
        )
        if run.status != 1:
            raise MotionError("path", run.message, "the ball must reach the pins")
        stretches.append(Stretch(start_s=time, end_s=float(run.t[-1]), rolls=rolls, at=run.sol))
        state, time = run.y[:, -1].copy(), float(run.t[-1])
        state[7:11] /= np.linalg.norm(state[7:11])
        if run.t_events[1].size and motion.n_rings < motion.rings.shape[0]:
            _lay_ring(motion, stretches, next_turn)
        # A contact at rest is looked at again: it holds, or slips on in another direction.
        rolls = bool(run.t_events[2].size) or rolls
    return stretches, motion.rings[: motion.n_rings]


def _lay_ring(motion: _Motion, stretches: list[Stretch], turn: float) -> None:
    """Add the revolution that ends at `turn` to the rings."""
    track = states_at(stretches, 11, turn - 1.0 + np.arange(kernels.PATCHES + 1) / kernels.PATCHES)
    p = motion.problem
    film = p.film if p.film.shape[0] else np.zeros_like(p.mu)
    kernels.lay_ring(track, p.kk, film, p.cover, motion.rings[motion.n_rings])
    motion.n_rings += 1


def times_at(stretches: list[Stretch], component: int, goals: FloatArray) -> FloatArray:
    """When a component that only grows passes each of the ascending goals (n,) [s]."""
    times = np.empty(len(goals))
    ends = np.array([float(s.at(s.end_s)[component]) for s in stretches])
    for i, goal in enumerate(goals):
        stretch = stretches[min(int(np.searchsorted(ends, goal)), len(stretches) - 1)]
        low, high = stretch.start_s, stretch.end_s
        ahead = float(stretch.at(low)[component]) - goal
        if ahead >= 0.0:
            times[i] = low
        elif float(stretch.at(high)[component]) <= goal:
            times[i] = high
        else:
            times[i] = _passes(stretch, component, goal)
    return times


def _passes(stretch: Stretch, component: int, goal: float) -> float:
    """When within a stretch a component passes the goal [s]."""
    ahead = lambda t: float(stretch.at(t)[component]) - goal  # noqa: E731
    return float(brentq(ahead, stretch.start_s, stretch.end_s, xtol=1e-14))


def states_at(stretches: list[Stretch], component: int, goals: FloatArray) -> FloatArray:
    """States (n, 12) where a component that only grows passes each of the ascending goals (n,)."""
    return states(stretches, times_at(stretches, component, goals))


def states(stretches: list[Stretch], times: FloatArray) -> FloatArray:
    ends = np.array([s.end_s for s in stretches])
    where = np.minimum(np.searchsorted(ends, times), len(stretches) - 1)
    return np.array([stretches[i].at(t) for i, t in zip(where, times, strict=True)])
