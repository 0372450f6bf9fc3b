"""A drilled ball as a rigid body: three radii of gyration, and how its axes lie in the hand at release.

Axes of the body, in this order everywhere: low (the pin), middle, high (the mass bias, or PSA); right-handed.
Radius of gyration: low = RG, high = RG + differential, middle = high - intermediate differential (the
differentials are greatest less least and greatest less middle: common technical usage, from memory).

The layout (three numbers, definitions found at ballreviews.com/drilling-layouts/layout-methods) is read on
the ball seen from outside with the fingers up and the positive axis point (PAP) on the bowler's own side of
the grip, as the drawing of a layout shows it:

* the pin lies its distance from the PAP, along a great circle turned by the VAL angle from the upper half of
  the vertical axis line (VAL) toward the grip;
* the high axis lies a quarter circle from the pin, along a great circle turned by the drilling angle from
  the line pin to PAP toward the thumb.

At release the spin vector leaves the ball at the PAP: on a right-hander's ball with forward roll that end
looks to the left, with side roll back to the bowler, with tilt upwards (the track then runs on the far side
of thumb and fingers from the PAP, as tracks do). The turn of the ball about its own axis at that moment is
nobody's measured number. It is taken as the grip facing back to the bowler with the fingers below, so that
the upper half of the VAL points down; ``phase_deg`` turns it further.

Everything is own-side: a left-hander's ball and lane are the mirror image, and equal numbers give equal bits.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from motion.errors import FloatArray, number
from motion.inputs import AXIS_ROTATION_DEG, AXIS_TILT_DEG, LAUNCH_DEG, BallSpec

# A layout nobody wrote down: the middle of what is drilled (common practice; the two angles add up to 100,
# wiki.bowlingchat.net Dual Angle Ratio Guide, found).
PIN_TO_PAP_IN, DRILLING_ANGLE_DEG, VAL_ANGLE_DEG = 4.5, 60.0, 40.0


@dataclass(frozen=True, kw_only=True)
class Layout:
    """A layout's three numbers, none missing: pin to PAP [in], drilling angle and VAL angle [deg]."""

    pin_to_pap_in: float
    drilling_angle_deg: float
    val_angle_deg: float


def layout_of(ball: BallSpec) -> Layout:
    """The ball's layout, each number that is not known replaced by the usual one (4.5 in, 60 and 40
    degrees)."""

    def known(value: float | None, usual: float) -> float:
        return usual if value is None else value

    return Layout(
        pin_to_pap_in=known(ball.pin_to_pap_in, PIN_TO_PAP_IN),
        drilling_angle_deg=known(ball.drilling_angle_deg, DRILLING_ANGLE_DEG),
        val_angle_deg=known(ball.val_angle_deg, VAL_ANGLE_DEG),
    )


def radii_of_gyration_in(ball: BallSpec) -> FloatArray:
    """Principal radii of gyration (3,) [in], low (pin), middle, high (mass bias); module docstring."""
    high = ball.rg_in + ball.differential_in
    return np.array([ball.rg_in, high - ball.intermediate_differential_in, high])


def principal_axes(layout: Layout, radius_in: float) -> FloatArray:
    """Low, middle and high axis as the columns (3, 3) of a rotation, in the hand's frame at the PAP.

    Rows: out of the ball at the PAP, up along the VAL (the fingers' end), toward the grip. radius_in [in]
    turns the distance pin to PAP into an angle. Source: module docstring.
    """
    away = layout.pin_to_pap_in / radius_in
    val, drilling = math.radians(layout.val_angle_deg), math.radians(layout.drilling_angle_deg)
    # From the PAP toward the pin, and what is left of that heading as the line pin to PAP, seen at the pin;
    # both have their limit where pin and PAP are one point.
    heading = np.array([0.0, math.cos(val), math.sin(val)])
    out = np.array([1.0, 0.0, 0.0])
    pin = math.cos(away) * out + math.sin(away) * heading
    to_pap = math.sin(away) * out - math.cos(away) * heading
    # Toward the thumb is clockwise seen from outside, a negative turn about the outward pin axis.
    high = to_pap * math.cos(drilling) - np.cross(pin, to_pap) * math.sin(drilling)
    return np.stack([pin, np.cross(high, pin), high], axis=1)


def hand_frame(
    *, launch_deg: float, axis_rotation_deg: float, axis_tilt_deg: float, phase_deg: float = 0.0
) -> FloatArray:
    """PAP, upper half of the VAL and direction of the grip at release as columns (3, 3) in the lane's frame.

    Rows: down-lane, away from the own gutter, up. The first column is the unit spin vector: rotation is
    measured from the direction of travel, tilt above the lane, as in the reference problem. phase_deg [deg]
    turns the ball further about that axis. Raises MotionError.
    """
    launch = math.radians(number("launch_deg", launch_deg, *LAUNCH_DEG, "degrees"))
    rotation = math.radians(number("axis_rotation_deg", axis_rotation_deg, *AXIS_ROTATION_DEG, "degrees"))
    tilt = math.radians(number("axis_tilt_deg", axis_tilt_deg, *AXIS_TILT_DEG, "degrees"))
    phase = math.radians(number("phase_deg", phase_deg, -360.0, 360.0, "degrees"))
    # The top of the ball is carried along `pull`; such a spin turns about up x pull.
    pull_angle = rotation - launch
    level = np.array([-math.sin(pull_angle), math.cos(pull_angle), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    pap = math.cos(tilt) * level + math.sin(tilt) * up
    down = math.sin(tilt) * level - math.cos(tilt) * up
    back = np.cross(pap, down)
    val = math.cos(phase) * down + math.sin(phase) * back
    return np.stack([pap, val, np.cross(pap, val)], axis=1)


def axes_at_release(
    ball: BallSpec,
    *,
    launch_deg: float,
    axis_rotation_deg: float,
    axis_tilt_deg: float,
    phase_deg: float = 0.0,
) -> FloatArray:
    """Low, middle and high axis of the ball at release as the columns (3, 3) of a rotation, lane frame.

    Rows: down-lane, away from the own gutter, up. Raises MotionError. Convention: module docstring.
    """
    hand = hand_frame(
        launch_deg=launch_deg,
        axis_rotation_deg=axis_rotation_deg,
        axis_tilt_deg=axis_tilt_deg,
        phase_deg=phase_deg,
    )
    frame: FloatArray = hand @ principal_axes(layout_of(ball), ball.diameter_in / 2.0)
    return frame


def flare_per_turn_in(ball: BallSpec) -> float:
    """How far the track moves on the cover in the first revolution [in], by torque-free precession.

    2 pi R |a x K a| / |K a|, a the axis in the body, K the squares of the radii of gyration: to first order
    pi R (2 differential / RG) sin(2 angle pin to PAP) for a symmetric ball, greatest at 3 3/8 in (derived).
    """
    radius_in = ball.diameter_in / 2.0
    axis = principal_axes(layout_of(ball), radius_in)[0]
    momentum = radii_of_gyration_in(ball) ** 2 * axis
    size = float(np.linalg.norm(np.cross(axis, momentum)) / np.linalg.norm(momentum))
    return 2.0 * math.pi * radius_in * size
