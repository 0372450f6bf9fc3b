"""What logged shots say about the worlds: predicted against logged, heavy-tailed, whatever fields are there.

The offset a world predicts for a shot is read off a response surface: the shot is marched in a central world
and one step up and down along each unknown that bends its path, and taken as quadratic in between. That makes
thousands of worlds affordable, and the residual spread carries the surface's own error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

from motion.advice_types import LoggedShot
from motion.belief import PRIORS, Layout, Worlds, posterior_worlds, prior_worlds
from motion.canonical import ball_key
from motion.errors import MotionError
from motion.inputs import AXIS_ROTATION_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH
from motion.leaves import mirror
from motion.offsets import offset_at_pins
from motion.outcomes import FrameTable
from motion.path import march_batch
from motion.replay import CARRY_STEP, FILM_STEP, WEAR_STEP, FilmStar, LaneHistory
from motion.scene import STEPS_PER_FOOT, friction_maps

FloatArray = npt.NDArray[np.float64]

# How well people read their own shots, all assumed (no published source).
READ_OFFSET_SD = 0.6
READ_BREAKPOINT_SD = 1.5
READ_SPEED_SD = 0.25
MODEL_OFFSET_SD = 0.7  # what a right world still gets wrong on one shot
TAIL = 4.0  # degrees of freedom of the Student t: a slip or a typing error must not turn the lane over
PIN_TRUST = 0.7  # share of a leave believed to follow the pin table; the rest says nothing

GUESS_ROUNDS = 6

FRICTION_STEP = PRIORS.log_friction
SPEED_STEP = 0.5
REV_STEP = 0.05
_LAUNCH_STEP, _LAYDOWN_STEP, _ROTATION_STEP = 0.3, 1.0, 3.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Response:
    """Board at 60 ft, entry angle, breakpoint board and speed at 60 ft of one shot in a central world and one
    step along each unknown: rows of `values` are centre, then low and high of film, wear, carry, friction,
    speed and rev rate. `scatter_sd`: spread of the offset by the release's own scatter [boards]."""

    values: FloatArray  # (13, 4)
    diameter_in: float
    scatter_sd: float

    def predict(self, worlds: Worlds, shot: LoggedShot) -> FloatArray:
        """Values in every world, (n, 4), at the bowler's intended shot."""
        friction = worlds.log_friction[shot.lane_id] + worlds.log_friction_ball[ball_key(shot.spec)]
        moves = (
            worlds.log_film[shot.lane_id] / FILM_STEP,
            worlds.log_wear / WEAR_STEP,
            worlds.log_carry / CARRY_STEP,
            friction / FRICTION_STEP,
            worlds.speed_mph[shot.bowler_key] / SPEED_STEP,
            worlds.log_rev_rate[shot.bowler_key] / REV_STEP,
        )
        result = np.tile(self.values[0], (worlds.count, 1))
        for axis, move in enumerate(moves):
            low, high = self.values[1 + 2 * axis], self.values[2 + 2 * axis]
            t = np.clip(move, -2.5, 2.5)[:, None]
            result += 0.5 * (high - low) * t + (0.5 * (high + low) - self.values[0]) * t * t
        return result


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """A logged shot made ready: its response surface, or None where only its speed says something."""

    shot: LoggedShot
    response: Response | None


def gather(
    shots: tuple[LoggedShot, ...],
    histories: Mapping[str, LaneHistory],
    step: Callable[[], None] = lambda: None,
) -> list[Evidence]:
    """Make own-side logged shots ready to weigh worlds with; shots that teach nothing are left out."""
    found: list[Evidence] = []
    for shot in shots:
        history = histories.get(shot.lane_id)
        seen = (
            shot.offset_boards is not None or shot.pins_left is not None or shot.breakpoint_board is not None
        )
        near_pins = shot.speed_mph is not None and shot.speed_read_at == "near the pins"
        if history is not None and shot.line is not None and (seen or near_pins):
            response = respond(shot, history.before_entry(shot.passes_before))
            found.append(Evidence(shot=shot, response=response))
        elif shot.speed_mph is not None and not near_pins:
            found.append(Evidence(shot=shot, response=None))
        step()
    return found


def weigh(layout: Layout, evidence: list[Evidence], table: FrameTable) -> Worlds:
    """The worlds after the evidence; the prior worlds where there is none."""
    if not evidence:
        return prior_worlds(layout)

    def log_likelihood(worlds: Worlds) -> FloatArray:
        total: FloatArray = np.sum([one_log_likelihood(worlds, item, table) for item in evidence], axis=0)
        return total

    centre, precision = _normal_guess(layout, evidence)
    return posterior_worlds(layout, centre, precision, log_likelihood)


def one_log_likelihood(worlds: Worlds, item: Evidence, table: FrameTable) -> FloatArray:
    """Log likelihood of one logged shot in every world, (n,)."""
    parts = [student_log(residual, scale) for residual, scale in _readings(worlds, item)]
    shot = item.shot
    if item.response is not None and shot.offset_boards is None and shot.pins_left is not None:
        values = item.response.predict(worlds, shot)
        offset = offset_at_pins(values[:, 0], values[:, 1], item.response.diameter_in)
        leave = shot.pins_left if shot.hand == "right" else mirror(shot.pins_left)
        sd = math.hypot(item.response.scatter_sd, MODEL_OFFSET_SD)
        likely = table.leave_likelihood(leave, offset, values[:, 1], sd)
        parts.append(np.log(PIN_TRUST * likely + (1.0 - PIN_TRUST) * table.usual_share(leave)))
    total: FloatArray = np.sum(parts, axis=0) if parts else np.zeros(worlds.count)
    return total


def respond(shot: LoggedShot, star: FilmStar) -> Response:
    """March a shot in the star's worlds and along the unknowns of friction, speed and revs."""
    if shot.line is None:
        raise MotionError("shot.line", None, "a line; without one there is no path to predict")
    # "right" is the asking bowler's own side here; a teammate of the other hand sees the lane flipped.
    films = star.films_um if shot.hand == "right" else star.films_um[:, :, ::-1]
    maps = friction_maps(np.ascontiguousarray(films), shot.spec)
    scaled = np.stack([maps[0] * math.exp(-FRICTION_STEP), maps[0] * math.exp(FRICTION_STEP)])
    release, line = shot.release, shot.line
    base = (
        release.speed_mph,
        line.launch_deg,
        line.foul_line_board,
        release.rev_rate_rpm,
        release.axis_rotation_deg,
    )
    rows = np.tile(np.array(base), (19, 1))
    # 0..6 the star, 7 and 8 friction; then speed, revs, launch, laydown, rotation, low and high each.
    index = np.array([*range(9), *([0] * 10)])
    rows[9:11, 0] += (-SPEED_STEP, SPEED_STEP)
    rows[11:13, 3] *= (math.exp(-REV_STEP), math.exp(REV_STEP))
    rows[13:15, 1] += (-_LAUNCH_STEP, _LAUNCH_STEP)
    rows[15:17, 2] += (-_LAYDOWN_STEP, _LAYDOWN_STEP)
    rows[17:19, 4] += (-_ROTATION_STEP, _ROTATION_STEP)
    batch = march_batch(
        np.concatenate([maps, np.minimum(scaled, 1.0)]),
        np.clip(rows[:, 0], *SPEED_MPH),
        np.clip(rows[:, 3], *REV_RATE_RPM),
        np.clip(rows[:, 4], *AXIS_ROTATION_DEG),
        np.clip(rows[:, 1], *LAUNCH_DEG),
        rows[:, 2],
        shot.spec.rg_in,
        shot.spec.diameter_in,
        index,
        axis_tilt_deg=release.axis_tilt_deg,
        steps_per_foot=STEPS_PER_FOOT,
    )
    values = np.stack(
        [batch.board_at_60, batch.entry_angle_deg, batch.breakpoint_board, batch.speed_at_60_mph], axis=1
    )
    board = batch.board_at_60
    rev_step = release.rev_rate_rpm * REV_STEP
    slopes = np.array(
        [
            (board[10] - board[9]) / (2.0 * SPEED_STEP),
            (board[14] - board[13]) / (2.0 * _LAUNCH_STEP),
            (board[16] - board[15]) / (2.0 * _LAYDOWN_STEP),
            (board[12] - board[11]) / (2.0 * rev_step) if rev_step else 0.0,
            (board[18] - board[17]) / (2.0 * _ROTATION_STEP),
        ]
    )
    variance = float(slopes @ release.scatter.covariance() @ slopes)
    return Response(
        values=values[:13], diameter_in=shot.spec.diameter_in, scatter_sd=math.sqrt(max(variance, 0.0))
    )


def student_log(residual: FloatArray, scale: float) -> FloatArray:
    """Log density of a Student t with TAIL degrees of freedom at a residual, scale in the residual's unit."""
    norm = (
        gammaln((TAIL + 1.0) / 2.0) - gammaln(TAIL / 2.0) - 0.5 * math.log(TAIL * math.pi) - math.log(scale)
    )
    result: FloatArray = norm - (TAIL + 1.0) / 2.0 * np.log1p((residual / scale) ** 2 / TAIL)
    return result


def _readings(worlds: Worlds, item: Evidence) -> list[tuple[FloatArray, float]]:
    """What was read off one shot: residual in every world (n,) and its scale, per reading."""
    shot, found = item.shot, []
    scatter = shot.release.scatter.sd_speed_mph
    if shot.speed_mph is not None and shot.speed_read_at != "near the pins":
        expected = shot.release.speed_mph + worlds.speed_mph[shot.bowler_key]
        if shot.speed_read_at == "display":  # a display has a bias of its own, which all its readings share
            expected = expected + worlds.display_bias_mph
        found.append((shot.speed_mph - expected, math.hypot(READ_SPEED_SD, scatter)))
    if item.response is None:
        return found
    response = item.response
    values = response.predict(worlds, shot)
    if shot.offset_boards is not None:
        offset = offset_at_pins(values[:, 0], values[:, 1], response.diameter_in)
        scale = math.hypot(response.scatter_sd, math.hypot(READ_OFFSET_SD, MODEL_OFFSET_SD))
        found.append((shot.offset_boards - offset, scale))
    if shot.breakpoint_board is not None:
        scale = math.hypot(READ_BREAKPOINT_SD, 0.5 * response.scatter_sd)
        found.append((shot.breakpoint_board - values[:, 2], scale))
    if shot.speed_mph is not None and shot.speed_read_at == "near the pins":
        found.append((shot.speed_mph - values[:, 3], math.hypot(READ_SPEED_SD, scatter)))
    return found


def _normal_guess(layout: Layout, evidence: list[Evidence]) -> tuple[FloatArray, FloatArray]:
    """Mode and curvature of the posterior by iteratively reweighted Gauss-Newton on the readings.

    Student-t readings weigh (t + 1) / (t + r^2), r the scaled residual. Leaves without a reading are left to
    the weights. Returns centre (d,) and precision (d, d) in the layout's coordinates.
    """
    size = len(layout.names)
    centre, precision = np.zeros(size), np.eye(size)
    nudge = 0.05
    for _ in range(GUESS_ROUNDS):
        points = np.concatenate([centre[None], centre + nudge * np.eye(size)])
        worlds = layout.worlds(points)
        precision, pull = np.eye(size), -centre
        for item in evidence:
            for residual, scale in _readings(worlds, item):
                slope = (residual[1:] - residual[0]) / nudge
                scaled = residual[0] / scale
                weight = (TAIL + 1.0) / (TAIL + scaled**2) / scale**2
                precision = precision + weight * np.outer(slope, slope)
                pull = pull - weight * residual[0] * slope
        step = np.linalg.solve(precision, pull)
        centre = np.clip(centre + step, -3.0, 3.0)
        if float(np.abs(step).max()) < 0.02:
            break
    return centre, precision
