"""A version as a table that the entry form reads back: its own, or of a rebuilt film one of few distances."""

import math
from dataclasses import dataclass

import numpy as np

from motion.errors import FloatArray
from motion.film import Sheet, film_from_sheet
from motion.units import BOARDS, UNIT_UM
from patterns.engine_inputs import film_for
from patterns.models import PatternVersion
from patterns.sheet_types import MAX_DISTANCES, OIL_MAX

# A film carried this closely needs no more distances.
CLOSE_ENOUGH_UNITS = 0.05
# How strongly oil that the film leaves open is drawn to the film at its own distance.
PULL = 1e-3


@dataclass(frozen=True)
class Columns:
    """Oil (n, 39) at n distances, boards from the right, in the version's unit.

    `error_units`: the most by which the film read back differs from the version's, at any board and foot;
    None for a table, which is given out as it is.
    """

    distances_ft: list[float]
    oil: list[list[float]]
    error_units: float | None = None


def columns_of(version: PatternVersion) -> Columns:
    """The stored table; of a rebuilt film at most as many distances as the form takes."""
    if not version.is_reconstructed:
        return Columns(version.distances_ft, version.oil)
    return carry(film_for(version)[0] / UNIT_UM, version.length_ft)


def carry(film: FloatArray, length_ft: float) -> Columns:
    """A table of few distances that reads back as this film (61, 39) [units] of a length [ft]."""
    best: Columns | None = None
    for count in range(2, MAX_DISTANCES + 1):
        tried = _fitted(film, _knots(film, length_ft, count), length_ft)
        if best is None or tried.error_units < best.error_units:  # type: ignore[operator]  # both are numbers
            best = tried
        if best.error_units <= CLOSE_ENOUGH_UNITS:  # type: ignore[operator]
            break
    assert best is not None  # noqa: S101  (two distances are always tried)
    return best


def _knots(film: FloatArray, length_ft: float, count: int) -> list[float]:
    """At most `count` distances between which straight lines keep closest to the film at its worst place."""
    inside = math.ceil(length_ft)  # the end of the oil falls into the foot before this one
    rows = np.vstack([film[:inside], film[inside - 1]])
    feet = np.append(np.arange(inside, dtype=np.float64), length_ft)
    last = len(feet) - 1
    # worst[k][j]: the least largest error up to row j with k pieces; came[k][j]: where the last piece begins.
    apart = {(i, j): _off_a_line(rows, feet, i, j) for i in range(last) for j in range(i + 1, last + 1)}
    worst = [[0.0] + [math.inf] * last]
    came: list[list[int]] = [[0] * (last + 1)]
    for _ in range(min(count - 1, last)):
        ways = [
            min(((max(worst[-1][i], apart[i, j]), i) for i in range(j)), default=(math.inf, 0))
            for j in range(last + 1)
        ]
        worst.append([way[0] for way in ways])
        came.append([way[1] for way in ways])
    row, found = last, [last]
    for begins in reversed(came[1:]):
        row = begins[row]
        found.append(row)
    return sorted({float(feet[row]) for row in found})


def _off_a_line(rows: FloatArray, feet: FloatArray, i: int, j: int) -> float:
    share = ((feet[i : j + 1] - feet[i]) / (feet[j] - feet[i]))[:, None]
    return float(np.abs(rows[i] * (1.0 - share) + rows[j] * share - rows[i : j + 1]).max())


def _fitted(film: FloatArray, distances: list[float], length_ft: float) -> Columns:
    """The oil at these distances from which the film is read back with the least squares of error."""
    count = len(distances)
    each_alone = np.zeros((count, BOARDS))
    each_alone[np.arange(count), np.arange(count)] = 1.0
    answers = _read_back(each_alone, distances, length_ft)[:, :count]
    feet = np.arange(len(film), dtype=np.float64)
    near = np.array([np.interp(distances, feet, film[:, board]) for board in range(BOARDS)]).T
    pull = math.sqrt(PULL) * np.eye(count)
    change = np.linalg.lstsq(
        np.vstack([answers, pull]), np.vstack([film - answers @ near, np.zeros_like(near)]), rcond=None
    )[0]
    oil = np.clip(near + change, 0.0, OIL_MAX["units"]).round(4)
    error = float(np.abs(film - _read_back(oil, distances, length_ft)).max())
    return Columns(distances, oil.tolist(), error)


def _read_back(oil: FloatArray, distances: list[float], length_ft: float) -> FloatArray:
    """Film (61, 39) as the engine reads a table; boards do not mix, so each can stand for one distance."""
    sheet = Sheet(length_ft=length_ft, distances_ft=np.array(distances), oil=oil, oil_kind="um")
    return film_from_sheet(sheet)
