"""Colour steps: which values share a colour, and the legend that says so."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray
from motion.pictures.svg import rect, text
from motion.units import UNIT_UM, units_to_um

DRY_UM = 1e-3
FILM_LEVELS = 6
LETTER_PX = 6.5
ROUND = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


@dataclass(frozen=True, kw_only=True)
class Steps:
    """Class `<css>-<level>` for values between ascending edges: level 0 lies below the first edge.

    labels stand at the edges in the legend; "" leaves one out.
    """

    css: str
    edges: tuple[float, ...]
    labels: tuple[str, ...]

    def level(self, values: FloatArray) -> NDArray[np.int64]:
        """Level of each value; one that lies on an edge belongs below it."""
        return np.asarray(np.searchsorted(np.array(self.edges), values, side="left"), dtype=np.int64)

    def legend(self, x: float, y: float, width: float) -> str:
        """The colours side by side with the values at their edges."""
        each = width / (len(self.edges) + 1)
        parts = [
            rect(x + level * each, y, each, 9.0, f"{self.css}-{level} swatch")
            for level in range(len(self.edges) + 1)
        ]
        # Labels that would run into each other stand at every second or third edge.
        longest = max(len(label) for label in self.labels)
        stride = 1 if "" in self.labels else math.ceil((LETTER_PX * longest + 5.0) / each)
        for place in range(0, len(self.labels), stride):
            if self.labels[place]:
                parts.append(text(x + (place + 1) * each, y + 20.0, self.labels[place]))
        return "".join(parts)


# Each step doubles, as friction from thick oil to dry lane spans a factor of thirty.
FRICTION = Steps(
    css="grip", edges=(0.01, 0.02, 0.04, 0.08, 0.16), labels=("0.01", "0.02", "0.04", "0.08", "0.16")
)
CHANCE = Steps(css="chance", edges=(0.2, 0.4, 0.6, 0.8), labels=("20 %", "40 %", "60 %", "80 %"))
# Tenfold steps each way, in units of oil: what one ball lays down is little beside what many lift.
CHANGE = Steps(
    css="change",
    edges=tuple(units_to_um(units) for units in (-10.0, -1.0, -0.1, 0.1, 1.0, 10.0)),
    labels=("−10", "", "", "", "", "+10"),
)


def film_steps(films_um: Iterable[FloatArray]) -> Steps:
    """Dry, and six even steps in round units of oil up to the thickest of the films [um]."""
    top = max((float(film.max()) for film in films_um), default=0.0) / UNIT_UM
    step = _round_step(max(top, 0.6) / FILM_LEVELS)
    edges = tuple(step * k * UNIT_UM for k in range(1, FILM_LEVELS))
    labels = ("0", *(f"{step * k:.3g}" for k in range(1, FILM_LEVELS)))
    return Steps(css="film", edges=(DRY_UM, *edges), labels=labels)


def _round_step(least: float) -> float:
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in ROUND if step * power >= least - 1e-9 * power)


def cells(levels: NDArray[np.int64], x: FloatArray, y: FloatArray, css: str, plain: int | None = None) -> str:
    """A map (rows, columns) of levels as one path per level, equal neighbours merged into rectangles.

    x (columns + 1,), y (rows + 1,): edges of the cells in pixels. plain: a level left undrawn.
    """
    shapes: dict[int, list[str]] = {}
    for level, row, rows, column, columns in _rectangles(levels):
        if level == plain:
            continue
        left, top = float(x[column]), float(y[row])
        right, bottom = float(x[column + columns]), float(y[row + rows])
        shapes.setdefault(level, []).append(f"M{left:.1f} {top:.1f}H{right:.1f}V{bottom:.1f}H{left:.1f}z")
    return "".join(f'<path class="{css}-{level}" d="{"".join(shapes[level])}"/>' for level in sorted(shapes))


def _rectangles(levels: NDArray[np.int64]) -> list[tuple[int, int, int, int, int]]:
    """(level, first row, rows, first column, columns): runs of a row, joined where the next row repeats
    them."""
    growing: dict[tuple[int, int, int], list[int]] = {}
    done: list[tuple[int, int, int, int, int]] = []
    for row in range(levels.shape[0] + 1):
        here: set[tuple[int, int, int]] = set()
        if row < levels.shape[0]:
            values = levels[row]
            cuts = [0, *(np.flatnonzero(np.diff(values)) + 1).tolist(), values.size]
            here = {(int(values[a]), a, b - a) for a, b in pairwise(cuts)}
        for key in [key for key in growing if key not in here]:
            start, rows = growing.pop(key)
            done.append((key[0], start, rows, key[1], key[2]))
        for key in here:
            growing.setdefault(key, [row, 0])[1] += 1
    return done
