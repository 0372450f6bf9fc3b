"""Ball and pins in plan: impacts, tipping and sweeping by mechanics, what the plane leaves out fitted.

By mechanics: true radii where ball and pin meet (the ball's centre is within a quarter of an inch of the
pin's belly in height, so the radii add in plan), true masses, frictionless impacts that conserve momentum,
the ball's own roll driving it on, the least blow that topples a pin, a struck pin that tips at the rate its
blow and weight give it and lies down into a rod that sweeps what still stands, kickbacks.

Fitted or assumed: restitution of pins and kickbacks, drag of the deck, how much of a lying pin's length
sweeps, the spin of a struck pin (drawn), and spots that scatter by more than a machine's error because the
scatter also stands for what the plane leaves out (pins in the air, tilted contacts). See PinPhysics and
docs/pins.md. After the first two impacts the result is chaotic and only its distribution means anything. This
is a model: it replaces no count of real strikes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from motion import units
from motion.errors import FloatArray, MotionError, number, one_of
from motion.kernels import pins as kernels
from motion.leaves import FULL_RACK, check_mask, mirror, pins_of

Masks = NDArray[np.int64]

# Pin spots: equilateral, 12 in apart, head pin on the centre of the lane (derived, facts 1b).
ROW_IN = 12.0 * math.sqrt(3.0) / 2.0
_ROW_OF_PIN = (0, 1, 1, 2, 2, 2, 3, 3, 3, 3)
_ACROSS_IN = (0.0, -6.0, 6.0, -12.0, 0.0, 12.0, -18.0, -6.0, 6.0, 18.0)
PIN_SPOTS_IN: FloatArray = np.array(
    [(across, row * ROW_IN) for across, row in zip(_ACROSS_IN, _ROW_OF_PIN, strict=True)]
)

OFFSET_BOARDS = (-19.5, 19.5)
ANGLE_DEG = (-10.0, 15.0)
SPEED_AT_PINS_MPH = (5.0, 30.0)
WEIGHT_LB = (6.0, units.BALL_WEIGHT_MAX_LB)
MOST_SAMPLES, MOST_TRACED, MOST_SEED = 1_000_000, 10_000, 2**63 - 1

# Published: 16 to 18 mph at impact (bowlingball.com/BowlVersity/bowling-pin-specifications, found).
USUAL_SPEED_AT_PINS_MPH = 17.0
_RUN_UP_M = 0.05


@dataclass(frozen=True, kw_only=True)
class PinPhysics:
    """Numbers of the pin model; equations, checks and what the fit reached are in docs/pins.md.

    The pin's sizes are from memory, its radii of gyration derived from its outline as a uniform body;
    restitution_ball is the assumed 0.7 of the first-impact table in the facts. The block marked fitted is
    what script/fit_pins.py found.
    """

    pin_weight_lb: float = 3.5
    pin_radius_in: float = units.PIN_DIAMETER_IN / 2.0
    pin_height_in: float = 15.0
    belly_height_in: float = 4.5
    base_radius_in: float = 2.031 / 2.0
    centre_of_gravity_in: float = 5.75
    rg_across_in: float = 3.57
    rg_along_in: float = 1.38
    ball_rg_in: float = 2.50
    restitution_ball: float = 0.70
    # Fitted.
    restitution_pin: float = 0.513
    deck_friction: float = 0.197
    pin_drag: float = 0.417
    kickback_restitution: float = 0.283
    spot_sd_in: float = 0.42
    sweep_share: float = 0.469
    spin_sd_rad_s: float = 12.5
    # Kickback to kickback: lane and both channels are 60 to 60 1/4 in (found second-hand).
    kickback_in: float = 60.125 / 2.0
    # Tail of the lane 62 ft 10 3/16 in from the foul line (found second-hand), from the head pin's spot.
    pit_in: float = 34.1875

    @property
    def topple_energy_j_per_kg(self) -> float:
        """Energy [J/kg] that lifts the centre of gravity over the base's edge: g (sqrt(h2 + r2) - h)."""
        height, edge = units.in_to_m(self.centre_of_gravity_in), units.in_to_m(self.base_radius_in)
        return units.GRAVITY_MPS2 * (math.hypot(height, edge) - height)

    @property
    def edge_inertia_m2(self) -> float:
        """Moment of inertia about the base's far edge over the mass [m2]: k2 + h2 + r2."""
        parts = (self.rg_across_in, self.centre_of_gravity_in, self.base_radius_in)
        return sum(units.in_to_m(part) ** 2 for part in parts)

    @property
    def topple_speed_mps(self) -> float:
        """Least impulse over mass [m/s], given at the belly, that tips a pin over its base's far edge.

        An impulse m v at height c turns the pin at v c / I about the edge; I w2 / 2 must reach the energy.
        """
        lift = math.sqrt(2.0 * self.topple_energy_j_per_kg * self.edge_inertia_m2)
        return lift / units.in_to_m(self.belly_height_in)

    @property
    def tip_per_speed_rad_m(self) -> float:
        """Tipping rate per speed given [rad/m]: a free pin struck d under its centre of gravity, d / k2."""
        below = units.in_to_m(self.centre_of_gravity_in - self.belly_height_in)
        return below / units.in_to_m(self.rg_across_in) ** 2

    @property
    def tip_by_weight_rad_s(self) -> float:
        """Rate at which its own weight tips a pin standing on its edge [rad/s]: sqrt(g h / I)."""
        height = units.in_to_m(self.centre_of_gravity_in)
        return math.sqrt(units.GRAVITY_MPS2 * height / self.edge_inertia_m2)


DEFAULT_PHYSICS = PinPhysics()


@dataclass(frozen=True, slots=True)
class Impact:
    """One impact of a traced rack: bodies (0 the ball, n pin n), time [s], velocities (x, y) [m/s].

    Spin energies [J] are the first body's, about the vertical.
    """

    time_s: float
    first: int
    second: int
    first_before: tuple[float, float]
    second_before: tuple[float, float]
    first_after: tuple[float, float]
    second_after: tuple[float, float]
    topples: bool
    spin_energy_before_j: float
    spin_energy_after_j: float


def simulate_rack(
    standing: int = FULL_RACK,
    *,
    offset_boards: float,
    entry_angle_deg: float,
    speed_mph: float = USUAL_SPEED_AT_PINS_MPH,
    weight_lb: float = 15.0,
    diameter_in: float = 8.55,
    hand: str = "right",
    seed: int = 0,
    samples: int = 1,
    physics: PinPhysics = DEFAULT_PHYSICS,
) -> Masks:
    """Pins left standing, one mask per sample (samples,), after balls at the same rack.

    offset_boards: 20 - ball-centre board when ball and head pin touch, positive on the bowler's own side;
    where the head pin is missing, at the same place as if it stood; wide of it, at 60 ft. entry_angle_deg:
    positive away from the own gutter. speed_mph: at the pins. Masks are lane pins (10 on the right) for
    either hand. Equal arguments give equal results; a left-hander's are the exact mirror. Raises MotionError
    outside the ranges.
    """
    check_mask(standing, "pins standing")
    offset = number("offset_boards", offset_boards, *OFFSET_BOARDS, "boards")
    angle = _checked_ball(entry_angle_deg, speed_mph, weight_lb, diameter_in)
    _check_draws(samples, seed)
    one_of("hand", hand, ("right", "left"))
    start = _start(offset, angle, speed_mph, diameter_in, physics)
    return _roll(standing, start, weight_lb, diameter_in, hand, seed, samples, physics)


def simulate_aimed(
    standing: int,
    *,
    aim_boards: float,
    entry_angle_deg: float,
    speed_mph: float = USUAL_SPEED_AT_PINS_MPH,
    weight_lb: float = 15.0,
    diameter_in: float = 8.55,
    seed: int = 0,
    samples: int = 1,
    physics: PinPhysics = DEFAULT_PHYSICS,
) -> Masks:
    """Pins left standing (samples,), by where the ball's straight path passes the front row of a leave.

    standing: at least one pin. aim_boards: 20 - board there, were no pin in the way. Otherwise as
    simulate_rack, for a right-hander.
    """
    depth = depth_boards(standing)
    aim = number("aim_boards", aim_boards, *OFFSET_BOARDS, "boards")
    angle = math.radians(_checked_ball(entry_angle_deg, speed_mph, weight_lb, diameter_in))
    _check_draws(samples, seed)
    # Nothing stands before the front row, so the ball starts just short of it, on the lane.
    before = units.in_to_m(diameter_in / 2.0 + physics.pin_radius_in) + _RUN_UP_M
    speed = units.mph_to_mps(speed_mph)
    x = aim * units.BOARD_M + before * math.tan(angle)
    y = depth * units.BOARD_M - before
    start = (x, y, -speed * math.sin(angle), speed * math.cos(angle))
    return _roll(standing, start, weight_lb, diameter_in, "right", seed, samples, physics)


def depth_boards(standing: int) -> float:
    """How far behind the head pin's spot the front row of a leave stands [boards]; raises MotionError."""
    if check_mask(standing, "pins standing") == 0:
        raise MotionError("pins standing", standing, "at least one pin (mask 1 to 1023)")
    front = pins_of(standing)[0]
    return _ROW_OF_PIN[front - 1] * ROW_IN / units.BOARD_IN


def _checked_ball(entry_angle_deg: float, speed_mph: float, weight_lb: float, diameter_in: float) -> float:
    """The entry angle [deg], once angle, speed, weight and size are within their ranges."""
    number("speed_mph", speed_mph, *SPEED_AT_PINS_MPH, "mph")
    number("weight_lb", weight_lb, *WEIGHT_LB, "lb")
    number("diameter_in", diameter_in, units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN, "in")
    return number("entry_angle_deg", entry_angle_deg, *ANGLE_DEG, "degrees")


def _check_draws(samples: int, seed: int) -> None:
    _check_whole("samples", samples, 1, MOST_SAMPLES)
    _check_whole("seed", seed, 0, MOST_SEED)


def _check_whole(field: str, value: int, low: int, high: int) -> None:
    whole = isinstance(value, (int, np.integer)) and not isinstance(value, bool)
    if not whole or not low <= value <= high:
        raise MotionError(field, value, f"must be a whole number, allowed {low} to {high}")


def _roll(
    standing: int,
    start: tuple[float, float, float, float],
    weight_lb: float,
    diameter_in: float,
    hand: str,
    seed: int,
    samples: int,
    physics: PinPhysics,
) -> Masks:
    rack = standing if hand == "right" else mirror(standing)
    numbers = _numbers(physics, weight_lb, diameter_in)
    left = kernels.roll_racks(rack, *start, _spots(), numbers, _jitter(samples, seed, physics))
    if hand == "left":
        return np.array([mirror(int(mask)) for mask in left], dtype=np.int64)
    return left


def trace_rack(
    standing: int = FULL_RACK,
    *,
    offset_boards: float,
    entry_angle_deg: float,
    speed_mph: float = USUAL_SPEED_AT_PINS_MPH,
    weight_lb: float = 15.0,
    diameter_in: float = 8.55,
    physics: PinPhysics = DEFAULT_PHYSICS,
    most: int = 64,
) -> tuple[int, tuple[Impact, ...]]:
    """Pins left and the first impacts, in order, with every pin exactly on its spot and no drawn spin.

    A right-hander's rack, x to the right. most: impacts told, 1 to 10,000. For checks against other
    mechanics; same ranges as simulate_rack.
    """
    number("offset_boards", offset_boards, *OFFSET_BOARDS, "boards")
    _checked_ball(entry_angle_deg, speed_mph, weight_lb, diameter_in)
    _check_whole("most", most, 1, MOST_TRACED)
    events = np.full((most, kernels.EVENT_SIZE), -1.0)
    left = kernels.roll_rack(
        check_mask(standing, "pins standing"),
        *_start(offset_boards, entry_angle_deg, speed_mph, diameter_in, physics),
        _spots(),
        _numbers(physics, weight_lb, diameter_in),
        np.zeros(kernels.JITTER_SIZE),
        events,
    )
    return int(left), tuple(_as_impact(row) for row in events if row[1] >= 0)


def _as_impact(row: FloatArray) -> Impact:
    values = [float(value) for value in row]
    return Impact(
        time_s=values[0],
        first=int(values[1]),
        second=int(values[2]),
        first_before=(values[3], values[4]),
        second_before=(values[5], values[6]),
        first_after=(values[7], values[8]),
        second_after=(values[9], values[10]),
        topples=values[11] == 1.0,
        spin_energy_before_j=values[12] / 2.0,
        spin_energy_after_j=values[13] / 2.0,
    )


def contact_distance_m(
    offset_boards: float, diameter_in: float, physics: PinPhysics = DEFAULT_PHYSICS
) -> float:
    """How far before 60 ft [m] the ball's centre is when it touches the head pin; 0 when it passes wide."""
    touch = units.in_to_m(diameter_in / 2.0 + physics.pin_radius_in)
    across = offset_boards * units.BOARD_M
    return math.sqrt(max(touch * touch - across * across, 0.0))


def _start(
    offset_boards: float, angle_deg: float, speed_mph: float, diameter_in: float, physics: PinPhysics
) -> tuple[float, float, float, float]:
    """Place and velocity of the ball a little before contact (right-hander's rack)."""
    angle = math.radians(angle_deg)
    speed = units.mph_to_mps(speed_mph)
    x = offset_boards * units.BOARD_M + _RUN_UP_M * math.tan(angle)
    y = -contact_distance_m(offset_boards, diameter_in, physics) - _RUN_UP_M
    return x, y, -speed * math.sin(angle), speed * math.cos(angle)


def _spots() -> FloatArray:
    return units.in_to_m(PIN_SPOTS_IN)


def _numbers(physics: PinPhysics, weight_lb: float, diameter_in: float) -> FloatArray:
    values = np.zeros(kernels.PHYSICS_SIZE)
    values[kernels.BALL_MASS] = units.lb_to_kg(weight_lb)
    values[kernels.PIN_MASS] = units.lb_to_kg(physics.pin_weight_lb)
    values[kernels.BALL_RADIUS] = units.in_to_m(diameter_in / 2.0)
    values[kernels.PIN_RADIUS] = units.in_to_m(physics.pin_radius_in)
    values[kernels.RESTITUTION_BALL] = physics.restitution_ball
    values[kernels.RESTITUTION_PIN] = physics.restitution_pin
    values[kernels.TOPPLE_SPEED] = physics.topple_speed_mps
    values[kernels.DECK_FRICTION] = physics.deck_friction
    values[kernels.PIN_DRAG] = physics.pin_drag
    values[kernels.WALL_X] = units.in_to_m(physics.kickback_in)
    values[kernels.WALL_RESTITUTION] = physics.kickback_restitution
    values[kernels.EDGE_X] = units.in_to_m(units.LANE_WIDTH_IN / 2.0)
    values[kernels.PIT_Y] = units.in_to_m(physics.pit_in)
    values[kernels.BALL_INERTIA] = (physics.ball_rg_in / (diameter_in / 2.0)) ** 2
    values[kernels.GRAVITY] = units.GRAVITY_MPS2
    base = physics.centre_of_gravity_in - physics.pin_radius_in
    head = physics.pin_height_in - physics.centre_of_gravity_in - physics.pin_radius_in
    values[kernels.BASE_REACH] = physics.sweep_share * units.in_to_m(base)
    values[kernels.HEAD_REACH] = physics.sweep_share * units.in_to_m(head)
    values[kernels.TIP_PER_SPEED] = physics.tip_per_speed_rad_m
    values[kernels.TIP_BY_WEIGHT] = physics.tip_by_weight_rad_s
    values[kernels.UPRIGHT_INERTIA] = units.in_to_m(physics.rg_along_in) ** 2
    values[kernels.LYING_INERTIA] = units.in_to_m(physics.rg_across_in) ** 2
    return values


def _jitter(samples: int, seed: int, physics: PinPhysics) -> FloatArray:
    draws = np.random.default_rng(seed).normal(size=(samples, kernels.JITTER_SIZE))
    draws[:, :20] *= units.in_to_m(physics.spot_sd_in)
    draws[:, 20:] *= physics.spin_sd_rad_s
    return draws
