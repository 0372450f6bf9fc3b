"""The pocket in numbers: which offsets and angles count as it, and the trade's words for a hit.

Offsets are boards at first contact with the head pin, 20 - ball-centre board, positive on the bowler's own
side. Best entry is 6 degrees at board 17.5 (USBC technical papers restated, found second-hand); the good
range is board 17 to 18 with 4 to 6 degrees (USBC research article, found).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion.errors import number

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
