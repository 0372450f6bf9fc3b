"""Unit factors against published numbers, and the trade's ways of naming boards."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest

from motion import units
from motion.boards import expand_band, parse_board_token
from motion.errors import MotionError, number, numbers, one_of


def test_unit_factors_are_those_defined_by_international_agreement():
    # 1 in = 25.4 mm, 1 mph = 0.44704 m/s, 1 lb = 0.45359237 kg (exact), and what follows from them.
    assert units.mph_to_mps(17.9) == pytest.approx(
        8.00, abs=0.01
    )  # Ji et al. 2025 give the pair 17.9 mph, 8.00 m/s
    assert units.lb_to_kg(16.0) == pytest.approx(7.257, abs=0.001)
    assert units.mps_to_mph(units.mph_to_mps(17.0)) == pytest.approx(17.0)
    assert units.in_to_m(720.0) == pytest.approx(18.288)
    assert units.rpm_to_rad_s(60.0) == pytest.approx(2.0 * math.pi)


def test_boards_and_metres_follow_the_convention():
    # Board n's centre is n; metres from the gutter edge = (b - 0.5) x 41.5 in / 39.
    assert pytest.approx(1.0641, abs=1e-4) == units.BOARD_IN
    assert units.board_to_m(0.5) == 0.0
    assert units.board_to_m(39.5) == pytest.approx(1.0541)
    assert units.other_side(17.5) == 22.5


def test_oil_units_reproduce_the_derived_table():
    # Fact sheet section 2: 1 unit = 0.1798 um, 3 units = 0.539 um, 1 unit over 41.5 in x 40 ft = 2.31 mL.
    assert units.units_to_um(1.0) == pytest.approx(0.1798, abs=5e-5)
    assert units.units_to_um(3.0) == pytest.approx(0.539, abs=5e-4)
    per_lane = units.units_to_um(1.0) / units.ul_per_board_ft_to_um(1.0) * 39 * 40 / 1000.0
    assert per_lane == pytest.approx(2.31, abs=0.005)
    # 20 mL over 41.5 in x 40 ft: 1.556 um, 8.66 units; 1000 uL on one board over 40 ft: 3.03 um.
    mean = units.ul_per_board_ft_to_um(20_000.0 / (39 * 40))
    assert mean == pytest.approx(1.556, abs=5e-4)
    assert units.units_to_um(8.66) == pytest.approx(mean, abs=0.002)
    assert units.ul_per_board_ft_to_um(1000.0 / 40.0) == pytest.approx(3.03, abs=0.005)


@pytest.mark.parametrize(
    ("token", "board"), [("12", 12), (" 5R ", 5), ("3L", 37), ("3l", 37), ("20L", 20), ("39L", 1), (17, 17)]
)
def test_a_board_may_be_named_from_either_side(token, board):
    assert parse_board_token(token) == board


@pytest.mark.parametrize("token", ["0", "40", "3X", "", "L", "1.5", "-4", "100"])
def test_a_board_that_is_none_is_refused_with_what_is_allowed(token):
    with pytest.raises(MotionError, match="1 to 39"):
        parse_board_token(token, "from_board")


def test_bands_expand_to_boards_counted_from_the_right():
    assert expand_band("3L-5R") == tuple(range(5, 38))
    assert expand_band("8-12") == (8, 9, 10, 11, 12)
    assert expand_band("2L – 2R") == tuple(range(2, 39))
    assert expand_band("17") == (17,)
    with pytest.raises(MotionError, match="dash"):
        expand_band("1-2-3")


def test_an_error_names_field_value_and_range_and_survives_pickling():
    with pytest.raises(MotionError) as caught:
        number("weight_lb", 16.3, 6.0, 16.0, "lb")
    assert str(caught.value) == "weight_lb: 16.3 — allowed 6 to 16 lb"
    again = pickle.loads(pickle.dumps(caught.value))  # noqa: S301
    assert (again.field, again.value, again.allowed) == ("weight_lb", 16.3, "allowed 6 to 16 lb")
    with pytest.raises(MotionError, match="plastic, urethane"):
        one_of("cover", "wood", ("plastic", "urethane"))
    with pytest.raises(MotionError, match=r"oil\[1, 2\]: nan"):
        numbers("oil", np.array([[1.0, 1, 1], [1, 1, np.nan]]), 0.0, 2.0)
    with pytest.raises(MotionError, match="must be numbers"):
        numbers("oil", ["x"], 0.0, 2.0)
