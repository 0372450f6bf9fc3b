"""A sheet of lane oil, the film it means, its volume and its ratios.

A sheet's film is constant before its first distance, linear between distances, constant from the last
distance to the stated length and ends there as a step; across boards it is linear between centres and
constant outside. Films are (61, 39) micrometres, rows feet 0..60, columns boards 1..39 from the right.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from motion import units
from motion.errors import FloatArray, MotionError, number, one_of
from motion.inputs import lane_map
from motion.parameters import value
from motion.words import signed

OIL_KINDS = ("units", "ul_per_board_ft", "um")
FILM_MAX_UM = 200.0
CENTRE_BOARDS = tuple(range(18, 23))
OUTSIDE_BOARDS = tuple(range(3, 8))
VOLUME_TOLERANCE = 0.05


@dataclass(frozen=True, kw_only=True, eq=False)
class Sheet:
    """A pattern sheet: oil at distances_ft (n,) by boards 1..39 from the right (n, 39), ending at length_ft.

    oil_kind: "units", "ul_per_board_ft" (microlitres on one board over one foot) or "um". stated_volume_ml is
    what the sheet says its volume is, viscosity_mpas (= cP) its conditioner's viscosity; either may be None.
    Raises MotionError naming the cell: distances must rise from 0 or more, no oil may lie beyond the length.
    """

    length_ft: float
    distances_ft: FloatArray
    oil: FloatArray
    oil_kind: str = "units"
    stated_volume_ml: float | None = None
    viscosity_mpas: float | None = None

    def __post_init__(self) -> None:
        set_ = object.__setattr__
        set_(self, "length_ft", number("length_ft", self.length_ft, 1.0, units.LANE_LENGTH_FT, "ft"))
        one_of("oil_kind", self.oil_kind, OIL_KINDS)
        distances = _float_array("distances_ft", self.distances_ft)
        oil = _float_array("oil", self.oil)
        if distances.ndim != 1 or distances.size == 0:
            raise MotionError("distances_ft", f"shape {distances.shape}", "at least one distance in feet")
        if oil.ndim != 2 or oil.shape[1] != units.BOARDS:
            columns = oil.shape[1] if oil.ndim == 2 else oil.size
            raise MotionError("oil", f"{columns} boards", "each row needs exactly 39 boards")
        if oil.shape[0] != distances.size:
            raise MotionError(
                "oil", f"{oil.shape[0]} rows", f"one row for each of the {distances.size} distances"
            )
        for i, distance in enumerate(distances):
            number(f"distance {i + 1}", float(distance), 0.0, units.LANE_LENGTH_FT, "ft")
            if i and distance <= distances[i - 1]:
                raise MotionError(f"distance {i + 1}", float(distance), "distances must rise from row to row")
        limit = FILM_MAX_UM / _um_per(self.oil_kind)
        for i, board in np.argwhere(~((oil >= 0.0) & (oil <= limit))):
            number(f"oil at {distances[i]:g} ft, board {board + 1}", float(oil[i, board]), 0.0, limit)
        beyond = distances > self.length_ft
        for i, board in np.argwhere(beyond[:, None] & (oil > 0.0)):
            raise MotionError(
                f"oil at {distances[i]:g} ft, board {board + 1}",
                float(oil[i, board]),
                f"must be 0 beyond the stated length of {self.length_ft:g} ft",
            )
        if beyond.all():
            raise MotionError(
                "distances_ft", "all beyond the length", f"at least one up to {self.length_ft:g} ft"
            )
        # Rows beyond the length are dry by now; the step at the length says so already.
        set_(self, "distances_ft", distances[~beyond])
        set_(self, "oil", oil[~beyond])
        if self.stated_volume_ml is not None:
            set_(
                self, "stated_volume_ml", number("stated_volume_ml", self.stated_volume_ml, 0.1, 100.0, "mL")
            )
        if self.viscosity_mpas is not None:
            set_(self, "viscosity_mpas", number("viscosity_mpas", self.viscosity_mpas, 1.0, 500.0, "mPa s"))

    @property
    def oil_um(self) -> FloatArray:
        """Oil as micrometres of film (n, 39)."""
        return self.oil * _um_per(self.oil_kind)


@dataclass(frozen=True, kw_only=True, eq=False)
class FilmEstimate:
    """A film with how far it is to be believed.

    film_scale_sd is the relative standard deviation of one common scale on the film, shape_sd that of its
    shape board by board and foot by foot (assumed priors, ``parameters``); note says in words how the film
    was made.
    """

    film_um: FloatArray
    length_ft: float
    reconstructed: bool
    film_scale_sd: float
    shape_sd: float
    note: str


@dataclass(frozen=True, kw_only=True)
class Ratio:
    """Oil in the middle over oil outside, per side, at one distance, with the boards used."""

    distance_ft: float
    left: float
    right: float
    centre_boards: str
    left_boards: str
    right_boards: str


def _float_array(field: str, values: object) -> FloatArray:
    try:
        return np.array(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError(field, values, "must be numbers, every row the same length") from None


def _um_per(oil_kind: str) -> float:
    return {"units": units.UNIT_UM, "ul_per_board_ft": 1.0 / units.BOARD_FOOT_UL_PER_UM, "um": 1.0}[oil_kind]


def _gauss_points(sheet: Sheet, feet: bool) -> tuple[FloatArray, FloatArray]:
    """Points and weights [ft] that integrate the sheet (times a hat function if feet) over 0..length exactly.

    Between consecutive break points the integrand is a polynomial of degree two at most; two-point Gauss is
    exact to degree three.
    """
    marks = [0.0, sheet.length_ft, *(float(d) for d in sheet.distances_ft)]
    if feet:
        marks += [float(i) for i in range(units.FEET) if i < sheet.length_ft]
    edges = np.unique(np.array(marks))
    low, width = edges[:-1], np.diff(edges)
    offset = 0.5 / np.sqrt(3.0)
    points = np.concatenate([low + (0.5 - offset) * width, low + (0.5 + offset) * width])
    return points, np.concatenate([width, width]) / 2.0


def sheet_film_at(sheet: Sheet, y_ft: FloatArray) -> FloatArray:
    """Film of the sheet exactly as it reads at distances y_ft (m,) -> (m, 39) [um]; zero beyond the
    length."""
    y = np.asarray(y_ft, dtype=np.float64)
    oil = sheet.oil_um
    film = np.empty((y.size, units.BOARDS))
    for board in range(units.BOARDS):
        film[:, board] = np.interp(y, sheet.distances_ft, oil[:, board])
    film[y > sheet.length_ft] = 0.0
    return film


def sheet_volume_ml(sheet: Sheet) -> float:
    """Volume of the sheet [mL]: the exact integral of its film over the lane."""
    points, weights = _gauss_points(sheet, feet=False)
    per_board = weights @ sheet_film_at(sheet, points)
    # Linear between centres and constant outside them, the boards' integral is the plain sum over boards.
    return float(per_board.sum()) * units.BOARD_FOOT_UL_PER_UM / 1000.0


def film_from_sheet(sheet: Sheet) -> FloatArray:
    """Return the sheet's film on the lane's nodes (61, 39) [um], conserving its volume.

    Each node takes the average of the sheet's film under the node's own hat function (1 at the node, 0 one
    foot away). Hats add up to one everywhere, so the volume of the nodal film equals the exact integral of
    the sheet; wherever the sheet is straight for a foot on both sides the node simply reads it, and the step
    at the stated length is shared between the nodes on either side in proportion.
    """
    points, weights = _gauss_points(sheet, feet=True)
    return nodes_from_amounts(points, weights[:, None] * sheet_film_at(sheet, points))


def nodes_from_amounts(points: FloatArray, amounts: FloatArray) -> FloatArray:
    """Spread amounts (m, 39) [um ft] found at points (m,) [ft] over the nodes by hat functions; conserves
    their sum."""
    node = np.minimum(points.astype(np.int64), units.FEET - 2)
    share = points - node
    film = np.zeros((units.FEET, units.BOARDS))
    np.add.at(film, node, amounts * (1.0 - share)[:, None])
    np.add.at(film, node + 1, amounts * share[:, None])
    result: FloatArray = film / node_lengths_ft()[:, None]
    return result


def node_lengths_ft() -> FloatArray:
    """Length of lane [ft] that each node stands for: 1, and 1/2 at both ends (61,)."""
    lengths = np.ones(units.FEET)
    lengths[0] = lengths[-1] = 0.5
    return lengths


def volume_ul_by_board(film_um: FloatArray) -> FloatArray:
    """Volume on each board (39,) [uL] of a nodal film."""
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    result: FloatArray = (node_lengths_ft() @ film) * units.BOARD_FOOT_UL_PER_UM
    return result


def volume_ml(film_um: FloatArray) -> float:
    """Volume of a nodal film (61, 39) [mL]; the mirrored film gives the same bits."""
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    both = film + film[:, ::-1]  # the same array, mirrored or not, so the sum cannot depend on the side
    per_foot = 0.5 * both.sum(axis=1)
    return float((node_lengths_ft() * per_foot).sum()) * units.BOARD_FOOT_UL_PER_UM / 1000.0


def volume_warning(sheet: Sheet) -> str | None:
    """Say so if the sheet's own volume and the integral of its film are more than 5 % apart; None if they
    agree."""
    if sheet.stated_volume_ml is None:
        return None
    volume = sheet_volume_ml(sheet)
    gap = volume / sheet.stated_volume_ml - 1.0
    if abs(gap) <= VOLUME_TOLERANCE:
        return None
    return (
        f"The sheet states {sheet.stated_volume_ml:.4g} mL, its table adds up to {volume:.4g} mL "
        f"({signed(100.0 * gap, 0)} %); more than 5 % apart, so check the units or the sheet."
    )


def ratio_by_distance(source: Sheet | FloatArray, distance_ft: float) -> Ratio:
    """Return mean(boards 18L..18R) / mean(boards 3..7) for each side at one distance, boards named.

    source: a Sheet, or a nodal film (61, 39) [um]. Infinite where a side is dry outside and the middle is
    not; nan where both are dry. Formula: the sport rule as restated in a tournament FAQ of 2005 (found
    second-hand); worked check 3.85.
    """
    if isinstance(source, Sheet):
        row = sheet_film_at(source, np.array([number("distance_ft", distance_ft, 0.0, 60.0, "ft")]))[0]
    else:
        film = lane_map("film_um", source, 0.0, FILM_MAX_UM, "um")
        y = number("distance_ft", distance_ft, 0.0, 60.0, "ft")
        node = min(int(y), units.FEET - 2)
        row = film[node] * (1.0 - (y - node)) + film[node + 1] * (y - node)
    centre = _mean(row, CENTRE_BOARDS)
    right = _mean(row, OUTSIDE_BOARDS)
    left = _mean(row[::-1], OUTSIDE_BOARDS)
    return Ratio(
        distance_ft=float(distance_ft),
        left=_divide(centre, left),
        right=_divide(centre, right),
        centre_boards="18L-18R",
        left_boards="3L-7L",
        right_boards="3R-7R",
    )


def _mean(row: NDArray[np.float64], boards: tuple[int, ...]) -> float:
    picked = row[[b - 1 for b in boards]]
    # Symmetric pairs first, so that a mirrored row gives the same bits.
    return float((picked + picked[::-1]).sum() / 2.0 / len(boards))


def _divide(top: float, bottom: float) -> float:
    if bottom > 0.0:
        return top / bottom
    return float("inf") if top > 0.0 else float("nan")


def estimate_from_sheet(sheet: Sheet) -> FilmEstimate:
    """Return the sheet's film with the belief a full table earns (``parameters``: film_scale_sd_sheet)."""
    return FilmEstimate(
        film_um=film_from_sheet(sheet),
        length_ft=sheet.length_ft,
        reconstructed=False,
        film_scale_sd=value("film_scale_sd_sheet"),
        shape_sd=value("film_shape_sd_sheet"),
        note="from the sheet's table",
    )
