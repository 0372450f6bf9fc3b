"""Oil on the ball's own cover: how a layout brings clean or oily patches to the lane.

A patch of cover that meets a film h on the lane, itself holding a film c, goes through one contact as

    c' = kept c + (capacity - kept c) (1 - exp(-pickup h / capacity))
    film in the contact = h + (c - neutral) (given + 1 - exp(-pickup h / capacity)), not below zero

capacity grows with the roughness of the cover: a rough clean patch swallows film, an oily one adds some of
its own. neutral is the film on a patch at which the friction law holds as it was calibrated, so a cover in
its ordinary state changes nothing. Two passes touch the same patch as far as their tracks, each one
contact wide, overlap on the cover; how far successive tracks part is the flare (``inertia``). A towel takes
a share between shots and spreads the rest. All of it is assumed, nothing published could be read; every
number stands in ``parameters`` with its doubt.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from motion import units
from motion.errors import FloatArray, number
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS, mu_curve
from motion.inputs import BallSpec
from motion.parameters import Physics

TABLE_STEP_UM = 0.0025
TABLE_TO_UM = 20.0  # friction hardly changes any more in films this thick


@dataclass(frozen=True, kw_only=True)
class Cover:
    """What one ball's cover does with oil: films [um], shares [-], width of the contact [in]."""

    start_um: float
    capacity_um: float
    kept: float
    pickup: float
    given: float
    neutral_um: float
    width_in: float

    def filled(self, film_um: FloatArray) -> FloatArray:
        """Share of its room a patch fills from a film on the lane (...) [um]."""
        share: FloatArray = -np.expm1(-self.pickup * film_um / self.capacity_um)
        return share

    def numbers(self, radius_m: float) -> FloatArray:
        """The same as an array (8,) for the kernels, lengths in metres."""
        return np.array(
            [
                self.start_um,
                self.capacity_um,
                self.kept,
                self.pickup,
                self.given,
                self.neutral_um,
                units.in_to_m(self.width_in),
                radius_m,
            ]
        )


def cover_of(ball: BallSpec, physics: Physics = DEFAULT_PHYSICS, *, start_um: float | None = None) -> Cover:
    """The cover of a ball as its surface is now; start_um [um] is the film on it before the shot.

    Without start_um: a neutral patch, wiped. Raises MotionError.
    """
    capacity = physics.cover_capacity_per_ra * ball.roughness_um
    neutral = min(physics.cover_neutral_share, 1.0) * capacity
    if start_um is None:
        start = after_wiping_um(neutral, physics)
    else:
        start = number("start_um", start_um, 0.0, FILM_MAX_UM, "um")
    return Cover(
        start_um=min(start, capacity),
        capacity_um=capacity,
        # A possible world may draw shares beyond what a share can be.
        kept=min(physics.cover_kept_share, 1.0),
        pickup=physics.cover_pickup_share,
        given=min(physics.cover_given_share, 1.0),
        neutral_um=neutral,
        width_in=physics.cover_contact_width_in,
    )


def after_wiping_um(cover_um: float, physics: Physics = DEFAULT_PHYSICS) -> float:
    """Film a towel leaves [um] of a mean film on the cover [um]."""
    return (1.0 - min(physics.cover_wiped_share, 1.0)) * cover_um


@lru_cache(maxsize=64)
def friction_table(ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> FloatArray:
    """Friction (8001,) [-] at even steps of TABLE_STEP_UM of film, for the kernels.

    The same array on every call: not to be written to.
    """
    films = np.arange(0.0, TABLE_TO_UM + TABLE_STEP_UM / 2.0, TABLE_STEP_UM)
    return mu_curve(films, ball, physics)
