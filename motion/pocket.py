"""The pocket in numbers: which offsets and angles count as it, and the trade's words for a hit.

Offsets are boards at first contact with the head pin, 20 - ball-centre board, positive on the bowler's own
side. Best entry is 6 degrees at board 17.5 (USBC technical papers restated, found second-hand); the good
range is board 17 to 18 with 4 to 6 degrees (USBC research article, found).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion.errors import FloatArray, MotionError, number, numbers, shaped
from motion.leaves import FULL_RACK
from motion.rack_table import IS_SPLIT, IS_WASHOUT, PINS_LEFT, rack_table

BoolArray = NDArray[np.bool_]

# Board 17.5.
POCKET_OFFSET_BOARDS = 2.5
# The good range 17 to 18, widened by half a board each way to 16.5 (a light hit still in the pocket, which
# leaves the corner pin) and 18.5. The widening is common practice, no published source.
POCKET_WINDOW_BOARDS = (1.5, 3.5)
# The good range 4 to 6 degrees, widened by two each way; common practice, no published source.
POCKET_ANGLE_DEG = (2.0, 8.0)

# Trade words for a hit and the offset each stands for: common practice, no published source. Half pocket is
# the light side of the pocket; crossed over is past the head pin's centre, Brooklyn the pocket over there.
HIT_WORDS: dict[str, float] = {
    "flush": 2.5,
    "high flush": 2.0,
    "half pocket": 3.0,
    "light": 3.5,
    "very light": 4.5,
    "high": 1.5,
    "very high": 0.75,
    "nose": 0.0,
    "crossed over": -1.0,
    "Brooklyn": -2.5,
    "missed head pin": 6.5,
}


def hit_word(offset_boards: float) -> str:
    """The trade's word nearest to an offset [boards]; raises MotionError outside -20 to 20."""
    offset = number("offset_boards", offset_boards, -20.0, 20.0, "boards")
    return min(HIT_WORDS, key=lambda word: (abs(HIT_WORDS[word] - offset), word))


def in_pocket(offset_boards: ArrayLike, entry_angle_deg: ArrayLike) -> BoolArray:
    """True where a ball is in the pocket window; arrays of one shape [boards, degrees]."""
    offset = np.asarray(offset_boards, dtype=np.float64)
    angle = np.asarray(entry_angle_deg, dtype=np.float64)
    low, high = POCKET_WINDOW_BOARDS
    flat, steep = POCKET_ANGLE_DEG
    inside: BoolArray = (offset >= low) & (offset <= high) & (angle >= flat) & (angle <= steep)
    return inside


def pocket_probability(offset_boards: ArrayLike, entry_angle_deg: ArrayLike) -> float:
    """Share of the given arrivals that are in the pocket window; raises MotionError if there are none."""
    offset = numbers("offset_boards", offset_boards, -60.0, 60.0, "boards")
    angle = numbers("entry_angle_deg", entry_angle_deg, -90.0, 90.0, "degrees")
    if offset.size == 0:
        raise MotionError("offset_boards", "none", "at least one arrival")
    return float(in_pocket(offset, angle).mean())


@dataclass(frozen=True, slots=True)
class FirstBallValue:
    """What arrivals are worth, arrays of their shape: chances, mean pins down, and the worth asked for."""

    strike: FloatArray
    split: FloatArray
    washout: FloatArray
    pins: FloatArray
    worth: FloatArray


def first_ball_value(
    offset_boards: ArrayLike, entry_angle_deg: ArrayLike, worth_of_leave: FloatArray | None = None
) -> FirstBallValue:
    """Chances and worth of arrivals (one shape), bilinear in the pin model's table.

    worth_of_leave: (1024,) expected frame score after each leave, from the bowler's own spare record; None
    counts the first ball's pins. Own side throughout, so a left-hander's arrivals need no flipping (his
    leaves are the mirror). Beyond the table its edge holds. From the pin model, so a model's numbers. Raises
    MotionError for anything not a number.
    """
    offset = numbers("offset_boards", offset_boards, -60.0, 60.0, "boards")
    angle = numbers("entry_angle_deg", entry_angle_deg, -90.0, 90.0, "degrees")
    offset, angle = np.broadcast_arrays(offset, angle)
    table = rack_table()
    columns = _fixed_columns()
    if worth_of_leave is None:
        worth = columns[:, :, 3]
    else:
        worth = table.share @ shaped("worth_of_leave", worth_of_leave, (FULL_RACK + 1,))
    looked = table.look(np.concatenate([columns, worth[:, :, None]], axis=-1), offset, angle)
    return FirstBallValue(*(looked[..., column] for column in range(5)))


@lru_cache(maxsize=1)
def _fixed_columns() -> FloatArray:
    """Table columns (offsets, angles, 4): strike, split, washout, pins down."""
    share = rack_table().share
    return np.stack([share[:, :, 0], share @ IS_SPLIT, share @ IS_WASHOUT, 10.0 - share @ PINS_LEFT], axis=-1)
