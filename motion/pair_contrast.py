"""What tells the two lanes of a pair apart: where one line arrives on each, as the belief has it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.advice_types import Candidate
from motion.errors import FloatArray
from motion.scene import Scene, throw


@dataclass(frozen=True, kw_only=True)
class Contrast:
    """How much higher a line arrives on the other lane of a pair than on this one [boards], 80 % interval.

    fresh_boards: the same on both lanes as dressed.
    """

    higher_boards: float
    low: float
    high: float
    fresh_boards: float


def contrast_of(
    here: tuple[Scene, Scene], other: tuple[Scene, Scene], present: Candidate, ends: tuple[float, float]
) -> Contrast:
    """Compare a candidate's intended shot on two lanes, world by world.

    here, other: each lane now and as dressed, in the same worlds. ends: percents of the interval.
    """
    now = _offsets(here[0], present) - _offsets(other[0], present)
    fresh = _offsets(here[1], present) - _offsets(other[1], present)
    low, high = np.percentile(now, ends)
    return Contrast(
        higher_boards=float(np.median(now)),
        low=float(low),
        high=float(high),
        fresh_boards=float(np.median(fresh)),
    )


def _offsets(scene: Scene, present: Candidate) -> FloatArray:
    offsets: FloatArray = throw(scene, present, np.zeros((1, 5))).offset_boards[:, 0]
    return offsets
