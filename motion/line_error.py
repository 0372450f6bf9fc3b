"""What the model may get wrong of one line on one lane, beside what its worlds already doubt.

The worlds share one set of laws and one shape of film, so in every one of them a line never thrown follows
from the line that was. A real lane has topography, neighbours' tracks and a film that differs board by board:
an error that two lines near each other share and two lines far apart do not. It is drawn here as a smooth
normal error of the offset over the plane of lines (discrepancy of a model: Kennedy & O'Hagan, J. R. Statist.
Soc. B 63 (2001) 425, from memory).

Where the present line arrives the worlds themselves say, with intervals that hold (docs/physics.md); the
error is nothing there and grows with the distance. A line on which other shots were read has less of it. Its
mean is nothing everywhere: what the shots say of the level is for the worlds to learn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion import units
from motion.advice_types import SheetTrust
from motion.errors import FloatArray
from motion.evidence import MODEL_OFFSET_SD, READ_OFFSET_SD, Evidence, logged_offset
from motion.inputs import Line
from motion.lines import DEFAULT_TARGET_FT
from motion.parameters import PARAMETERS
from motion.streams import stratified_normals

# Films that differ from their sheet board by board by a share s (smooth over 3 boards) move lines more than
# six boards apart by 3 s to 4 s boards against each other, rms, where the film tapers evenly, and by 5 s to
# 7 s where it has steep walls (script/measure_line_error.py). What walls add is left to line_error_boards.
BOARDS_BY_SHAPE = 3.3
PRESENT_SD = 0.05  # of the error on the present line itself [boards]: as good as none
PINS_READ_SD = 2.0  # assumed: how well pins alone tell the offset [boards]
_EDGES = (0.0, 40.0)  # boards between which lines are told apart


@dataclass(frozen=True, kw_only=True, eq=False)
class LineError:
    """An error of the offset for every line: heights (worlds, nodes) [boards] of smooth bumps on a grid."""

    heights: FloatArray

    @property
    def worlds(self) -> int:
        """How many worlds it was drawn for."""
        return len(self.heights)

    def at(self, line: Line) -> FloatArray:
        """Error of the offset of a line in every world, (worlds,) [boards]."""
        error: FloatArray = self.heights @ _bumps([line])[0]
        return error

    def first(self, count: int) -> LineError:
        """The error in the worlds that `Scene.first` keeps."""
        places = np.linspace(0, self.worlds - 1, min(count, self.worlds)).round().astype(np.int64)
        return LineError(heights=self.heights[places])


def line_error(
    evidence: Sequence[Evidence], lane_id: str, trust: SheetTrust, present: Line | None, worlds: int
) -> LineError:
    """Draw the error of lines on one lane after its own-side evidence, keyed by content alone.

    evidence: of all lanes; only what was thrown from the asking bowler's side of this lane narrows the error.
    trust: how the lane's sheet is known. present: the line the others are set against, None if not known.
    worlds: how many draws.
    """
    sd = math.hypot(PARAMETERS["line_error_boards"].value, BOARDS_BY_SHAPE * _shape_sd(trust))
    told = [
        (item.shot.line, _reading_sd(item))
        for item in evidence
        if item.shot.lane_id == lane_id
        and item.star is not None
        and item.shot.hand == "right"
        and item.shot.line is not None
    ]
    if present is not None:
        told.append((present, PRESENT_SD))
    nodes = _NODES.shape[0]
    precision = np.eye(nodes)
    if told:
        rows = sd * _bumps([line for line, _ in told]) / np.array([noise for _, noise in told])[:, None]
        precision = precision + rows.T @ rows
    values, vectors = np.linalg.eigh(precision)
    root = (vectors / np.sqrt(values)) @ vectors.T
    normals = np.stack([stratified_normals(f"line error {node}", worlds) for node in range(nodes)], axis=1)
    heights: FloatArray = sd * normals @ root
    return LineError(heights=heights)


def line_distance(one: Line, other: Line) -> float:
    """How far apart two lines are [boards]: root mean square at the foul line and at the usual target."""
    return float(np.sqrt(np.mean((_places([one]) - _places([other])) ** 2)))


def _shape_sd(trust: SheetTrust) -> float:
    name = {"table": "sheet", "passes": "passes", "summary": "summary"}[trust]
    return PARAMETERS[f"film_shape_sd_{name}"].value


def _reading_sd(item: Evidence) -> float:
    """How well one shot tells the error of its own line [boards], its release's scatter included."""
    read = PINS_READ_SD if logged_offset(item.shot) is None else READ_OFFSET_SD
    return math.hypot(item.scatter_sd, read, MODEL_OFFSET_SD) / math.sqrt(item.trust)


def _places(lines: Sequence[Line]) -> FloatArray:
    """Boards of the straight launch line at the foul line and at the usual target, (n, 2)."""
    along = DEFAULT_TARGET_FT * 12.0 / units.BOARD_IN
    found = [
        (line.foul_line_board, line.foul_line_board - along * math.tan(math.radians(line.launch_deg)))
        for line in lines
    ]
    places: FloatArray = np.clip(np.array(found), *_EDGES)
    return places


# Bumps of this width on a grid of the same step add up to an error whose correlation falls as
# exp(-d^2 / (2 reach^2)), d being `line_distance`.
_REACH = PARAMETERS["line_error_reach_boards"].value
_AXIS = np.arange(_EDGES[0] - _REACH, _EDGES[1] + 1.5 * _REACH, _REACH)
_NODES = np.stack(np.meshgrid(_AXIS, _AXIS, indexing="ij"), axis=-1).reshape(-1, 2)


def _bumps(lines: Sequence[Line]) -> FloatArray:
    """Shares of every bump in the error of every line, (n, nodes); their squares sum to one."""
    away = _places(lines)[:, None, :] - _NODES[None]
    raw = np.exp(-0.5 * (away**2).sum(axis=-1) / _REACH**2)
    shares: FloatArray = raw / np.sqrt((raw**2).sum(axis=1, keepdims=True))
    return shares
