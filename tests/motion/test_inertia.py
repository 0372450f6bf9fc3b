"""Radii of gyration and the orientation a layout gives, against spherical trigonometry and definitions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.inertia import (
    DRILLING_ANGLE_DEG,
    PIN_TO_PAP_IN,
    VAL_ANGLE_DEG,
    Layout,
    axes_at_release,
    flare_per_turn_in,
    hand_frame,
    layout_of,
    principal_axes,
    radii_of_gyration_in,
)
from motion.inputs import BallSpec

RADIUS_IN = 27.0 / (2.0 * np.pi)  # an inch along the ball is 360/27 degrees (facts, derived)


def ball(**changes):
    given_ = {"weight_lb": 15.0, "rg_in": 2.5, "differential_in": 0.05, "intermediate_differential_in": 0.02}
    return BallSpec(**(given_ | changes))


def layout(pin=4.0, drilling=50.0, val=30.0):
    return Layout(pin_to_pap_in=pin, drilling_angle_deg=drilling, val_angle_deg=val)


def test_differentials_are_greatest_less_least_and_greatest_less_middle():
    low, middle, high = radii_of_gyration_in(ball())
    assert (low, high - low, high - middle) == (2.5, pytest.approx(0.05), pytest.approx(0.02))


@settings(max_examples=50, deadline=None)
@given(
    pin=st.floats(0.0, 6.75), drilling=st.floats(0.0, 180.0), val=st.floats(0.0, 90.0),
)  # fmt: skip
def test_the_axes_are_a_right_handed_rotation_with_the_pin_its_distance_from_the_pap(pin, drilling, val):
    axes = principal_axes(layout(pin, drilling, val), RADIUS_IN)
    np.testing.assert_allclose(axes.T @ axes, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    # 1 in = 13.33 degrees on a 27 in circumference (facts, derived).
    assert np.degrees(np.arccos(np.clip(axes[0, 0], -1, 1))) == pytest.approx(pin * 360.0 / 27.0, abs=1e-5)


def test_the_pin_stands_off_the_val_by_its_angle_on_the_grips_side():
    pin = principal_axes(layout(4.0, 50.0, 30.0), RADIUS_IN)[:, 0]
    assert np.degrees(np.arctan2(pin[2], pin[1])) == pytest.approx(30.0)


def test_the_high_axis_stands_off_the_line_to_the_pap_by_the_drilling_angle():
    pin, _, high = principal_axes(layout(4.0, 50.0, 30.0), RADIUS_IN).T
    pap = np.array([1.0, 0.0, 0.0])
    # Dihedral angle at the pin between its great circles to the PAP and to the mark.
    to_pap, to_mark = np.cross(pin, pap), np.cross(pin, high)
    cosine = to_pap @ to_mark / np.linalg.norm(to_pap) / np.linalg.norm(to_mark)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(50.0)
    # Cosine rule, pin to mark a quarter circle: cos(PAP to mark) = sin(pin to PAP) cos(drilling).
    assert pap @ high == pytest.approx(np.sin(np.radians(4.0 * 360 / 27)) * np.cos(np.radians(50.0)))
    # On the thumb's side: below the line, away from the fingers.
    straight = principal_axes(layout(4.0, 0.0, 30.0), RADIUS_IN)[:, 2]
    assert high[1] < straight[1]


def test_a_pin_on_the_pap_has_an_orientation_too():
    near, at = (principal_axes(layout(pin), RADIUS_IN) for pin in (1e-9, 0.0))
    np.testing.assert_allclose(near, at, atol=1e-8)


def test_forward_roll_spins_about_the_level_axis_with_the_grip_behind():
    pap, val, grip = hand_frame(launch_deg=0.0, axis_rotation_deg=0.0, axis_tilt_deg=0.0).T
    np.testing.assert_allclose(pap, [0.0, 1.0, 0.0], atol=1e-15)
    np.testing.assert_allclose(val, [0.0, 0.0, -1.0], atol=1e-15)
    np.testing.assert_allclose(grip, [-1.0, 0.0, 0.0], atol=1e-15)


def test_side_roll_shows_the_pap_to_the_bowler_and_tilt_raises_it():
    side = hand_frame(launch_deg=0.0, axis_rotation_deg=90.0, axis_tilt_deg=0.0)[:, 0]
    np.testing.assert_allclose(side, [-1.0, 0.0, 0.0], atol=1e-15)
    for tilt in (15.0, 90.0):
        pap = hand_frame(launch_deg=1.0, axis_rotation_deg=40.0, axis_tilt_deg=tilt)[:, 0]
        assert np.degrees(np.arcsin(pap[2])) == pytest.approx(tilt)


@settings(max_examples=30, deadline=None)
@given(
    rotation=st.floats(-100, 100),
    tilt=st.floats(-30, 90),
    launch=st.floats(-10, 10),
    phase=st.floats(-360, 360),
)
def test_a_hand_frame_is_a_rotation_and_phase_turns_it_about_the_pap(rotation, tilt, launch, phase):
    shot = {"launch_deg": launch, "axis_rotation_deg": rotation, "axis_tilt_deg": tilt}
    frame, turned = hand_frame(**shot), hand_frame(**shot, phase_deg=phase)
    for one in (frame, turned, axes_at_release(ball(), **shot, phase_deg=phase)):
        np.testing.assert_allclose(one.T @ one, np.eye(3), atol=1e-12)
        assert np.linalg.det(one) == pytest.approx(1.0)
    np.testing.assert_allclose(frame[:, 0], turned[:, 0], atol=1e-12)
    assert frame[:, 1] @ turned[:, 1] == pytest.approx(np.cos(np.radians(phase)), abs=1e-12)


def test_an_unknown_layout_is_the_usual_one_number_by_number():
    usual = layout_of(ball())
    assert usual == layout(PIN_TO_PAP_IN, DRILLING_ANGLE_DEG, VAL_ANGLE_DEG)
    assert layout_of(ball(pin_to_pap_in=2.0)) == layout(2.0, DRILLING_ANGLE_DEG, VAL_ANGLE_DEG)


def test_flare_is_greatest_at_three_and_three_eighths_and_none_with_the_pin_on_the_pap_or_6_75_away():
    """Proportional to differential sin(2 angle) (facts, derived); greatest at 3 3/8 in is common practice."""
    pins = np.arange(0.0, 6.76, 0.125)
    symmetric = {"intermediate_differential_in": 0.0, "diameter_in": 8.594}
    flare = np.array([flare_per_turn_in(ball(pin_to_pap_in=p, **symmetric)) for p in pins])
    assert pins[flare.argmax()] == pytest.approx(3.375, abs=0.13)
    assert flare[0] == pytest.approx(0.0, abs=1e-9) and flare[-1] < 0.01
    closed = np.pi * 4.297 * (2 * 0.05 / 2.5) * np.sin(2.0 * pins / 4.297)
    np.testing.assert_allclose(flare, closed, atol=0.03)
    assert flare_per_turn_in(ball(differential_in=0.0, intermediate_differential_in=0.0)) < 1e-12


@pytest.mark.parametrize(
    ("field", "value"), [("launch_deg", 11.0), ("axis_tilt_deg", float("nan")), ("phase_deg", 1e3)]
)
def test_bad_angles_are_named(field, value):
    shot = {"launch_deg": 0.0, "axis_rotation_deg": 40.0, "axis_tilt_deg": 10.0, "phase_deg": 0.0} | {
        field: value
    }
    with pytest.raises(MotionError, match=field):
        hand_frame(**shot)
