"""What the engine is asked about: a ball, a release, a line; validated when made, so later code can trust
it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from motion import units
from motion.errors import FloatArray, MotionError, number, one_of, shaped

COVERS = ("plastic", "urethane", "reactive_solid", "reactive_hybrid", "reactive_pearl")
HANDS = ("right", "left")

SPEED_MPH = (5.0, 40.0)
REV_RATE_RPM = (0.0, 800.0)
# Beyond this a slow ball with many revs would roll back towards the bowler, which the march along the lane
# cannot follow (tests try every corner of these ranges).
AXIS_ROTATION_DEG = (-100.0, 100.0)
AXIS_TILT_DEG = (-30.0, 90.0)
LAUNCH_DEG = (-10.0, 10.0)
LAYDOWN_BOARD = (units.EDGE_LOW_BOARD, units.EDGE_HIGH_BOARD)


def _set(instance: object, name: str, value: object) -> None:
    object.__setattr__(instance, name, value)


@dataclass(frozen=True, kw_only=True)
class BallSpec:
    """A drilled ball: weight [lb], radii of gyration [in], cover and the Ra roughness of its surface now
    [um].

    roughness_um is the average roughness Ra that scanners report; the friction law turns it into the RMS
    roughness it needs. Raises MotionError outside the equipment limits (restated USBC values, see ``units``).
    """

    weight_lb: float
    rg_in: float
    differential_in: float = 0.0
    intermediate_differential_in: float = 0.0
    diameter_in: float = 8.55
    cover: str = "reactive_solid"
    roughness_um: float = 0.5
    roughness_sd_um: float = 0.0
    pin_to_pap_in: float | None = None
    drilling_angle_deg: float | None = None
    val_angle_deg: float | None = None

    def __post_init__(self) -> None:
        legal = "equipment rule limit"
        _set(
            self, "weight_lb", number("weight_lb", self.weight_lb, 6.0, units.BALL_WEIGHT_MAX_LB, "lb", legal)
        )
        _set(self, "rg_in", number("rg_in", self.rg_in, units.RG_MIN_IN, units.RG_MAX_IN, "in", legal))
        _set(
            self,
            "differential_in",
            number("differential_in", self.differential_in, 0.0, units.DIFFERENTIAL_MAX_IN, "in", legal),
        )
        _set(
            self,
            "intermediate_differential_in",
            number(
                "intermediate_differential_in",
                self.intermediate_differential_in,
                0.0,
                self.differential_in,
                "in",
                "cannot exceed the total differential",
            ),
        )
        _set(
            self,
            "diameter_in",
            number(
                "diameter_in",
                self.diameter_in,
                units.BALL_DIAMETER_MIN_IN,
                units.BALL_DIAMETER_MAX_IN,
                "in",
                legal,
            ),
        )
        one_of("cover", self.cover, COVERS)
        _set(self, "roughness_um", number("roughness_um", self.roughness_um, 0.01, 10.0, "um"))
        _set(self, "roughness_sd_um", number("roughness_sd_um", self.roughness_sd_um, 0.0, 10.0, "um"))
        for name, low, high, unit in (
            ("pin_to_pap_in", 0.0, 6.75, "in"),
            ("drilling_angle_deg", 0.0, 180.0, "degrees"),
            ("val_angle_deg", 0.0, 90.0, "degrees"),
        ):
            value = getattr(self, name)
            if value is not None:
                _set(self, name, number(name, value, low, high, unit))


IDENTITY: tuple[tuple[float, ...], ...] = tuple(
    tuple(1.0 if i == j else 0.0 for j in range(5)) for i in range(5)
)


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """Shot-to-shot spread of a release: five standard deviations and their correlation matrix.

    Order everywhere: speed [mph], launch [deg], laydown [boards], rev rate [rpm], axis rotation [deg].
    """

    sd_speed_mph: float = 0.3
    sd_launch_deg: float = 0.25
    sd_laydown_boards: float = 0.5
    sd_rev_rate_rpm: float = 10.0
    sd_axis_rotation_deg: float = 3.0
    correlation: tuple[tuple[float, ...], ...] = IDENTITY

    def __post_init__(self) -> None:
        for name, high, unit in (
            ("sd_speed_mph", 5.0, "mph"),
            ("sd_launch_deg", 5.0, "degrees"),
            ("sd_laydown_boards", 10.0, "boards"),
            ("sd_rev_rate_rpm", 200.0, "rpm"),
            ("sd_axis_rotation_deg", 45.0, "degrees"),
        ):
            _set(self, name, number(name, getattr(self, name), 0.0, high, unit))
        try:
            matrix = np.array(self.correlation, dtype=np.float64)
        except (TypeError, ValueError, OverflowError):
            raise MotionError("correlation", self.correlation, "must be five rows of five numbers") from None
        if matrix.shape != (5, 5) or not np.isfinite(matrix).all():
            raise MotionError(
                "correlation", f"shape {matrix.shape}", "must be five rows of five finite numbers"
            )
        if not np.array_equal(matrix, matrix.T) or not np.array_equal(np.diag(matrix), np.ones(5)):
            raise MotionError("correlation", "matrix", "must be symmetric with ones on its diagonal")
        if float(np.linalg.eigvalsh(matrix)[0]) < -1e-9:
            raise MotionError("correlation", "matrix", "must have no negative eigenvalue")
        _set(self, "correlation", tuple(tuple(float(x) for x in row) for row in matrix))

    def covariance(self) -> FloatArray:
        """Return the (5, 5) covariance in the order of the class docstring."""
        sd = np.array(
            [
                self.sd_speed_mph,
                self.sd_launch_deg,
                self.sd_laydown_boards,
                self.sd_rev_rate_rpm,
                self.sd_axis_rotation_deg,
            ]
        )
        result: FloatArray = sd[:, None] * np.array(self.correlation) * sd[None, :]
        return result


@dataclass(frozen=True, kw_only=True)
class ReleaseSpec:
    """A named release as numbers at the moment the ball leaves the hand, with its scatter."""

    speed_mph: float
    rev_rate_rpm: float
    axis_rotation_deg: float
    axis_tilt_deg: float = 0.0
    scatter: Scatter = field(default_factory=Scatter)

    def __post_init__(self) -> None:
        _set(self, "speed_mph", number("speed_mph", self.speed_mph, *SPEED_MPH, "mph"))
        _set(self, "rev_rate_rpm", number("rev_rate_rpm", self.rev_rate_rpm, *REV_RATE_RPM, "rpm"))
        _set(
            self,
            "axis_rotation_deg",
            number("axis_rotation_deg", self.axis_rotation_deg, *AXIS_ROTATION_DEG, "degrees"),
        )
        _set(self, "axis_tilt_deg", number("axis_tilt_deg", self.axis_tilt_deg, *AXIS_TILT_DEG, "degrees"))


@dataclass(frozen=True, kw_only=True)
class Line:
    """Laydown and target in own-side boards; with their distances [ft] they fix the launch angle."""

    laydown_board: float
    target_board: float
    target_ft: float = 15.0
    laydown_ft: float = 0.0

    def __post_init__(self) -> None:
        _set(self, "laydown_board", number("laydown_board", self.laydown_board, *LAYDOWN_BOARD, "(board)"))
        _set(self, "target_board", number("target_board", self.target_board, *LAYDOWN_BOARD, "(board)"))
        _set(self, "laydown_ft", number("laydown_ft", self.laydown_ft, 0.0, 8.0, "ft"))
        _set(self, "target_ft", number("target_ft", self.target_ft, self.laydown_ft + 4.0, 60.0, "ft"))
        low, high = LAUNCH_DEG
        if not low <= self.launch_deg <= high:
            raise MotionError(
                "launch_deg",
                self.launch_deg,
                f"laydown {self.laydown_board:g} and target {self.target_board:g} "
                f"must give {low:g} to {high:g} degrees",
            )

    @property
    def launch_deg(self) -> float:
        """Launch angle [degrees], positive toward the own gutter."""
        across_ft = (self.laydown_board - self.target_board) * units.BOARD_IN / 12.0
        return math.degrees(math.atan2(across_ft, self.target_ft - self.laydown_ft))

    @property
    def foul_line_board(self) -> float:
        """Board where the line, drawn back from the laydown, crosses the foul line."""
        if self.laydown_ft == 0.0:
            return self.laydown_board
        slope = (self.laydown_board - self.target_board) / (self.target_ft - self.laydown_ft)
        return self.laydown_board + slope * self.laydown_ft


def own_side(lane_map: FloatArray, hand: str) -> FloatArray:
    """Return a (..., 39) map stored from the right as the bowler of that hand counts it (and back again)."""
    one_of("hand", hand, HANDS)
    return lane_map if hand == "right" else np.ascontiguousarray(lane_map[..., ::-1])


def lane_map(field_name: str, values: FloatArray, low: float, high: float, unit: str = "") -> FloatArray:
    """Return values as a checked float64 (61, 39) map; raises MotionError naming the node at fault."""
    try:
        array = np.ascontiguousarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError(field_name, values, "must be a (61, 39) array of numbers") from None
    shaped(field_name, array, (units.FEET, units.BOARDS))
    good = (array >= low) & (array <= high)
    if not good.all():
        foot, column = (int(i) for i in np.argwhere(~good)[0])
        raise MotionError(
            f"{field_name} at {foot} ft, board {column + 1}",
            float(array[foot, column]),
            f"allowed {low:g} to {high:g}" + (f" {unit}" if unit else ""),
        )
    return array
