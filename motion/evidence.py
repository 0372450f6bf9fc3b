"""What logged shots say about the worlds: predicted against logged, heavy-tailed, whatever fields are there.

Each shot is marched on the film of its moment in every world asked about. A normal guess at the posterior
comes from Gauss-Newton on the readings; worlds drawn from it are then weighed by what was really logged.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln

from motion.advice_types import LoggedShot
from motion.belief import Layout, Worlds, posterior_worlds, prior_worlds
from motion.canonical import ball_key
from motion.errors import MotionError
from motion.inputs import AXIS_ROTATION_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH
from motion.leaves import mirror
from motion.offsets import offset_at_pins
from motion.outcomes import FrameTable
from motion.path import march_batch
from motion.replay import FilmStar, LaneHistory
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
NUDGE = 0.2  # standard deviations; wide enough to look past the small steps of a marched path


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """A logged shot made ready: the film star of its moment, or None where only its speed says something.

    scatter_sd: spread of the offset that the release's own scatter brings [boards].
    """

    shot: LoggedShot
    star: FilmStar | None
    scatter_sd: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Predicted:
    """What the intended shot does in every world, (n,) each."""

    offset_boards: FloatArray
    entry_angle_deg: FloatArray
    breakpoint_board: FloatArray
    speed_at_60_mph: FloatArray


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
            star = history.before_entry(shot.passes_before)
            found.append(Evidence(shot=shot, star=star, scatter_sd=offset_scatter(shot, star)))
        elif shot.speed_mph is not None and not near_pins:
            found.append(Evidence(shot=shot, star=None))
        step()
    return found


def weigh(
    layout: Layout, evidence: list[Evidence], table: FrameTable, step: Callable[[], None] = lambda: None
) -> Worlds:
    """The worlds after the evidence; the prior worlds where there is none."""
    if not evidence:
        return prior_worlds(layout)

    def log_likelihood(worlds: Worlds) -> FloatArray:
        look = _Predictions(worlds)
        total: FloatArray = np.zeros(worlds.count)
        for item in evidence:
            total = total + _one_log_likelihood(look, item, table)
        step()
        return total

    centre, precision = _normal_guess(layout, evidence, step)
    return posterior_worlds(layout, centre, precision, log_likelihood)


def predict(worlds: Worlds, shot: LoggedShot, star: FilmStar) -> Predicted:
    """March one own-side logged shot, as intended, in every world; its line must be known."""
    return _Predictions(worlds).of(shot, star)


def offset_scatter(shot: LoggedShot, star: FilmStar) -> float:
    """Standard deviation of the offset [boards] from the shot's own release scatter, in the central world.

    First order: the slopes of the offset by the five scattered numbers with their covariance.
    """
    if shot.line is None:
        return 0.0
    steps = np.array([0.3, 0.3, 1.0, 15.0, 3.0])
    base = np.array(_release_row(shot))
    rows = base + np.concatenate([np.diag(steps), -np.diag(steps)])
    films = star.central if shot.hand == "right" else star.central[:, ::-1]
    batch = march_batch(
        friction_maps(np.ascontiguousarray(films), shot.spec),
        np.clip(rows[:, 0], *SPEED_MPH),
        np.clip(rows[:, 3], *REV_RATE_RPM),
        np.clip(rows[:, 4], *AXIS_ROTATION_DEG),
        np.clip(rows[:, 1], *LAUNCH_DEG),
        rows[:, 2],
        shot.spec.rg_in,
        shot.spec.diameter_in,
        axis_tilt_deg=shot.release.axis_tilt_deg,
        steps_per_foot=STEPS_PER_FOOT,
    )
    offset = offset_at_pins(batch.board_at_60, batch.entry_angle_deg, shot.spec.diameter_in)
    slopes = (offset[:5] - offset[5:]) / (2.0 * steps)
    return math.sqrt(max(float(slopes @ shot.release.scatter.covariance() @ slopes), 0.0))


def student_log(residual: FloatArray, scale: float) -> FloatArray:
    """Log density of a Student t with TAIL degrees of freedom at a residual, scale in the residual's unit."""
    norm = (
        gammaln((TAIL + 1.0) / 2.0) - gammaln(TAIL / 2.0) - 0.5 * math.log(TAIL * math.pi) - math.log(scale)
    )
    result: FloatArray = norm - (TAIL + 1.0) / 2.0 * np.log1p((residual / scale) ** 2 / TAIL)
    return result


class _Predictions:
    """Predictions for one set of worlds; shots of one moment share friction, equal shots their march."""

    def __init__(self, worlds: Worlds) -> None:
        self.worlds = worlds
        self._maps: tuple[tuple[object, ...], FloatArray] | None = None
        self._known: dict[tuple[object, ...], Predicted] = {}

    def of(self, shot: LoggedShot, star: FilmStar) -> Predicted:
        key = (id(star), shot.hand, shot.spec, shot.lane_id, shot.bowler_key, shot.release, shot.line)
        if key not in self._known:
            self._known[key] = self._march(shot, star)
        return self._known[key]

    def _march(self, shot: LoggedShot, star: FilmStar) -> Predicted:
        worlds, spec = self.worlds, shot.spec
        speed, launch, laydown, revs, rotation = _release_row(shot)
        batch = march_batch(
            self._friction(shot, star),
            np.clip(speed + worlds.speed_mph[shot.bowler_key], *SPEED_MPH),
            np.clip(revs * np.exp(worlds.log_rev_rate[shot.bowler_key]), *REV_RATE_RPM),
            rotation,
            launch,
            laydown,
            spec.rg_in,
            spec.diameter_in,
            np.arange(worlds.count),
            axis_tilt_deg=shot.release.axis_tilt_deg,
            steps_per_foot=STEPS_PER_FOOT,
        )
        return Predicted(
            offset_boards=offset_at_pins(batch.board_at_60, batch.entry_angle_deg, spec.diameter_in),
            entry_angle_deg=batch.entry_angle_deg,
            breakpoint_board=batch.breakpoint_board,
            speed_at_60_mph=batch.speed_at_60_mph,
        )

    def _friction(self, shot: LoggedShot, star: FilmStar) -> FloatArray:
        """Maps (worlds, 61, 39); only the latest is kept, since shots come in the order they were thrown."""
        key = (id(star), shot.hand, shot.spec, shot.lane_id)
        if self._maps is None or self._maps[0] != key:
            worlds = self.worlds
            films = star.mix(worlds.log_film[shot.lane_id], worlds.log_wear, worlds.log_carry)
            # "right" is the asking bowler's own side here; the other hand sees the lane flipped.
            own = films if shot.hand == "right" else np.ascontiguousarray(films[:, :, ::-1])
            scale = np.exp(worlds.log_friction[shot.lane_id] + worlds.log_friction_ball[ball_key(shot.spec)])
            self._maps = (key, np.minimum(friction_maps(own, shot.spec) * scale[:, None, None], 1.0))
        return self._maps[1]


def _release_row(shot: LoggedShot) -> tuple[float, float, float, float, float]:
    """Speed, launch, laydown, revs and rotation as intended, in the order of a scatter's covariance."""
    if shot.line is None:
        raise MotionError("shot.line", None, "a line; without one there is no path to predict")
    release, line = shot.release, shot.line
    return (
        release.speed_mph,
        line.launch_deg,
        line.foul_line_board,
        release.rev_rate_rpm,
        release.axis_rotation_deg,
    )


def _one_log_likelihood(look: _Predictions, item: Evidence, table: FrameTable) -> FloatArray:
    """Log likelihood of one logged shot in every world, (n,)."""
    total = np.zeros(look.worlds.count)
    for residual, scale in _readings(look, item):
        total = total + student_log(residual, scale)
    shot = item.shot
    if item.star is not None and shot.offset_boards is None and shot.pins_left is not None:
        seen = look.of(shot, item.star)
        leave = shot.pins_left if shot.hand == "right" else mirror(shot.pins_left)
        sd = math.hypot(item.scatter_sd, MODEL_OFFSET_SD)
        likely = table.leave_likelihood(leave, seen.offset_boards, seen.entry_angle_deg, sd)
        total = total + np.log(PIN_TRUST * likely + (1.0 - PIN_TRUST) * table.usual_share(leave))
    return total


def _readings(look: _Predictions, item: Evidence) -> list[tuple[FloatArray, float]]:
    """What was read off one shot: residual in every world (n,) and its scale, per reading."""
    shot, worlds = item.shot, look.worlds
    found: list[tuple[FloatArray, float]] = []
    speed_scale = math.hypot(READ_SPEED_SD, shot.release.scatter.sd_speed_mph)
    if shot.speed_mph is not None and shot.speed_read_at != "near the pins":
        expected = shot.release.speed_mph + worlds.speed_mph[shot.bowler_key]
        if shot.speed_read_at == "display":  # a display has a bias of its own, which all its readings share
            expected = expected + worlds.display_bias_mph
        found.append((shot.speed_mph - expected, speed_scale))
    if item.star is None:
        return found
    seen = look.of(shot, item.star)
    if shot.offset_boards is not None:
        scale = math.hypot(item.scatter_sd, math.hypot(READ_OFFSET_SD, MODEL_OFFSET_SD))
        found.append((shot.offset_boards - seen.offset_boards, scale))
    if shot.breakpoint_board is not None:
        scale = math.hypot(READ_BREAKPOINT_SD, 0.5 * item.scatter_sd)
        found.append((shot.breakpoint_board - seen.breakpoint_board, scale))
    if shot.speed_mph is not None and shot.speed_read_at == "near the pins":
        found.append((shot.speed_mph - seen.speed_at_60_mph, speed_scale))
    return found


def _normal_guess(
    layout: Layout, evidence: list[Evidence], step: Callable[[], None]
) -> tuple[FloatArray, FloatArray]:
    """Mode and curvature of the posterior by damped, iteratively reweighted Gauss-Newton on the readings.

    Student-t readings weigh (t + 1) / (t + r^2), r the scaled residual. Leaves without a reading are left to
    the weights. Returns centre (d,) and precision (d, d) in the layout's coordinates.
    """
    size = len(layout.names)
    centre, precision = np.zeros(size), np.eye(size)
    damping = 1.0
    for _ in range(GUESS_ROUNDS):
        points = np.concatenate([centre[None], centre + NUDGE * np.eye(size), centre - NUDGE * np.eye(size)])
        look = _Predictions(layout.worlds(points))
        precision, pull = np.eye(size), -centre
        for item in evidence:
            for residual, scale in _readings(look, item):
                slope = (residual[1 : 1 + size] - residual[1 + size :]) / (2.0 * NUDGE)
                weight = (TAIL + 1.0) / (TAIL + (residual[0] / scale) ** 2) / scale**2
                precision = precision + weight * np.outer(slope, slope)
                pull = pull - weight * residual[0] * slope
        move = np.linalg.solve(precision, pull)
        centre = np.clip(centre + damping * np.clip(move, -1.0, 1.0), -3.0, 3.0)
        damping = max(0.5, 0.85 * damping)
        step()
        if float(np.abs(move).max()) < 0.03:
            break
    return centre, precision
