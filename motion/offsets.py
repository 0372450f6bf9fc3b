"""Where a ball meets the rack: the offset from the head pin at first contact, continued past a miss."""

from __future__ import annotations

import numpy as np

from motion import units
from motion.errors import FloatArray


def head_pin_reach_boards(diameter_in: float = 8.55) -> float:
    """Distance between ball and head-pin centres when they touch [boards]."""
    return 0.5 * (diameter_in + units.PIN_DIAMETER_IN) / units.BOARD_IN


def offset_at_pins(
    board_at_60: FloatArray, entry_angle_deg: FloatArray, diameter_in: float = 8.55
) -> FloatArray:
    """Lateral offset of the ball from the head pin [boards], positive on the bowler's own side.

    board_at_60: own-side board of the undisturbed path at 60 ft; entry_angle_deg [deg]; any one shape.
    Where the ball touches the head pin this is the offset at first contact; where it misses, it is the
    offset abreast of the pin, so the function is continuous and evidence can be read from a miss too.
    Equation: a straight path passes the pin centre at distance p = (20 - b) cos(e); contact happens
    sqrt(D^2 - p^2) before that point, D the sum of the radii.
    """
    angle = np.radians(entry_angle_deg)
    passing = (units.HEAD_PIN_BOARD - board_at_60) * np.cos(angle)
    before = np.sqrt(np.maximum(head_pin_reach_boards(diameter_in) ** 2 - passing**2, 0.0))
    offset: FloatArray = passing * np.cos(angle) + before * np.sin(angle)
    return offset
