"""Inputs refuse what the rules or the model do not allow, by name, value and range."""

from __future__ import annotations

import math

import numpy as np
import pytest

from motion.errors import MotionError
from motion.inputs import BallSpec, Line, ReleaseSpec, Scatter, lane_map, own_side


def test_the_equipment_limits_themselves_are_allowed():
    # USBC limits restated (found second-hand): 16.00 lb, RG 2.460 to 2.800 in, differential 0.060 in.
    for rg_in in (2.46, 2.80):
        ball = BallSpec(weight_lb=16.0, rg_in=rg_in, differential_in=0.060, intermediate_differential_in=0.02)
        assert ball.rg_in == rg_in


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("weight_lb", 16.3, "6 to 16 lb"),
        ("weight_lb", -1.0, "6 to 16 lb"),
        ("rg_in", 3.4, "2.46 to 2.8 in"),
        ("rg_in", float("nan"), "finite"),
        ("differential_in", 0.061, "0 to 0.06 in"),
        ("intermediate_differential_in", 0.05, "cannot exceed the total differential"),
        ("diameter_in", 8.6, "8.5 to 8.595 in"),
        ("cover", "glass", "reactive_pearl"),
        ("roughness_um", 0.0, "0.01 to 10 um"),
        ("roughness_sd_um", -0.1, "0 to 10 um"),
        ("pin_to_pap_in", 8.0, "0 to 6.75 in"),
        ("drilling_angle_deg", -5.0, "0 to 180 degrees"),
        ("val_angle_deg", 95.0, "0 to 90 degrees"),
    ],
)
def test_a_ball_outside_the_limits_is_refused(field, value, said):
    given = {"weight_lb": 15.0, "rg_in": 2.5, "differential_in": 0.04, field: value}
    with pytest.raises(MotionError) as caught:
        BallSpec(**given)
    assert caught.value.field == field and said in str(caught.value)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("speed_mph", 0.0),
        ("speed_mph", math.inf),
        ("rev_rate_rpm", -5),
        ("axis_rotation_deg", 180),
        ("axis_tilt_deg", 91),
    ],
)
def test_a_release_outside_the_range_is_refused(field, value):
    given = {
        "speed_mph": 17.0,
        "rev_rate_rpm": 350,
        "axis_rotation_deg": 45,
        "axis_tilt_deg": 10,
        field: value,
    }
    with pytest.raises(MotionError) as caught:
        ReleaseSpec(**given)
    assert caught.value.field == field


def test_scatter_gives_its_covariance_in_the_stated_order():
    correlation = [[1.0 if i == j else 0.0 for j in range(5)] for i in range(5)]
    correlation[0][3] = correlation[3][0] = 0.5
    scatter = Scatter(
        sd_speed_mph=0.4,
        sd_launch_deg=0.2,
        sd_laydown_boards=0.6,
        sd_rev_rate_rpm=12.0,
        sd_axis_rotation_deg=4.0,
        correlation=tuple(tuple(row) for row in correlation),
    )
    covariance = scatter.covariance()
    np.testing.assert_allclose(np.sqrt(np.diag(covariance)), [0.4, 0.2, 0.6, 12.0, 4.0])
    assert covariance[0, 3] == covariance[3, 0] == pytest.approx(0.5 * 0.4 * 12.0)


@pytest.mark.parametrize(
    "correlation",
    [
        ((1.0,),),
        tuple(tuple(1.0 if i == j else 2.0 for j in range(5)) for i in range(5)),
        tuple(tuple(1.0 if i == j else (0.9 if i < j else 0.1) for j in range(5)) for i in range(5)),
        tuple(tuple(float("nan") for _ in range(5)) for _ in range(5)),
    ],
)
def test_a_correlation_that_is_none_is_refused(correlation):
    with pytest.raises(MotionError, match="correlation"):
        Scatter(correlation=correlation)


def test_a_line_gives_the_launch_angle_towards_the_own_gutter():
    line = Line(laydown_board=17.0, target_board=10.0)
    across_ft = 7 * 41.5 / 39 / 12
    assert line.launch_deg == pytest.approx(math.degrees(math.atan(across_ft / 15.0)))
    assert Line(laydown_board=10.0, target_board=12.0).launch_deg < 0.0
    assert line.foul_line_board == 17.0
    past = Line(laydown_board=16.0, target_board=10.0, laydown_ft=2.0)
    assert past.foul_line_board == pytest.approx(16.0 + 6.0 / 13.0 * 2.0)


@pytest.mark.parametrize(
    "given",
    [
        {"laydown_board": 40.0, "target_board": 10.0},
        {"laydown_board": 20.0, "target_board": 0.0},
        {"laydown_board": 20.0, "target_board": 10.0, "target_ft": 2.0},
        {"laydown_board": 39.0, "target_board": 1.0, "target_ft": 12.0},
    ],
)
def test_a_line_that_cannot_be_played_is_refused(given):
    with pytest.raises(MotionError):
        Line(**given)


def test_own_side_flips_for_the_left_hand_only_and_back_again():
    lane = np.arange(61.0 * 39).reshape(61, 39)
    assert own_side(lane, "right") is lane
    flipped = own_side(lane, "left")
    assert flipped[3, 0] == lane[3, 38] and flipped.flags.c_contiguous
    assert np.array_equal(own_side(flipped, "left"), lane)
    with pytest.raises(MotionError):
        own_side(lane, "both")


def test_a_map_of_the_wrong_kind_is_refused():
    with pytest.raises(MotionError, match=r"\(61, 39\)"):
        lane_map("film_um", np.zeros((60, 39)), 0.0, 1.0)
    with pytest.raises(MotionError, match="numbers"):
        lane_map("film_um", [["x"]], 0.0, 1.0)  # type: ignore[arg-type]
