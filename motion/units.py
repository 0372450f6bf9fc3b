"""Lane, pin and ball geometry, and every unit conversion, in one place.

Status words are those of the project's fact sheet: *found* (read in the source), *found second-hand* (a text
restating the source), *from memory* (not read again), *derived* (arithmetic from the rows above it).
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Num = TypeVar("Num", float, NDArray[np.float64])

# Exact by definition (international yard and pound, 1959); g is the standard gravity of CGPM 1901.
INCH_M = 0.0254
FOOT_M = 0.3048
MPH_MPS = 0.44704
POUND_KG = 0.45359237
GRAVITY_MPS2 = 9.80665

# Lane. Width 41 to 42 in allowed, 41.5 nominal; 39 boards; 60 ft from foul line to head-pin spot (USBC
# equipment rules, found second-hand).
BOARDS = 39
FEET = 61  # nodes 0..60
LANE_WIDTH_IN = 41.5
LANE_LENGTH_FT = 60.0
BOARD_IN = LANE_WIDTH_IN / BOARDS  # derived, 1.0641 in
BOARD_M = BOARD_IN * INCH_M
EDGE_LOW_BOARD = 0.5  # lane edges in board numbers: half a board outside the centres of 1 and 39
EDGE_HIGH_BOARD = 39.5
HEAD_PIN_BOARD = 20.0

# Pin: belly diameter from memory; 4.766 in makes the fact sheet's sum of radii, 6.633 in with an 8.5 in ball.
PIN_DIAMETER_IN = 4.766
# Ball (USBC limits restated, found second-hand).
BALL_DIAMETER_MIN_IN = 8.500
BALL_DIAMETER_MAX_IN = 8.595
BALL_WEIGHT_MAX_LB = 16.0
RG_MIN_IN = 2.46
RG_MAX_IN = 2.80
DIFFERENTIAL_MAX_IN = 0.060

# One unit of lane oil: 0.0167 cm3 over one square foot (ABC/USBC lane-dressing practice, from memory; tape
# readings of modern patterns do not reconcile with it, so a unit is an instrument reading first).
UNIT_CM3_PER_FT2 = 0.0167
UNIT_UM = UNIT_CM3_PER_FT2 / (FOOT_M * 100.0) ** 2 * 1e4  # derived, 0.1798 um

# One micrometre of film over one board and one foot, in microlitres (1 mm3 = 1 uL); derived, 8.2386 uL.
BOARD_FOOT_UL_PER_UM = BOARD_M * FOOT_M * 1e6 * 1e-3


def mph_to_mps(speed_mph: Num) -> Num:
    """Miles per hour to metres per second."""
    return speed_mph * MPH_MPS


def mps_to_mph(speed_mps: Num) -> Num:
    """Metres per second to miles per hour."""
    return speed_mps / MPH_MPS


def in_to_m(length_in: Num) -> Num:
    """Inches to metres."""
    return length_in * INCH_M


def lb_to_kg(weight_lb: Num) -> Num:
    """Pounds to kilograms."""
    return weight_lb * POUND_KG


def rpm_to_rad_s(rate_rpm: Num) -> Num:
    """Revolutions per minute to radians per second."""
    return rate_rpm * (2.0 * math.pi / 60.0)


def board_to_m(board: Num) -> Num:
    """Board number to metres from the gutter edge it is counted from: (b - 0.5) x 41.5 in / 39."""
    return (board - 0.5) * BOARD_M


def units_to_um(film_units: Num) -> Num:
    """Units of lane oil to micrometres of film (definition from memory, see UNIT_CM3_PER_FT2)."""
    return film_units * UNIT_UM


def ul_per_board_ft_to_um(film_ul: Num) -> Num:
    """Microlitres on one board over one foot to micrometres of film."""
    return film_ul / BOARD_FOOT_UL_PER_UM


def other_side(board: Num) -> Num:
    """The same place counted from the other gutter: 40 - board."""
    return 40.0 - board
