"""What a layout does, in numbers the march of an isotropic ball understands.

Two parts, both from the equations of ``full_ball`` rather than from a fit of its results:

* *Inertia.* A free rigid body keeps its angular momentum L and rotational energy T, and its spin averages to
  L 2T / L^2. So between contacts with the lane it moves like an isotropic ball with k = L^2 / (2 T R^2) and
  spin L / (k R^2): an effective k, and a small shift of rev rate, rotation and tilt because L and the spin
  vector do not point the same way.
* *Cover.* Along a handful of lines, the oil a patch has met on its earlier turns is replayed, with free
  precession and the change of tilt for the distance between tracks (``layout_kernels``): a factor on the
  friction map.

What is fitted to the reference, by ``script/fit_layout_effect.py``, are the few numbers of `Fitted`; the
share of the reference's layout effect this explains stands in docs/layout.md.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from motion import layout_kernels, units
from motion.cover_state import TABLE_STEP_UM, cover_of, friction_table
from motion.errors import FloatArray, number
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS, mu_map
from motion.inertia import layout_of, principal_axes, radii_of_gyration_in
from motion.inputs import (
    AXIS_ROTATION_DEG,
    AXIS_TILT_DEG,
    LAUNCH_DEG,
    REV_RATE_RPM,
    BallSpec,
    ReleaseSpec,
    lane_map,
)
from motion.parameters import Physics

DATA = Path(__file__).resolve().parent / "data" / "layout_effect.json"
MOST_TURNS = 48
# Lines along which a cover's history is followed: every third board laid down, thrown at the pocket.
STARTS = np.arange(1.0, 44.0, 3.0)
POCKET_BOARD, STEEPEST = 18.0, math.radians(7.0)


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """What was fitted to the reference: `spread` of the width over which tracks overlap, `strength` of the
    cover's effect (exponent of the factor), `inertia_share` of the shift of k, `turn_share` of the shift of
    the release."""

    spread: float = 1.0
    strength: float = 1.0
    inertia_share: float = 1.0
    turn_share: float = 1.0


@cache
def fitted() -> Fitted:
    """The numbers as they were fitted last."""
    return Fitted(**json.loads(DATA.read_text(encoding="utf-8"))["fitted"])


@dataclass(frozen=True, kw_only=True, eq=False)
class LayoutEffect:
    """One drilled ball and release as an isotropic march takes them.

    k [-]: (radius of gyration / R)^2 to march with; that radius may lie beyond what a rule allows as RG.
    rev_rate_factor [-], rotation_shift_deg, tilt_shift_deg [deg]: apply to the release, scattered or not.
    mu_factor: (61, 39) [-], own-side, multiplies the friction map (then at most 1); None without a film.
    """

    k: float
    rev_rate_factor: float
    rotation_shift_deg: float
    tilt_shift_deg: float
    mu_factor: FloatArray | None

    def release(self, release: ReleaseSpec) -> ReleaseSpec:
        """The release to march with, inside the accepted ranges."""

        def within(value: float, low: float, high: float) -> float:
            return min(max(value, low), high)

        return ReleaseSpec(
            speed_mph=release.speed_mph,
            rev_rate_rpm=within(release.rev_rate_rpm * self.rev_rate_factor, *REV_RATE_RPM),
            axis_rotation_deg=within(release.axis_rotation_deg + self.rotation_shift_deg, *AXIS_ROTATION_DEG),
            axis_tilt_deg=within(release.axis_tilt_deg + self.tilt_shift_deg, *AXIS_TILT_DEG),
            scatter=release.scatter,
        )

    def mu(self, mu: FloatArray) -> FloatArray:
        """The friction map (61, 39) to march on."""
        return mu if self.mu_factor is None else np.minimum(mu * self.mu_factor, 1.0)


def effective(
    ball: BallSpec,
    release: ReleaseSpec,
    *,
    film_um: FloatArray | None = None,
    physics: Physics = DEFAULT_PHYSICS,
    start_cover_um: float | None = None,
    launch_deg: float | None = None,
    fit: Fitted | None = None,
) -> LayoutEffect:
    """What to change in an isotropic march so that it moves as the drilled ball does.

    ball, release: as for `motion.full_ball.solve_full_ball`. film_um: (61, 39) film [um], own-side, for the
    oil on the cover; None leaves it out. start_cover_um [um]: film on the cover before the shot (None:
    neutral, wiped). launch_deg [deg]: of the line thrown, if one is meant; None follows the oil along lines
    that end in the pocket, whatever board they are laid down on. fit: None for the shipped one.

    Pure; about half a millisecond with a film. Raises MotionError. Equations: module docstring.
    """
    fit = fitted() if fit is None else fit
    radius_m = units.in_to_m(ball.diameter_in / 2.0)
    squares = units.in_to_m(radii_of_gyration_in(ball)) ** 2
    axes = principal_axes(layout_of(ball), ball.diameter_in / 2.0)
    # Angular momentum per mass and unit of spin in the hand's frame: out at the PAP, down, back.
    momentum = axes @ (squares * axes[0])
    k_free = float(momentum @ momentum / momentum[0]) / radius_m**2
    k_plain = float(squares[0]) / radius_m**2
    k = k_plain + fit.inertia_share * (k_free - k_plain)
    factor, rotation, tilt = _turned_release(release, momentum / (k_free * radius_m**2), fit.turn_share)
    return LayoutEffect(
        k=k,
        rev_rate_factor=factor,
        rotation_shift_deg=rotation,
        tilt_shift_deg=tilt,
        mu_factor=None
        if film_um is None
        else _factor(ball, release, film_um, physics, start_cover_um, launch_deg, fit, squares, axes[0], k),
    )


def _turned_release(release: ReleaseSpec, spin: FloatArray, share: float) -> tuple[float, float, float]:
    """Factor of the rev rate and shifts of rotation and tilt [deg] of a spin per unit of rev rate.

    spin (3,): in the hand's frame, out at the PAP, down the ball, back to the grip (``inertia``).
    """
    out, down, back = 1.0 + share * (float(spin[0]) - 1.0), share * float(spin[1]), share * float(spin[2])
    tilt = math.radians(release.axis_tilt_deg)
    # In the axis's own vertical plane: level part and height; back points across that plane.
    level = out * math.cos(tilt) + down * math.sin(tilt)
    height = out * math.sin(tilt) - down * math.cos(tilt)
    across = math.hypot(level, back)
    return (
        math.hypot(across, height),
        math.degrees(math.atan2(back, level)) if level > 0.0 else 0.0,
        math.degrees(math.atan2(height, across)) - release.axis_tilt_deg,
    )


def _factor(
    ball: BallSpec,
    release: ReleaseSpec,
    film_um: FloatArray,
    physics: Physics,
    start_cover_um: float | None,
    launch_deg: float | None,
    fit: Fitted,
    squares: FloatArray,
    axis: FloatArray,
    k: float,
) -> FloatArray:
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    cover = cover_of(ball, physics, start_um=start_cover_um)
    radius_m = units.in_to_m(ball.diameter_in / 2.0)
    rate = units.rpm_to_rad_s(release.rev_rate_rpm)
    path_of_axis = np.empty((MOST_TURNS * layout_kernels.PER_TURN, 3))
    layout_kernels.free_axis(squares, np.ascontiguousarray(axis), path_of_axis)
    mu = mu_map(film, ball, physics)
    tilt = math.radians(release.axis_tilt_deg)
    shot = np.array(
        [
            units.mph_to_mps(release.speed_mph),
            rate * radius_m * math.cos(tilt),
            math.radians(release.axis_rotation_deg),
            rate * math.sin(tilt),
        ]
    )
    if launch_deg is None:
        launches = np.array(
            [layout_kernels.pocket_launch(mu, shot, k, start, POCKET_BOARD, STEEPEST) for start in STARTS]
        )
    else:
        launches = np.full(
            len(STARTS), math.radians(number("launch_deg", launch_deg, *LAUNCH_DEG, "degrees"))
        )
    out = np.empty_like(film)
    layout_kernels.friction_factor(
        film,
        cover.filled(film),
        mu,
        friction_table(ball, physics),
        TABLE_STEP_UM,
        shot,
        launches,
        k,
        path_of_axis,
        cover.numbers(radius_m),
        fit.spread,
        STARTS,
        out,
    )
    return out if fit.strength == 1.0 else out**fit.strength
