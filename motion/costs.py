"""What a change of line, release or ball must bring to be worth making, in pins per frame.

All assumed, no published source: a shot on a new line is thrown less surely at first, the more so the further
it is from the one in the bowler's eye; a new ball has to be trusted; a lane read wrongly costs frames.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from motion.advice_types import Candidate
from motion.errors import FloatArray
from motion.inputs import Line


@dataclass(frozen=True, kw_only=True)
class Costs:
    """Costs of change [pins per frame], per board of the feet and of the target alike, and how sure a change
    must be to pay its own."""

    move: float = 0.15
    per_board: float = 0.04
    release: float = 0.25
    ball: float = 0.35
    chance_needed: float = 0.8


COSTS = Costs()


def cost_of_move(before: Line, laydown_board: ArrayLike, target_board: ArrayLike) -> FloatArray:
    """Pins per frame that lines with these laydowns and targets (any one shape) must bring over `before`."""
    feet = np.abs(np.asarray(laydown_board, dtype=np.float64) - before.laydown_board)
    target = np.abs(np.asarray(target_board, dtype=np.float64) - before.target_board)
    cost: FloatArray = np.where(feet + target > 0.0, COSTS.move + COSTS.per_board * (feet + target), 0.0)
    return cost


def cost_of_change(before: Candidate, after: Candidate) -> float:
    """Pins per frame that a change must bring to be worth making; nothing for staying."""
    if before == after:
        return 0.0
    cost = float(cost_of_move(before.line, after.line.laydown_board, after.line.target_board))
    if before.release_name != after.release_name:
        cost += COSTS.release
    if before.ball_id != after.ball_id:
        cost += COSTS.ball
    return cost
