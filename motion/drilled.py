"""A drilled ball on a lane: what every march of a known ball with a known release goes by.

The layout and the oil on the cover act through the reduced model of ``layout_effect``: an effective k, a
slightly turned release and a factor on the friction map. Advice, belief, replay, pictures and hidden truth
all ask here, so what the advice believes of a ball is what its rehearsals obey.

A ball acts by its layout where its pin to PAP is known; a differential of nothing leaves it the oil on its
cover. For any other the numbers go through untouched: what its layout would do is part of the doubt of its
own friction.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypedDict

import numpy as np
from numpy.typing import ArrayLike

from motion import units
from motion.errors import FloatArray
from motion.inputs import AXIS_ROTATION_DEG, AXIS_TILT_DEG, REV_RATE_RPM, BallSpec, ReleaseSpec, Scatter
from motion.layout_effect import LayoutEffect, effective

# Ball, release and film in an advice, with room for the films of the shots behind it: some 20 MB when full.
KEPT = 512
_NO_MATTER = Scatter()
_AS_IT_IS = np.ones((units.FEET, units.BOARDS))


class Thrown(TypedDict):
    """The part of a march's arguments that a layout bears on; see `motion.path.march_batch`."""

    rev_rate_rpm: ArrayLike
    axis_rotation_deg: ArrayLike
    axis_tilt_deg: ArrayLike
    rg_in: float
    diameter_in: float
    k: float | None


@dataclass(frozen=True, kw_only=True, eq=False)
class Drilled:
    """A ball as it goes down one lane; effect is None where no layout is known."""

    ball: BallSpec
    effect: LayoutEffect | None

    @property
    def factor(self) -> FloatArray:
        """Factor (61, 39) [-], own-side, on the friction of the ball's cover in a neutral state."""
        factor = None if self.effect is None else self.effect.mu_factor
        return _AS_IT_IS if factor is None else factor

    def maps(self, mu: FloatArray) -> FloatArray:
        """Friction (..., 61, 39) [-] the drilled ball meets, from that of its cover in a neutral state."""
        if self.effect is None:
            return mu
        met: FloatArray = mu * self.factor
        return np.minimum(met, 1.0, out=met)

    def thrown(
        self, rev_rate_rpm: ArrayLike, axis_rotation_deg: ArrayLike, axis_tilt_deg: ArrayLike
    ) -> Thrown:
        """Arguments to march with for releases, scattered or not, (n,) or scalars [rpm, deg, deg]."""
        if self.effect is None:
            k = None
        else:
            k = self.effect.k
            rev_rate_rpm = np.clip(np.multiply(rev_rate_rpm, self.effect.rev_rate_factor), *REV_RATE_RPM)
            axis_rotation_deg = np.clip(
                np.add(axis_rotation_deg, self.effect.rotation_shift_deg), *AXIS_ROTATION_DEG
            )
            axis_tilt_deg = np.clip(np.add(axis_tilt_deg, self.effect.tilt_shift_deg), *AXIS_TILT_DEG)
        return Thrown(
            rev_rate_rpm=rev_rate_rpm,
            axis_rotation_deg=axis_rotation_deg,
            axis_tilt_deg=axis_tilt_deg,
            rg_in=self.ball.rg_in,
            diameter_in=self.ball.diameter_in,
            k=k,
        )


def has_layout_effect(ball: BallSpec) -> bool:
    """Whether enough is known of a ball's drilling to say what it does.

    Of a layout the distance pin to PAP does most; an angle nobody wrote down is the usual one (``inertia``).
    The differential does not bear on it: as it goes to nothing the axis stays where it is, but the cover's
    oil goes on acting (its tracks part by the change of tilt), so a ball of none moves as one of hardly any.
    """
    return ball.pin_to_pap_in is not None


def drilled(
    ball: BallSpec, release: ReleaseSpec, film_um: FloatArray, *, launch_deg: float | None = None
) -> Drilled:
    """A ball with a release, as intended, on a film (61, 39) [um], own-side, of one world.

    One film stands for the worlds around it: they share its factor on friction (docs/layout.md says how
    little that misses). launch_deg [deg]: of one throw; None for any line to the pocket. The answer is kept,
    by content. Raises MotionError.
    """
    if not has_layout_effect(ball):
        return Drilled(ball=ball, effect=None)
    film = np.ascontiguousarray(film_um, dtype=np.float64)
    return _drilled(ball, replace(release, scatter=_NO_MATTER), film.tobytes(), film.shape, launch_deg)


@lru_cache(maxsize=KEPT)
def _drilled(
    ball: BallSpec,
    release: ReleaseSpec,
    film: bytes,
    shape: tuple[int, ...],
    launch_deg: float | None,
) -> Drilled:
    film_um = np.frombuffer(film).reshape(shape).copy()  # writable, as the kernels were compiled for
    return Drilled(ball=ball, effect=effective(ball, release, film_um=film_um, launch_deg=launch_deg))
