"""The real ball, solved with care: three radii of gyration, its layout, and the oil on its cover.

The reference for everything faster. A rigid sphere of radius R on a plane: force f per mass at the contact,
dv/dt = f and dl/dt = (-R z) x f in the lane's frame, omega = K^-1 l with K the squares of the principal radii
of gyration seen from the lane (Euler's equations; standard mechanics). While the contact point slips,
f = -mu g u/|u|. Once it is at rest the ball rolls: f is what keeps it at rest. An anisotropic ball needs such
a force all along, so it does not keep its velocity; where it would need more than mu g, slip resumes in the
one direction in which friction can oppose it.

The motion is integrated by SciPy's `solve_ivp` (DOP853, error control in every component) in stretches that
end where the slip ends or resumes, at every full revolution and at 60 ft. With a film given, the oil of the
cover enters (``cover_state``): a track is on the cover once its revolution is complete.
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
from motion.cover_state import TABLE_STEP_UM, Cover, cover_of, friction_table
from motion.errors import FloatArray, MotionError, number
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS
from motion.inertia import axes_at_release, radii_of_gyration_in
from motion.inputs import LAUNCH_DEG, LAYDOWN_BOARD, BallSpec, ReleaseSpec, lane_map
from motion.parameters import Physics
from motion.path import MU_RANGE, contact_reach_m

OUTPUT_FT = 0.5
# Slip counts as none below this; a last small impulse, which keeps l + R z x v, takes it away.
NO_SLIP_MPS = 1e-6
# Force a rolling ball may need beyond mu g before slip resumes [m/s2]; half of it is enough for a contact
# just come to rest to slip on, so that rounding cannot make the two take turns in one place.
FORCE_SLACK = 1e-9
MAX_STEP_S = 0.02
# A track crosses the strip an earlier one left in some 10 ms; longer steps could miss it.
MAX_STEP_WITH_COVER_S = 0.003
# Error of the board at the default tolerance, without and with oil on the cover.
BOARD_ERROR = 1e-5
BOARD_ERROR_WITH_COVER = 1e-4
LONGEST_S = 120.0
MOST_STRETCHES = 5000


@dataclass(frozen=True, kw_only=True, eq=False)
class Ring:
    """One full revolution's track on the cover.

    points (25, 3): unit vectors to the contact in the body's low, middle and high axes, at even parts of the
    revolution. axis (3,): the spin axis in the body at its start. start_ft: where it begins on the lane.
    parts_in: how far the next track parts from this one where they part most [in] (NaN for the last).
    met_um, left_um (24,): film on each patch before and after the pass [um]; empty without a film.
    """

    points: FloatArray
    axis: FloatArray
    start_ft: float
    parts_in: float
    met_um: FloatArray
    left_um: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class FullPath:
    """One path of the real ball; arrays share their length, an entry every half foot from 0 to 60 ft.

    Conventions as in `motion.path.PathResult`. axis_body (n, 3): the spin axis in the body's low, middle and
    high axes (axis migration). rolling: stretches rolled as pairs of feet. invariant (n, 3) [m2/s]:
    l + R z x v, which friction at the contact leaves alone. energy (n,) [m2/s2] per mass. worst_creep_mps:
    largest slip while rolling. flare_in: sum of what successive tracks part [in].
    """

    y_ft: FloatArray
    board: FloatArray
    speed_mph: FloatArray
    direction_deg: FloatArray
    time_s: FloatArray
    slip_mph: FloatArray
    axis_body: FloatArray
    invariant: FloatArray
    energy: FloatArray
    board_at_60: float
    entry_angle_deg: float
    speed_at_60_mph: float
    roll_start_ft: float | None
    rolling: tuple[tuple[float, float], ...]
    worst_creep_mps: float
    time_s_total: float
    revolutions: float
    gutter_ft: float | None
    contact_board: float | None
    contact_angle_deg: float | None
    contact_offset_boards: float | None
    breakpoint_board: float
    breakpoint_ft: float
    rings: tuple[Ring, ...]
    flare_in: float
    cover_left_um: float | None


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


def solve_full_ball(
    mu: FloatArray,
    ball: BallSpec,
    release: ReleaseSpec,
    *,
    launch_deg: float,
    laydown_board: float,
    film_um: FloatArray | None = None,
    physics: Physics = DEFAULT_PHYSICS,
    start_cover_um: float | None = None,
    phase_deg: float = 0.0,
    rtol: float = 1e-10,
) -> FullPath:
    """Solve the path of a real ball, with its layout and, given a film, the oil on its cover.

    mu: (61, 39) friction, own-side, as for `motion.path.solve_path`; launch_deg [deg] and laydown_board as
    there. ball, release: radii of gyration, layout, surface; speed, revs, rotation, tilt.
    film_um: (61, 39) film [um] the friction map was made from; None leaves the cover's oil out.
    start_cover_um [um]: film on the cover before the shot (None: neutral, wiped). phase_deg [deg]: turn of
    the ball about its axis at release beyond the convention of ``inertia``.
    rtol: relative tolerance; absolute ones are a tenth of it in SI units. 1e-10 keeps the board within
    BOARD_ERROR, with a film within BOARD_ERROR_WITH_COVER.

    Raises MotionError. Equations and sources: module docstring.
    """
    problem = problem_of(mu, ball, film_um, physics, start_cover_um)
    start = state_at_release(
        ball, release, launch_deg=launch_deg, laydown_board=laydown_board, phase_deg=phase_deg
    )
    stretches, rings = integrate(problem, start, rtol=number("rtol", rtol, 1e-13, 1e-3))
    return _told(problem, stretches, rings, contact_reach_m(ball.diameter_in))


def problem_of(
    mu: FloatArray,
    ball: BallSpec,
    film_um: FloatArray | None,
    physics: Physics = DEFAULT_PHYSICS,
    start_cover_um: float | None = None,
) -> Problem:
    """The ball and lane in SI units, arguments as for `solve_full_ball`; raises MotionError."""
    radius_m = units.in_to_m(ball.diameter_in / 2.0)
    cover: Cover = cover_of(ball, physics, start_um=start_cover_um)
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
    state[7:11] = _quaternion(axes)
    return state


def _quaternion(turn: FloatArray) -> FloatArray:
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
        self.rings = np.zeros((64, kernels.RING_FIELDS))
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
    track = _states_at(stretches, 11, turn - 1.0 + np.arange(kernels.PATCHES + 1) / kernels.PATCHES)
    p = motion.problem
    film = p.film if p.film.shape[0] else np.zeros_like(p.mu)
    kernels.lay_ring(track, p.kk, film, p.cover, motion.rings[motion.n_rings])
    motion.n_rings += 1


def _times_at(stretches: list[Stretch], component: int, goals: FloatArray) -> FloatArray:
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


def _states_at(stretches: list[Stretch], component: int, goals: FloatArray) -> FloatArray:
    """States (n, 12) where a component that only grows passes each of the ascending goals (n,)."""
    return _states(stretches, _times_at(stretches, component, goals))


def _states(stretches: list[Stretch], times: FloatArray) -> FloatArray:
    ends = np.array([s.end_s for s in stretches])
    where = np.minimum(np.searchsorted(ends, times), len(stretches) - 1)
    return np.array([stretches[i].at(t) for i, t in zip(where, times, strict=True)])


def _told(problem: Problem, stretches: list[Stretch], rings: FloatArray, reach_m: float) -> FullPath:
    """What the integrated motion says, in the units of people."""
    y_ft = np.arange(0.0, units.LANE_LENGTH_FT + OUTPUT_FT / 2.0, OUTPUT_FT)
    times = _times_at(stretches, 0, y_ft * units.FOOT_M)
    states = _states(stretches, times)
    turns = np.empty((len(y_ft), 3, 3))
    inverse = np.empty((3, 3))
    omega = np.empty((len(y_ft), 3))
    for i, s in enumerate(states):
        kernels.body_to_lane(s, turns[i])
        kernels.inverse_inertia(turns[i], problem.kk, inverse)
        omega[i] = kernels.spin(s, inverse)
    slip = np.array([kernels.slip_of(s, problem.kk, problem.radius_m) for s in states])
    board = states[:, 1] / units.BOARD_M + 0.5
    velocity = states[:, 2:4]
    speed = units.mps_to_mph(np.hypot(velocity[:, 0], velocity[:, 1]))
    direction = np.degrees(np.arctan2(velocity[:, 1], velocity[:, 0]))
    size = np.linalg.norm(omega, axis=1)
    axis = np.einsum("nij,ni->nj", turns, omega) / np.where(size > 0.0, size, 1.0)[:, None]
    # l + R z x v: z x v = (-vy, vx, 0).
    invariant = states[:, 4:7].copy()
    invariant[:, 0] -= problem.radius_m * velocity[:, 1]
    invariant[:, 1] += problem.radius_m * velocity[:, 0]
    energy = 0.5 * (velocity**2).sum(axis=1) + 0.5 * (omega * states[:, 4:7]).sum(axis=1)
    rolling = _rolling(stretches)
    gutter = _gutter(stretches, y_ft, board, times)
    contact = None if gutter is not None else _contact(stretches, times, reach_m)
    low_at = _lowest(stretches, board, times)
    told_rings = _rings(problem, stretches, rings)
    parts = np.array([ring.parts_in for ring in told_rings])
    return FullPath(
        y_ft=y_ft,
        board=board,
        speed_mph=speed,
        direction_deg=direction,
        time_s=times,
        slip_mph=units.mps_to_mph(np.hypot(slip[:, 0], slip[:, 1])),
        axis_body=axis,
        invariant=invariant,
        energy=energy,
        board_at_60=float(board[-1]),
        entry_angle_deg=float(direction[-1]),
        speed_at_60_mph=float(speed[-1]),
        roll_start_ft=rolling[0][0] if rolling else None,
        rolling=rolling,
        worst_creep_mps=_worst_creep(problem, stretches),
        time_s_total=float(times[-1]),
        revolutions=float(states[-1, 11]),
        gutter_ft=gutter,
        contact_board=None if contact is None else contact[0],
        contact_angle_deg=None if contact is None else contact[1],
        contact_offset_boards=None if contact is None else units.HEAD_PIN_BOARD - contact[0],
        breakpoint_board=low_at[0],
        breakpoint_ft=low_at[1],
        rings=told_rings,
        flare_in=float(np.nansum(parts)),
        cover_left_um=_cover_left(problem, told_rings),
    )


def _rolling(stretches: list[Stretch]) -> tuple[tuple[float, float], ...]:
    """Stretches rolled, as pairs of feet, those that follow each other joined."""
    pairs: list[tuple[float, float]] = []
    for s in stretches:
        if not s.rolls or s.end_s <= s.start_s:
            continue
        start, end = (float(s.at(t)[0]) / units.FOOT_M for t in (s.start_s, s.end_s))
        if pairs and start - pairs[-1][1] < 1e-9:
            pairs[-1] = (pairs[-1][0], end)
        else:
            pairs.append((start, end))
    return tuple(pairs)


def _worst_creep(problem: Problem, stretches: list[Stretch]) -> float:
    slips = [
        math.hypot(*kernels.slip_of(s.at(t), problem.kk, problem.radius_m))
        for s in stretches
        if s.rolls
        for t in (s.start_s, s.end_s)
    ]
    return max(slips, default=0.0)


def _board(state: FloatArray) -> float:
    return float(state[1]) / units.BOARD_M + 0.5


def _gutter(stretches: list[Stretch], y_ft: FloatArray, board: FloatArray, times: FloatArray) -> float | None:
    """Where the centre first leaves the lane [ft]."""
    off = (board < units.EDGE_LOW_BOARD) | (board > units.EDGE_HIGH_BOARD)
    if not off.any():
        return None
    first = int(np.argmax(off))
    if first == 0:
        return 0.0
    edge = units.EDGE_LOW_BOARD if board[first] < units.EDGE_LOW_BOARD else units.EDGE_HIGH_BOARD
    time = _crossing(stretches, lambda s: _board(s) - edge, float(times[first - 1]), float(times[first]))
    return float(_states(stretches, np.array([time]))[0, 0]) / units.FOOT_M


def _crossing(
    stretches: list[Stretch], value: Callable[[FloatArray], float], start_s: float, end_s: float
) -> float:
    return float(brentq(lambda t: value(_states(stretches, np.array([t]))[0]), start_s, end_s, xtol=1e-13))


def _contact(stretches: list[Stretch], times: FloatArray, reach_m: float) -> tuple[float, float] | None:
    """Board and direction [deg] at first contact with the head pin; beyond 60 ft the ball goes straight."""

    def apart(s: FloatArray) -> float:
        down = float(s[0]) - units.LANE_LENGTH_FT * units.FOOT_M
        return math.hypot(down, (_board(s) - units.HEAD_PIN_BOARD) * units.BOARD_M) - reach_m

    last = _states(stretches, times[-1:])[0]
    moments = np.linspace(times[-3], times[-1], 33)
    touching = np.array([apart(s) for s in _states(stretches, moments)]) <= 0.0
    if touching.any():
        i = int(np.argmax(touching))
        time = _crossing(stretches, apart, float(moments[i - 1]), float(moments[i])) if i else moments[0]
        state = _states(stretches, np.array([time]))[0]
    else:
        later = [last + np.concatenate([last[2:4] * t, np.zeros(10)]) for t in np.linspace(0.0, 0.012, 65)]
        touching = np.array([apart(s) for s in later]) <= 0.0
        if not touching.any():
            return None
        state = later[int(np.argmax(touching))]
    return _board(state), math.degrees(math.atan2(state[3], state[2]))


def _lowest(stretches: list[Stretch], board: FloatArray, times: FloatArray) -> tuple[float, float]:
    """Breakpoint: lowest board and its feet, where the velocity across changes sign if it does."""
    i = int(np.argmin(board))
    before, after = max(i - 1, 0), min(i + 1, len(board) - 1)
    across = [float(_states(stretches, times[[j]])[0, 3]) for j in (before, after)]
    time = float(times[i])
    if across[0] < 0.0 < across[1]:
        time = _crossing(stretches, lambda s: float(s[3]), float(times[before]), float(times[after]))
    state = _states(stretches, np.array([time]))[0]
    return _board(state), float(state[0]) / units.FOOT_M


def _rings(problem: Problem, stretches: list[Stretch], laid: FloatArray) -> tuple[Ring, ...]:
    """The tracks on the cover, one per full revolution."""
    rings = []
    radius_in = problem.radius_m / units.INCH_M
    turn = np.empty((3, 3))
    for m, ring in enumerate(laid):
        track = _states_at(stretches, 11, m + np.arange(kernels.PATCHES + 1) / kernels.PATCHES)
        points = np.empty((kernels.PATCHES + 1, 3))
        for i, state in enumerate(track):
            kernels.body_to_lane(state, turn)
            points[i] = -turn[2]
        met = np.empty(0)
        left = np.empty(0)
        if problem.film.shape[0]:
            middles = points[:-1] + points[1:]
            middles /= np.linalg.norm(middles, axis=1)[:, None]
            parts = (np.arange(kernels.PATCHES) + 0.5) / kernels.PATCHES
            patches = list(zip(middles, parts, strict=True))
            met = np.array([kernels.cover_film(p[0], p[1], p[2], at, laid, m, problem.cover) for p, at in patches])
            left = np.array([kernels.cover_film(p[0], p[1], p[2], at, laid, m + 1, problem.cover) for p, at in patches])
        angle = math.acos(max(-1.0, min(1.0, float(ring[0:3] @ ring[3:6]))))
        rings.append(
            Ring(
                points=points,
                axis=ring[0:3].copy(),
                start_ft=float(track[0, 0]) / units.FOOT_M,
                parts_in=radius_in * angle if m + 1 < len(laid) else math.nan,
                met_um=met,
                left_um=left,
            )
        )
    return tuple(rings)


def _cover_left(problem: Problem, rings: tuple[Ring, ...]) -> float | None:
    """Mean film on the tracks at the pins [um], each ring as the last pass over it left it."""
    if not problem.film.shape[0]:
        return None
    if not rings:
        return float(problem.cover[0])
    return float(np.mean([ring.left_um.mean() for ring in rings]))
