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

import numpy as np
from scipy.optimize import brentq

from motion import full_ball_kernels as kernels
from motion import units
from motion.cover_state import TABLE_STEP_UM
from motion.errors import FloatArray, number
from motion.friction import DEFAULT_PHYSICS
from motion.full_ball_motion import (
    Problem,
    Stretch,
    integrate,
    problem_of,
    state_at_release,
    states,
    states_at,
    times_at,
)
from motion.inputs import BallSpec, ReleaseSpec
from motion.parameters import Physics
from motion.path import contact_reach_m

OUTPUT_FT = 0.5
FURTHER_FT = 0.25  # a ball that has not met the head pin by 60 ft is followed so far
# Error of the board at the default tolerance, without and with oil on the cover.
BOARD_ERROR = 1e-5
BOARD_ERROR_WITH_COVER = 1e-4


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

    Conventions as in `motion.path.PathResult`. friction (n,) [-]: what the contact meets, the oil on its own
    cover included; while the ball rolls, what there would be. axis_body (n, 3): the spin axis in the body's
    low, middle and high axes (axis migration). rolling: stretches rolled as pairs of feet. invariant (n, 3)
    [m2/s]: l + R z x v, which friction at the contact leaves alone. energy (n,) [m2/s2] per mass.
    worst_creep_mps: largest slip while rolling. flare_in: sum of what successive tracks part [in].
    """

    y_ft: FloatArray
    board: FloatArray
    speed_mph: FloatArray
    direction_deg: FloatArray
    time_s: FloatArray
    slip_mph: FloatArray
    friction: FloatArray
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


def _told(problem: Problem, stretches: list[Stretch], rings: FloatArray, reach_m: float) -> FullPath:
    """What the integrated motion says, in the units of people."""
    y_ft = np.arange(0.0, units.LANE_LENGTH_FT + OUTPUT_FT / 2.0, OUTPUT_FT)
    times = times_at(stretches, 0, y_ft * units.FOOT_M)
    at_rows = states(stretches, times)
    turns = np.empty((len(y_ft), 3, 3))
    inverse = np.empty((3, 3))
    omega = np.empty((len(y_ft), 3))
    for i, s in enumerate(at_rows):
        kernels.body_to_lane(s, turns[i])
        kernels.inverse_inertia(turns[i], problem.kk, inverse)
        omega[i] = kernels.spin(s, inverse)
    slip = np.array([kernels.slip_of(s, problem.kk, problem.radius_m) for s in at_rows])
    board = at_rows[:, 1] / units.BOARD_M + 0.5
    velocity = at_rows[:, 2:4]
    speed = units.mps_to_mph(np.hypot(velocity[:, 0], velocity[:, 1]))
    direction = np.degrees(np.arctan2(velocity[:, 1], velocity[:, 0]))
    size = np.linalg.norm(omega, axis=1)
    axis = np.einsum("nij,ni->nj", turns, omega) / np.where(size > 0.0, size, 1.0)[:, None]
    # l + R z x v: z x v = (-vy, vx, 0).
    invariant = at_rows[:, 4:7].copy()
    invariant[:, 0] -= problem.radius_m * velocity[:, 1]
    invariant[:, 1] += problem.radius_m * velocity[:, 0]
    energy = 0.5 * (velocity**2).sum(axis=1) + 0.5 * (omega * at_rows[:, 4:7]).sum(axis=1)
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
        friction=_friction(problem, at_rows, rings),
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
        revolutions=float(at_rows[-1, 11]),
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


def _friction(problem: Problem, at_rows: FloatArray, rings: FloatArray) -> FloatArray:
    """Friction at the contact in each state (n, 12), by the rings complete by then."""
    p = problem
    return np.array(
        [
            kernels.friction_now(
                s, p.mu, p.film, p.table, TABLE_STEP_UM, rings, min(int(s[11]), len(rings)), p.cover
            )
            for s in at_rows
        ]
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
    return float(states(stretches, np.array([time]))[0, 0]) / units.FOOT_M


def _crossing(
    stretches: list[Stretch], value: Callable[[FloatArray], float], start_s: float, end_s: float
) -> float:
    return float(brentq(lambda t: value(states(stretches, np.array([t]))[0]), start_s, end_s, xtol=1e-13))


def _contact(stretches: list[Stretch], times: FloatArray, reach_m: float) -> tuple[float, float] | None:
    """Board and direction [deg] at first contact with the head pin; beyond 60 ft the ball goes straight."""

    def apart(s: FloatArray) -> float:
        down = float(s[0]) - units.LANE_LENGTH_FT * units.FOOT_M
        return math.hypot(down, (_board(s) - units.HEAD_PIN_BOARD) * units.BOARD_M) - reach_m

    last = states(stretches, times[-1:])[0]
    moments = np.linspace(times[-3], times[-1], 33)
    touching = np.array([apart(s) for s in states(stretches, moments)]) <= 0.0
    if touching.any():
        i = int(np.argmax(touching))
        time = _crossing(stretches, apart, float(moments[i - 1]), float(moments[i])) if i else moments[0]
        state = states(stretches, np.array([time]))[0]
    else:

        def later(t: float) -> FloatArray:
            further: FloatArray = last + np.concatenate([last[2:4] * t, np.zeros(10)])
            return further

        moments = np.linspace(0.0, FURTHER_FT * units.FOOT_M / float(last[2]), 33)
        touching = np.array([apart(later(t)) for t in moments]) <= 0.0
        if not touching.any():
            return None
        i = int(np.argmax(touching))
        state = later(float(brentq(lambda t: apart(later(t)), moments[i - 1], moments[i], xtol=1e-13)))
    return _board(state), math.degrees(math.atan2(state[3], state[2]))


def _lowest(stretches: list[Stretch], board: FloatArray, times: FloatArray) -> tuple[float, float]:
    """Breakpoint: lowest board and its feet, where the velocity across changes sign if it does."""
    i = int(np.argmin(board))
    before, after = max(i - 1, 0), min(i + 1, len(board) - 1)
    across = [float(states(stretches, times[[j]])[0, 3]) for j in (before, after)]
    time = float(times[i])
    if across[0] < 0.0 < across[1]:
        time = _crossing(stretches, lambda s: float(s[3]), float(times[before]), float(times[after]))
    state = states(stretches, np.array([time]))[0]
    return _board(state), float(state[0]) / units.FOOT_M


def _rings(problem: Problem, stretches: list[Stretch], laid: FloatArray) -> tuple[Ring, ...]:
    """The tracks on the cover, one per full revolution."""
    rings = []
    radius_in = problem.radius_m / units.INCH_M
    turn = np.empty((3, 3))
    for m, ring in enumerate(laid):
        track = states_at(stretches, 11, m + np.arange(kernels.PATCHES + 1) / kernels.PATCHES)
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
            met = np.array(
                [kernels.cover_film(p[0], p[1], p[2], at, laid, m, problem.cover) for p, at in patches]
            )
            left = np.array(
                [kernels.cover_film(p[0], p[1], p[2], at, laid, m + 1, problem.cover) for p, at in patches]
            )
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
