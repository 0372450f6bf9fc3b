"""Lines a bowler could play: laydown and target on a grid of whole-board feet and half-board targets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion import units
from motion.errors import FloatArray
from motion.inputs import Line

# Common practice, no published source: where a ball is laid down and how steeply it is thrown.
LOWEST_LAYDOWN = 5.0
HIGHEST_LAYDOWN = 35.0
LOWEST_TARGET = 2.0
LAUNCH_STEEPEST_OUT_DEG = 4.5
LAUNCH_STEEPEST_IN_DEG = -1.5
TARGET_STEP = 0.5
DEFAULT_TARGET_FT = 15.0


@dataclass(frozen=True, kw_only=True)
class Reach:
    """How far from the present line this search looks, in boards of the feet."""

    boards: float = 12.0
    laydown_step: float = 1.0


REACH = Reach()


def laydowns(present: Line | None, reach: Reach = REACH) -> FloatArray:
    """Laydown boards to look at: whole-board moves of the feet from the present line, or the whole lane."""
    if present is None:
        return np.arange(LOWEST_LAYDOWN, HIGHEST_LAYDOWN + 0.1, 2.0)
    moves = np.arange(-reach.boards, reach.boards + 0.1, reach.laydown_step)
    boards = present.laydown_board + moves
    keep = (boards >= LOWEST_LAYDOWN) & (boards <= HIGHEST_LAYDOWN) | (moves == 0.0)
    result: FloatArray = boards[keep]
    return result


def launch_angles(step_deg: float = 0.5) -> FloatArray:
    """Launch angles of the coarse scan [deg], positive toward the own gutter."""
    return np.arange(LAUNCH_STEEPEST_IN_DEG, LAUNCH_STEEPEST_OUT_DEG + 1e-9, step_deg)


def targets(laydown_board: float, present: Line | None) -> FloatArray:
    """Target boards for this laydown within the launch angles, in half boards from the present target."""
    target_ft = present.target_ft if present else DEFAULT_TARGET_FT
    laydown_ft = present.laydown_ft if present else 0.0
    per_degree = np.tan(np.radians(1.0)) * (target_ft - laydown_ft) * 12.0 / units.BOARD_IN
    lowest = max(laydown_board - LAUNCH_STEEPEST_OUT_DEG * per_degree, LOWEST_TARGET)
    highest = min(laydown_board - LAUNCH_STEEPEST_IN_DEG * per_degree, HIGHEST_LAYDOWN)
    anchor = present.target_board if present else round(laydown_board * 2.0) / 2.0
    first = np.ceil((lowest - anchor) / TARGET_STEP)
    last = np.floor((highest - anchor) / TARGET_STEP)
    result: FloatArray = anchor + TARGET_STEP * np.arange(first, last + 1.0)
    return result


def launch_toward(laydown_board: float, target_board: FloatArray, present: Line | None) -> FloatArray:
    """Launch angles [deg] from one laydown to each target board, at the distances the bowler already uses."""
    along_ft = (present.target_ft - present.laydown_ft) if present else DEFAULT_TARGET_FT
    across_ft = (laydown_board - target_board) * units.BOARD_IN / 12.0
    result: FloatArray = np.degrees(np.arctan2(across_ft, along_ft))
    return result


def line_at(laydown_board: float, target_board: float, present: Line | None) -> Line:
    """The line with this laydown and target, at the distances the bowler already uses."""
    return Line(
        laydown_board=float(laydown_board),
        target_board=float(target_board),
        target_ft=present.target_ft if present else DEFAULT_TARGET_FT,
        laydown_ft=present.laydown_ft if present else 0.0,
    )


def feet_board(line: Line, gap_boards: float) -> float:
    """Where the slide foot ends for this line: laydown plus the bowler's own gap, in own-side boards."""
    return line.laydown_board + gap_boards


def move_between(before: Line, after: Line) -> tuple[float, float]:
    """Move of feet and target in boards, positive inside (away from the own gutter)."""
    return after.laydown_board - before.laydown_board, after.target_board - before.target_board
