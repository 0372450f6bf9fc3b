"""What logged shots say about the worlds: predicted against logged, heavy-tailed, whatever fields are there.

Each shot is marched on the film of its moment in every world asked about. A normal guess at the posterior
comes from Gauss-Newton on the readings; worlds drawn from it are then weighed by what was really logged.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
from scipy.special import gammaln

from motion.advice_types import LoggedShot
from motion.belief import Layout, Worlds, posterior_worlds, prior_worlds
from motion.canonical import ball_key
from motion.drilled import drilled
from motion.errors import FloatArray, MotionError
from motion.inputs import AXIS_ROTATION_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH, own_side
from motion.leaves import mirror
from motion.offsets import offset_at_pins
from motion.outcomes import FrameTable
from motion.path import march_batch
from motion.pocket import HIT_WORDS
from motion.replay import FilmStar, LaneHistory
from motion.scene import friction_maps
from motion.sites import GRID_BOARDS, Sites

# How well people read their own shots, all assumed (no published source).
READ_OFFSET_SD = 0.6
READ_WORD_SD = 0.8  # a word stands for a range of offsets
READ_BREAKPOINT_SD = 1.5
READ_SPEED_SD = 0.25
# What a right world still gets wrong on one shot; 0.25 of it is a layout as the reduced model has it
# (docs/layout.md).
MODEL_OFFSET_SD = 0.7
TAIL = 4.0  # degrees of freedom of the Student t: a slip or a typing error must not turn the lane over
# Shots on one lane share what a right world still gets wrong of it (a film that differs board by board,
# tracks of a central world), so n of them count as n / (1 + SHARED_ERROR (n - 1)): equally correlated
# readings. Assumed; chosen so that stated 80 % intervals hold about 80 % of hidden truths (docs/physics.md).
SHARED_ERROR = 0.02
PIN_TRUST = 0.7  # share of a leave believed to follow the pin table; the rest says nothing

GUESS_ROUNDS = 6
# The fewer the shots, the more worlds the same work can weigh.
MARCHES, FEWEST_WORLDS, MOST_WORLDS = 45_000, 256, 1024


@dataclass(frozen=True, kw_only=True, eq=False)
class Unknowns:
    """What a shot's prediction depends on, one entry per world or point, (n,) each."""

    log_film: FloatArray
    log_wear: FloatArray
    log_carry: FloatArray
    log_friction: FloatArray
    speed_mph: FloatArray
    log_rev_rate: FloatArray
    display_bias_mph: FloatArray

    @classmethod
    def in_worlds(cls, worlds: Worlds, shot: LoggedShot) -> Unknowns:
        """The unknowns of one shot as the worlds have them."""
        friction = worlds.log_friction[shot.lane_id] + worlds.log_friction_ball[ball_key(shot.spec)]
        return cls(
            log_film=worlds.log_film[shot.lane_id],
            log_wear=worlds.log_wear,
            log_carry=worlds.log_carry,
            log_friction=friction,
            speed_mph=worlds.speed_mph[shot.bowler_key],
            log_rev_rate=worlds.log_rev_rate[shot.bowler_key],
            display_bias_mph=worlds.display_bias_mph,
        )

    def rows(self) -> FloatArray:
        """All of them as an array (7, n)."""
        return np.stack([getattr(self, item.name) for item in fields(self)])

    @classmethod
    def around(cls, centre: FloatArray) -> Unknowns:
        """A point (7,), then one step up along each unknown, then one down: 15 entries."""
        steps = np.diag(_STEPS)
        points = np.concatenate([centre[None], centre + steps, centre - steps])
        return cls(**{item.name: points[:, place] for place, item in enumerate(fields(cls))})


# Every shot has a friction map of its own, whose tables would cost the fast engine more than the march.
STEPS_PER_FOOT = 2

# Steps for slopes: wide enough to look past the small steps of a marched path.
_STEPS = np.array([0.03, 0.08, 0.10, 0.03, 0.12, 0.012, 0.15])


@dataclass(frozen=True, kw_only=True, eq=False)
class Evidence:
    """A logged shot made ready: the film star of its moment, or None where only its speed says something.

    scatter_sd: spread of the offset that the release's own scatter brings [boards]. trust: share of a whole
    reading that this one counts for beside the others of its lane.
    """

    shot: LoggedShot
    star: FilmStar | None
    scatter_sd: float = 0.0
    trust: float = 1.0


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
        readings = (logged_offset(shot), shot.pins_left, shot.pins_fallen, shot.breakpoint_board)
        seen = any(reading is not None for reading in readings)
        near_pins = shot.speed_mph is not None and shot.speed_read_at == "near the pins"
        if history is not None and shot.line is not None and (seen or near_pins):
            star = history.before_entry(shot.passes_before)
            found.append(Evidence(shot=shot, star=star, scatter_sd=offset_scatter(shot, star)))
        elif shot.speed_mph is not None and not near_pins:
            found.append(Evidence(shot=shot, star=None))
        step()
    on_lane = Counter(item.shot.lane_id for item in found if item.star is not None)
    return [
        item
        if item.star is None
        else replace(item, trust=1.0 / (1.0 + SHARED_ERROR * (on_lane[item.shot.lane_id] - 1)))
        for item in found
    ]


def weigh(
    layout: Layout, evidence: list[Evidence], table: FrameTable, step: Callable[[], None] = lambda: None
) -> Worlds:
    """The worlds after the evidence; the prior worlds where there is none."""
    if not evidence:
        return prior_worlds(layout)

    def log_likelihood(worlds: Worlds) -> FloatArray:
        total: FloatArray = np.zeros(worlds.count)
        for item in evidence:
            unknowns = Unknowns.in_worlds(worlds, item.shot)
            seen = None if item.star is None else predict(unknowns, item.shot, item.star)
            total = total + item.trust * _one_log_likelihood(unknowns, seen, item, table)
        step()
        return total

    centre, precision = _normal_guess(layout, evidence, table, step)
    count = int(np.clip(MARCHES // len(evidence), FEWEST_WORLDS, MOST_WORLDS))
    return posterior_worlds(layout, centre, precision, log_likelihood, count)


def predict(unknowns: Unknowns, shot: LoggedShot, star: FilmStar) -> Predicted:
    """March one own-side logged shot, as intended, for every entry of the unknowns; it needs a line."""
    spec = shot.spec
    # "right" is the asking bowler's own side here; the other hand sees the lane flipped.
    ball = drilled(spec, shot.release, own_side(star.central, shot.hand))
    maps = star.friction(
        spec,
        unknowns.log_film,
        unknowns.log_wear,
        unknowns.log_carry,
        unknowns.log_friction,
        own_side(ball.factor, shot.hand),
    )
    speed, launch, laydown, revs, rotation = _release_row(shot)
    batch = march_batch(
        own_side(maps, shot.hand),
        np.clip(speed + unknowns.speed_mph, *SPEED_MPH),
        launch_deg=launch,
        laydown_board=laydown,
        mu_index=np.arange(len(maps)),
        steps_per_foot=STEPS_PER_FOOT,
        **ball.thrown(
            np.clip(revs * np.exp(unknowns.log_rev_rate), *REV_RATE_RPM), rotation, shot.release.axis_tilt_deg
        ),
    )
    return Predicted(
        offset_boards=offset_at_pins(batch.board_at_60, batch.entry_angle_deg, spec.diameter_in),
        entry_angle_deg=batch.entry_angle_deg,
        breakpoint_board=batch.breakpoint_board,
        speed_at_60_mph=batch.speed_at_60_mph,
    )


def logged_offset(shot: LoggedShot) -> float | None:
    """The offset as logged, in boards, or the one its trade word stands for; None with neither."""
    if shot.offset_boards is not None:
        return shot.offset_boards
    return HIT_WORDS.get(shot.hit_word)


def offset_scatter(shot: LoggedShot, star: FilmStar) -> float:
    """Standard deviation of the offset [boards] from the shot's own release scatter, in the central world.

    First order: the slopes of the offset by the five scattered numbers with their covariance.
    """
    if shot.line is None:
        return 0.0
    steps = np.array([0.3, 0.3, 1.0, 15.0, 3.0])
    base = np.array(_release_row(shot))
    rows = base + np.concatenate([np.diag(steps), -np.diag(steps)])
    film = own_side(star.central, shot.hand)
    ball = drilled(shot.spec, shot.release, film)
    batch = march_batch(
        ball.maps(friction_maps(film, shot.spec)),
        np.clip(rows[:, 0], *SPEED_MPH),
        launch_deg=np.clip(rows[:, 1], *LAUNCH_DEG),
        laydown_board=rows[:, 2],
        steps_per_foot=STEPS_PER_FOOT,
        **ball.thrown(
            np.clip(rows[:, 3], *REV_RATE_RPM),
            np.clip(rows[:, 4], *AXIS_ROTATION_DEG),
            shot.release.axis_tilt_deg,
        ),
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


@dataclass(frozen=True, kw_only=True, eq=False)
class Reading:
    """What one reading of a shot says: residual for every entry (n,), and the scale it is judged by."""

    residual: FloatArray
    scale: float


def _one_log_likelihood(
    unknowns: Unknowns, seen: Predicted | None, item: Evidence, table: FrameTable
) -> FloatArray:
    """Log likelihood of one logged shot for every entry of the unknowns, (n,)."""
    total = np.zeros(len(unknowns.speed_mph))
    for reading in _readings(unknowns, seen, item):
        total = total + student_log(reading.residual, reading.scale)
    pins = _pins(item.shot, table)
    if seen is not None and pins is not None:
        total = total + _pins_log_likelihood(pins, item, seen.offset_boards, seen.entry_angle_deg, table)
    return total


def _pins_log_likelihood(
    pins: FloatArray, item: Evidence, offset: FloatArray, angle: FloatArray, table: FrameTable
) -> FloatArray:
    """Log likelihood (n,) of what the pins showed where the intended shot arrives so, (n,) each."""
    likely = table.likelihood(pins, offset, angle, math.hypot(item.scatter_sd, MODEL_OFFSET_SD))
    result: FloatArray = np.log(PIN_TRUST * likely + (1.0 - PIN_TRUST) * table.usual_share(pins))
    return result


def _readings(unknowns: Unknowns, seen: Predicted | None, item: Evidence) -> list[Reading]:
    """The numbers read off one shot against what was predicted."""
    shot = item.shot
    found: list[Reading] = []
    speed_scale = math.hypot(READ_SPEED_SD, shot.release.scatter.sd_speed_mph)
    if shot.speed_mph is not None and shot.speed_read_at != "near the pins":
        expected = shot.release.speed_mph + unknowns.speed_mph
        if shot.speed_read_at == "display":  # a display has a bias of its own, which all its readings share
            expected = expected + unknowns.display_bias_mph
        found.append(Reading(residual=shot.speed_mph - expected, scale=speed_scale))
    if seen is None:
        return found
    offset = logged_offset(shot)
    if offset is not None:
        read_sd = READ_OFFSET_SD if shot.offset_boards is not None else READ_WORD_SD
        scale = math.hypot(item.scatter_sd, math.hypot(read_sd, MODEL_OFFSET_SD))
        found.append(Reading(residual=offset - seen.offset_boards, scale=scale))
    if shot.breakpoint_board is not None:
        scale = math.hypot(READ_BREAKPOINT_SD, 0.5 * item.scatter_sd)
        found.append(Reading(residual=shot.breakpoint_board - seen.breakpoint_board, scale=scale))
    if shot.speed_mph is not None and shot.speed_read_at == "near the pins":
        found.append(Reading(residual=shot.speed_mph - seen.speed_at_60_mph, scale=speed_scale))
    return found


def _pins(shot: LoggedShot, table: FrameTable) -> FloatArray | None:
    """Shares at every node of the table of what the pins showed, the leave before the bare count.

    None with neither, and where the hit itself was read: the pins follow from it and say nothing more.
    """
    if logged_offset(shot) is not None:
        return None
    if shot.pins_left is not None:
        return table.of_leave(shot.pins_left if shot.hand == "right" else mirror(shot.pins_left))
    return None if shot.pins_fallen is None else table.of_count(shot.pins_fallen)


def _normal_guess(
    layout: Layout, evidence: list[Evidence], table: FrameTable, step: Callable[[], None]
) -> tuple[FloatArray, FloatArray]:
    """Middle and curvature of the posterior by damped, iteratively reweighted Gauss-Newton.

    Slopes are taken along the few unknowns of a shot and carried to the layout's coordinates, in which those
    unknowns are linear. Student-t readings weigh (t + 1) / (t + r^2), r the scaled residual; pins stand in by
    `Sites`. Returns centre (d,) and precision (d, d).
    """
    size = len(layout.names)
    basis = layout.worlds(np.eye(size))
    rows = [Unknowns.in_worlds(basis, item.shot).rows() for item in evidence]  # (7, d) each
    centre, precision = np.zeros(size), np.eye(size)
    sites = Sites(sum(item.star is not None and _pins(item.shot, table) is not None for item in evidence))
    damping = 1.0
    for _ in range(GUESS_ROUNDS):
        precision, pull = np.eye(size), -centre
        said, offsets, slopes = [], [], []  # by the pins of each shot that has no better reading
        for item, row in zip(evidence, rows, strict=True):
            unknowns = Unknowns.around(row @ centre)
            seen = None if item.star is None else predict(unknowns, item.shot, item.star)
            for reading in _readings(unknowns, seen, item):
                slope = _slope(reading.residual) @ row
                middle = float(reading.residual[0])
                weight = (TAIL + 1.0) / (TAIL + (middle / reading.scale) ** 2) / reading.scale**2
                weight *= item.trust
                precision = precision + weight * np.outer(slope, slope)
                pull = pull - weight * middle * slope
            pins = _pins(item.shot, table)
            if seen is not None and pins is not None:
                angle = np.full(len(GRID_BOARDS), seen.entry_angle_deg[0])
                said.append(item.trust * _pins_log_likelihood(pins, item, GRID_BOARDS, angle, table))
                offsets.append(float(seen.offset_boards[0]))
                slopes.append(_slope(seen.offset_boards) @ row)
        if said:
            precision, pull = sites.settle(
                np.array(said), np.array(offsets), np.array(slopes), precision, pull
            )
        move = np.linalg.solve(precision, pull)
        centre = np.clip(centre + damping * np.clip(move, -1.0, 1.0), -3.0, 3.0)
        damping = max(0.5, 0.85 * damping)
        step()
        if float(np.abs(move).max()) < 0.03:
            break
    return centre, precision


def _slope(values: FloatArray) -> FloatArray:
    """Slopes (7,) along the unknowns, from values (15,) at the points of `Unknowns.around`."""
    result: FloatArray = (values[1:8] - values[8:]) / (2.0 * _STEPS)
    return result
