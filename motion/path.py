"""One ball on one friction map: the exact reference problem, and the same march for many paths at once.

The ball is a sphere of radius R with isotropic inertia m RG^2 on a plane with friction mu(x, y); Coulomb
friction acts against the slip of the contact point u = v + omega x (-R z). With k = (RG/R)^2 the slip keeps
its direction on any map (du/dt = -(1 + 1/k) mu g u/|u|), so velocity is an affine function of the slip speed
alone and the path is one scalar equation plus a quadrature. Standard mechanics; the parabola on uniform
friction is the result of Hopkins & Patterson, Am. J. Phys. 45 (1977) 263 (paper not read, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion import units
from motion.errors import FloatArray, MotionError, number, numbers
from motion.inputs import (
    AXIS_ROTATION_DEG,
    AXIS_TILT_DEG,
    LAUNCH_DEG,
    LAYDOWN_BOARD,
    REV_RATE_RPM,
    SPEED_MPH,
    lane_map,
)
from motion.kernels.march import launch_state, march_many, reference_march

OUTPUT_FT = 0.5
MU_RANGE = (0.0, 1.0)
FREE_LAYDOWN_BOARD = (-20.0, 60.0)  # a scattered laydown may miss the lane
# What a drilled ball may turn with: between the least and the greatest radius of gyration of a legal ball.
EFFECTIVE_K = (
    (2.0 * units.RG_MIN_IN / units.BALL_DIAMETER_MAX_IN) ** 2,
    (2.0 * (units.RG_MAX_IN + units.DIFFERENTIAL_MAX_IN) / units.BALL_DIAMETER_MIN_IN) ** 2,
)


@dataclass(frozen=True, kw_only=True)
class PathResult:
    """One path; arrays share their length, one entry every half foot from the foul line to 60 ft.

    Boards are own-side; directions and the entry angle [deg] are positive away from the own gutter.
    ``roll_start_ft`` is None if the ball still slides at 60 ft, ``gutter_ft`` None if its centre stays on the
    lane (0.5 to 39.5). A path that reaches the gutter is still continued on the plane to 60 ft, as the
    reference problem asks, but it has no contact with the head pin. Contact fields are None if ball and head
    pin do not touch.
    """

    y_ft: FloatArray
    board: FloatArray
    speed_mph: FloatArray
    direction_deg: FloatArray
    time_s: FloatArray
    slip_mph: FloatArray
    board_at_60: float
    entry_angle_deg: float
    speed_at_60_mph: float
    roll_start_ft: float | None
    time_s_total: float
    revolutions: float
    gutter_ft: float | None
    contact_board: float | None
    contact_angle_deg: float | None
    contact_offset_boards: float | None
    breakpoint_board: float
    breakpoint_ft: float


@dataclass(frozen=True, kw_only=True)
class PathBatch:
    """Many paths, one entry each (n,); NaN where a path has no such event.

    ``gutter`` is True where the ball's centre leaves the lane before 60 ft; ``track_board`` (n, 61) holds the
    board at every foot (NaN beyond a gutter) or is None unless asked for.
    """

    board_at_60: FloatArray
    entry_angle_deg: FloatArray
    speed_at_60_mph: FloatArray
    roll_start_ft: FloatArray
    contact_board: FloatArray
    contact_angle_deg: FloatArray
    contact_offset_boards: FloatArray
    gutter: NDArray[np.bool_]
    gutter_ft: FloatArray
    breakpoint_board: FloatArray
    breakpoint_ft: FloatArray
    track_board: FloatArray | None

    def tracks(self) -> FloatArray:
        """The tracks (n, 61); raises MotionError if the batch was marched without them."""
        if self.track_board is None:
            raise MotionError("track_board", "none", "march with tracks=True")
        return self.track_board


def contact_reach_m(diameter_in: units.Num) -> units.Num:
    """Distance between ball and pin centres when they touch [m]: the sum of their radii in plan."""
    return units.in_to_m((diameter_in + units.PIN_DIAMETER_IN) / 2.0)


def _optional(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def solve_path(
    mu: FloatArray,
    *,
    speed_mph: float,
    rev_rate_rpm: float,
    axis_rotation_deg: float,
    axis_tilt_deg: float = 0.0,
    launch_deg: float,
    laydown_board: float,
    rg_in: float,
    diameter_in: float = 8.55,
    step_ft: float = 1.0 / 32.0,
) -> PathResult:
    """Solve the reference problem: the path of one ball on a given friction map.

    mu: (61, 39) coefficient of friction, rows feet 0..60, columns own-side boards 1..39 [-], 0 to 1; bilinear
    between nodes, constant beyond the outermost.
    speed_mph [mph], rev_rate_rpm [rpm], axis_rotation_deg, axis_tilt_deg [deg]: at release.
    launch_deg [deg]: positive toward the own gutter. laydown_board: own-side board at the foul line.
    rg_in [in]: radius of gyration, 2.46 to 2.80. diameter_in [in].
    step_ft [ft]: largest step of the RK4 march.

    The axis follows the direction of travel, not the lane: rotation is the angle, seen from above, between
    the spin axis and the perpendicular to the ball's own velocity at release (definition from memory). With
    launch a and W = rev_rate cos(tilt), along the lane and away from the own gutter: velocity
    v0 (cos a, -sin a), surface velocity R W (cos(rotation - a), sin(rotation - a)).

    Raises MotionError naming the field, its value and the range. Equations: module docstring.
    """
    mu = lane_map("mu", mu, *MU_RANGE)
    speed = units.mph_to_mps(number("speed_mph", speed_mph, *SPEED_MPH, "mph"))
    rev_rate = units.rpm_to_rad_s(number("rev_rate_rpm", rev_rate_rpm, *REV_RATE_RPM, "rpm"))
    rotation = math.radians(number("axis_rotation_deg", axis_rotation_deg, *AXIS_ROTATION_DEG, "degrees"))
    tilt = math.radians(number("axis_tilt_deg", axis_tilt_deg, *AXIS_TILT_DEG, "degrees"))
    launch = math.radians(number("launch_deg", launch_deg, *LAUNCH_DEG, "degrees"))
    board = number("laydown_board", laydown_board, *LAYDOWN_BOARD, "(board)")
    radius_m, k = _ball(rg_in, diameter_in)
    substeps = math.ceil(OUTPUT_FT / number("step_ft", step_ft, 1e-4, OUTPUT_FT, "ft") - 1e-9)

    state = np.zeros(7)
    launch_state(speed, rev_rate * radius_m, rotation, tilt, launch, k, state)
    rows = np.empty((int(units.LANE_LENGTH_FT / OUTPUT_FT) + 1, 7))
    facts = np.full(7, contact_reach_m(diameter_in))
    reference_march(mu, state, k, rev_rate * math.sin(tilt), radius_m, board, substeps, rows, facts)

    speed_mph_path = units.mps_to_mph(np.hypot(rows[:, 2], rows[:, 3]))
    direction = np.degrees(np.arctan2(rows[:, 3], rows[:, 2]))
    contact_board = _optional(facts[2])
    return PathResult(
        y_ft=rows[:, 0].copy(),
        board=rows[:, 1].copy(),
        speed_mph=speed_mph_path,
        direction_deg=direction,
        time_s=rows[:, 4].copy(),
        slip_mph=units.mps_to_mph(rows[:, 6]),
        board_at_60=float(rows[-1, 1]),
        entry_angle_deg=float(direction[-1]),
        speed_at_60_mph=float(speed_mph_path[-1]),
        roll_start_ft=_optional(facts[0]),
        time_s_total=float(rows[-1, 4]),
        revolutions=float(rows[-1, 5]),
        gutter_ft=_optional(facts[1]),
        contact_board=contact_board,
        contact_angle_deg=_optional(math.degrees(facts[3])),
        contact_offset_boards=None if contact_board is None else units.HEAD_PIN_BOARD - contact_board,
        breakpoint_board=float(facts[5]),
        breakpoint_ft=float(facts[6]),
    )


def _ball(rg_in: float, diameter_in: float) -> tuple[float, float]:
    """Return radius [m] and k = (RG/R)^2."""
    rg = number("rg_in", rg_in, units.RG_MIN_IN, units.RG_MAX_IN, "in", "equipment rule limits")
    diameter = number(
        "diameter_in",
        diameter_in,
        units.BALL_DIAMETER_MIN_IN,
        units.BALL_DIAMETER_MAX_IN,
        "in",
        "equipment rule limits",
    )
    return units.in_to_m(diameter / 2.0), (rg / (diameter / 2.0)) ** 2


def map_stack(mu: FloatArray) -> FloatArray:
    """Return one map or many as a checked stack (m, 61, 39)."""
    try:
        if np.iscomplexobj(mu):
            raise TypeError
        stack = np.ascontiguousarray(mu, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError("mu", "not numbers", "must be numbers of shape (61, 39) or (m, 61, 39)") from None
    if stack.ndim == 2:
        stack = stack[None]
    if stack.ndim != 3 or stack.shape[1:] != (units.FEET, units.BOARDS) or stack.shape[0] == 0:
        raise MotionError("mu", f"shape {np.shape(mu)}", "must have shape (61, 39) or (m, 61, 39)")
    if not ((stack >= MU_RANGE[0]) & (stack <= MU_RANGE[1])).all():
        raise MotionError("mu", "a node", f"every node must be {MU_RANGE[0]:g} to {MU_RANGE[1]:g}")
    return stack


@dataclass(frozen=True, kw_only=True, eq=False)
class PathColumns:
    """What a batch of paths starts from, checked, in SI units and boards: arrays (n,) each.

    ``surface_mps`` is the rev rate times the ball's radius, ``k`` is (RG/R)^2, ``mu_index`` names each path's
    map.
    """

    speed_mps: FloatArray
    surface_mps: FloatArray
    rotation: FloatArray
    tilt: FloatArray
    launch: FloatArray
    laydown_board: FloatArray
    k: FloatArray
    mu_index: NDArray[np.int64]
    radius_m: float

    def __len__(self) -> int:
        return len(self.speed_mps)

    def rows(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> PathColumns:
        """Some of the paths."""
        arrays = {name: getattr(self, name)[which] for name in _COLUMNS}
        return PathColumns(radius_m=self.radius_m, **arrays)


_COLUMNS = (
    "speed_mps", "surface_mps", "rotation", "tilt", "launch", "laydown_board", "k", "mu_index",
)  # fmt: skip


def path_columns(
    maps: int,
    speed_mph: ArrayLike,
    rev_rate_rpm: ArrayLike,
    axis_rotation_deg: ArrayLike,
    launch_deg: ArrayLike,
    laydown_board: ArrayLike,
    rg_in: ArrayLike,
    diameter_in: float,
    mu_index: ArrayLike | None,
    axis_tilt_deg: ArrayLike,
    k: ArrayLike | None = None,
) -> PathColumns:
    """Check and convert the inputs of `march_batch` for a stack of `maps` maps; raises MotionError."""
    columns = (
        units.mph_to_mps(numbers("speed_mph", speed_mph, *SPEED_MPH, "mph")),
        units.rpm_to_rad_s(numbers("rev_rate_rpm", rev_rate_rpm, *REV_RATE_RPM, "rpm")),
        np.radians(numbers("axis_rotation_deg", axis_rotation_deg, *AXIS_ROTATION_DEG, "degrees")),
        np.radians(numbers("axis_tilt_deg", axis_tilt_deg, *AXIS_TILT_DEG, "degrees")),
        np.radians(numbers("launch_deg", launch_deg, *LAUNCH_DEG, "degrees")),
        numbers("laydown_board", laydown_board, *FREE_LAYDOWN_BOARD, "(board)"),
        numbers("rg_in", rg_in, units.RG_MIN_IN, units.RG_MAX_IN, "in", "equipment rule limits"),
        np.full((), np.nan) if k is None else numbers("k", k, *EFFECTIVE_K),
    )
    try:
        index = np.zeros(()) if mu_index is None else np.asarray(mu_index, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError("mu_index", mu_index, f"must be whole numbers from 0 to {maps - 1}") from None
    if not ((index >= 0) & (index < maps) & (index == np.floor(index))).all():
        raise MotionError("mu_index", mu_index, f"must be whole numbers from 0 to {maps - 1}")
    try:
        parts = np.broadcast_arrays(*(np.atleast_1d(c) for c in columns), np.atleast_1d(index))
    except ValueError:
        raise MotionError(
            "path inputs", "arrays of different lengths", "must all be scalars or share one length (n,)"
        ) from None
    if parts[0].ndim != 1:
        raise MotionError("path inputs", f"{parts[0].ndim} dimensions", "must be scalars or have shape (n,)")
    radius_m, _ = _ball(units.RG_MIN_IN, diameter_in)
    speed, revs, rotation, tilt, launch, laydown, rg, turning, index = parts
    return PathColumns(
        speed_mps=speed,
        surface_mps=revs * radius_m,
        rotation=rotation,
        tilt=tilt,
        launch=launch,
        laydown_board=laydown,
        k=(units.in_to_m(rg) / radius_m) ** 2 if k is None else turning,
        mu_index=index.astype(np.int64),
        radius_m=radius_m,
    )


def march_batch(
    mu: FloatArray,
    speed_mph: ArrayLike,
    rev_rate_rpm: ArrayLike,
    axis_rotation_deg: ArrayLike,
    launch_deg: ArrayLike,
    laydown_board: ArrayLike,
    rg_in: ArrayLike,
    diameter_in: float = 8.55,
    mu_index: ArrayLike | None = None,
    *,
    axis_tilt_deg: ArrayLike = 0.0,
    k: ArrayLike | None = None,
    steps_per_foot: int = 4,
    tracks: bool = False,
) -> PathBatch:
    """March many paths at once by the midpoint rule (within 0.1 board of solve_path on maps rough board by
    board).

    mu: (61, 39), or (m, 61, 39) with mu_index (n,) naming each path's map; checked as in solve_path.
    Per path, arrays (n,) or scalars: speed_mph [mph], rev_rate_rpm [rpm], axis_rotation_deg, launch_deg,
    axis_tilt_deg [deg], laydown_board [own-side board at the foul line], rg_in [in]. diameter_in [in]: one
    ball size. k [-]: (radius of gyration / R)^2 to turn with in place of rg_in's, for a drilled ball whose
    effective one may lie beyond rg_in (``motion.drilled``). steps_per_foot: 1 to 64. tracks: also return the
    board at every foot.

    A scattered laydown beyond the lane's edge is a gutter at 0 ft, not an error. Raises MotionError.
    Equations: module docstring. The same input gives the same bits on every call. The readable twin of the
    faster ``motion.engine.march``.
    """
    stack = map_stack(mu)
    columns = path_columns(
        len(stack),
        speed_mph,
        rev_rate_rpm,
        axis_rotation_deg,
        launch_deg,
        laydown_board,
        rg_in,
        diameter_in,
        mu_index,
        axis_tilt_deg,
        k,
    )
    per_foot = int(number("steps_per_foot", steps_per_foot, 1, 64))
    return march_columns(stack, columns, diameter_in, per_foot, tracks)


def march_columns(
    stack: FloatArray, columns: PathColumns, diameter_in: float, per_foot: int, tracks: bool
) -> PathBatch:
    """March checked paths over a checked stack of maps in float64; see `march_batch`."""
    n = len(columns)
    inputs = np.empty((n, 7))
    for column, name in enumerate(_COLUMNS[:7]):
        inputs[:, column] = getattr(columns, name)
    out = np.empty((n, 9))
    track_board = np.empty((n if tracks else 0, units.FEET))
    march_many(stack, columns.mu_index, inputs, contact_reach_m(diameter_in), per_foot, out, track_board)
    return PathBatch(
        board_at_60=out[:, 0].copy(),
        entry_angle_deg=np.degrees(out[:, 1]),
        speed_at_60_mph=units.mps_to_mph(out[:, 2]),
        roll_start_ft=out[:, 3].copy(),
        contact_board=out[:, 4].copy(),
        contact_angle_deg=np.degrees(out[:, 5]),
        contact_offset_boards=units.HEAD_PIN_BOARD - out[:, 4],
        gutter=~np.isnan(out[:, 6]),
        gutter_ft=out[:, 6].copy(),
        breakpoint_board=out[:, 7].copy(),
        breakpoint_ft=out[:, 8].copy(),
        track_board=track_board if tracks else None,
    )
