"""The lane in plan: a map under it, boards and feet around it, and panels beside it on the same distance.

Seen by the bowler: foul line at the bottom, pins on top, the right gutter on the right. Boards count from
the bowler's own side, so a left-hander's board 1 is on the left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.errors import FloatArray, one_of
from motion.inputs import HANDS
from motion.pictures.steps import Steps, cells
from motion.pictures.svg import Axis, Point, line, placed, polyline, rect, text
from motion.units import BOARDS, EDGE_HIGH_BOARD, EDGE_LOW_BOARD, FEET, LANE_LENGTH_FT

ARROW_FT, ARROW_STEP_FT = 15.0, 0.55
FOOT_MARKS = range(0, 61, 10)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Where a lane stands in a picture [px], and the hand whose boards it shows."""

    left: float
    top: float
    width: float
    height: float
    hand: str = "right"

    def __post_init__(self) -> None:
        one_of("hand", self.hand, HANDS)

    @property
    def across(self) -> Axis:
        """Own-side boards to pixels."""
        own, other = self.left + self.width, self.left
        if self.hand == "left":
            own, other = other, own
        return Axis(low=EDGE_LOW_BOARD, high=EDGE_HIGH_BOARD, start=own, end=other)

    @property
    def along(self) -> Axis:
        """Feet to pixels."""
        return Axis(low=0.0, high=LANE_LENGTH_FT, start=self.top + self.height, end=self.top)

    def bed(self, css: str = "lane-bed") -> str:
        return rect(self.left, self.top, self.width, self.height, css)

    def map(self, values: FloatArray, steps: Steps, plain: int | None = None) -> str:
        """A map (61, 39), own-side, in colours; node n covers half a foot to each side of it."""
        feet = np.clip(np.arange(FEET + 1) - 0.5, 0.0, LANE_LENGTH_FT)
        y = np.array([self.along.at(float(foot)) for foot in feet])
        x = np.array([self.across.at(board + 0.5) for board in range(BOARDS + 1)])
        return f'<g class="cells">{cells(steps.level(values), x, y, steps.css, plain)}</g>'

    def frame(self, *, feet: bool = True, boards: Sequence[int] = (5, 10, 15, 20, 25, 30, 35)) -> str:
        """Foul line, arrows, marks at feet and boards."""
        parts = [line(self.left, self.along.at(0.0), self.left + self.width, self.along.at(0.0), "foul-line")]
        for board in range(5, 40, 5):
            x, y = (
                self.across.at(board),
                self.along.at(ARROW_FT - ARROW_STEP_FT * (abs(board - 20) / 5 - 1.5)),
            )
            d = f"M{x - 2:.1f} {y + 3:.1f}L{x:.1f} {y - 4:.1f}L{x + 2:.1f} {y + 3:.1f}z"
            parts.append(f'<path class="arrow" d="{d}"/>')
        for board in boards:
            x = self.across.at(board)
            parts.append(line(x, self.along.at(0.0), x, self.along.at(0.0) + 4.0, "tick"))
            parts.append(text(x, self.along.at(0.0) + 15.0, str(board)))
        if feet:
            parts += [self.foot_mark(foot) for foot in FOOT_MARKS]
        return "".join(parts)

    def foot_mark(self, foot: float) -> str:
        y = self.along.at(foot)
        return line(self.left - 3.0, y, self.left, y, "tick") + text(
            self.left - 5.0, y + 4.0, f"{foot:g}", "end"
        )

    def path(self, board: FloatArray, y_ft: FloatArray, css: str) -> str:
        """A path of own-side boards over feet."""
        return polyline(placed(board, y_ft, self.across, self.along), css)

    def side_words(self) -> str:
        return f"boards from the {self.hand}"


@dataclass(frozen=True, kw_only=True)
class Panel:
    """A chart beside the lane: value to the right, distance upward as on the plan; `marks` are its grid."""

    left: float
    width: float
    along: Axis
    low: float
    high: float
    marks: tuple[tuple[float, str], ...]
    title: str
    unit: str
    log: bool = False

    @property
    def across(self) -> Axis:
        return Axis(low=self.low, high=self.high, start=self.left, end=self.left + self.width, log=self.log)

    def frame(self) -> str:
        """Title above, grid at the marks and at every ten feet."""
        bottom, top = self.along.start, self.along.end
        middle = self.left + self.width / 2.0
        parts = [rect(self.left, top, self.width, bottom - top, "panel")]
        for foot in FOOT_MARKS[1:-1]:
            y = self.along.at(foot)
            parts.append(line(self.left, y, self.left + self.width, y, "grid-line"))
        for value, label in self.marks:
            x = self.across.at(value)
            parts.append(line(x, top, x, bottom, "grid-line"))
            # At the ends of the axis a label stays inside, clear of the next panel's.
            anchor = {self.low: "start", self.high: "end"}.get(value, "middle")
            parts.append(text(x, bottom + 15.0, label, anchor))
        parts.append(text(middle, top - 16.0, self.title, css="strong"))
        parts.append(text(middle, top - 5.0, self.unit, css="small"))
        return "".join(parts)

    def curve(self, values: FloatArray, y_ft: FloatArray, css: str) -> str:
        return polyline(self.points(values, y_ft), css)

    def points(self, values: FloatArray, y_ft: FloatArray) -> list[Point]:
        return placed(values, y_ft, self.across, self.along)


def sampled(lane: FloatArray, board: FloatArray, y_ft: FloatArray) -> FloatArray:
    """A map (61, 39) read along a path, bilinear between nodes and constant beyond the outermost."""
    across = np.clip(board - 1.0, 0.0, BOARDS - 1.0)
    foot = np.clip(y_ft, 0.0, LANE_LENGTH_FT)
    column = np.minimum(across.astype(np.int64), BOARDS - 2)
    row = np.minimum(foot.astype(np.int64), FEET - 2)
    u, v = across - column, foot - row
    near = lane[row, column] * (1.0 - u) + lane[row, column + 1] * u
    far = lane[row + 1, column] * (1.0 - u) + lane[row + 1, column + 1] * u
    values: FloatArray = near * (1.0 - v) + far * v
    return values
