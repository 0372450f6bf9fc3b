"""A film rebuilt from less than a table: a list of machine passes, or only length, volume and ratio.

Both are marked reconstructed and carry a wider belief than a table (``parameters``: film_scale_sd_*,
film_shape_sd_*).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion import units
from motion.boards import parse_board_token
from motion.errors import FloatArray, MotionError, number, one_of
from motion.film import FilmEstimate, Sheet, film_from_sheet, nodes_from_amounts, sheet_volume_ml
from motion.parameters import value

DIRECTIONS = ("outward", "return")
CELLS_PER_FOOT = 20


@dataclass(frozen=True, kw_only=True)
class OilPass:
    """One line of a pass list: boards from and to ("2L", "2R"), microlitres on each board in this line, feet,
    direction.

    loads repeats the line (the machine crosses the lane that many times over the same boards). from_ft and
    to_ft may stand in either order; outward runs from the foul line, return towards it. Raises MotionError.
    """

    from_board: str | int
    to_board: str | int
    ul_per_board: float
    from_ft: float
    to_ft: float
    loads: int = 1
    direction: str = "outward"

    def __post_init__(self) -> None:
        set_ = object.__setattr__
        parse_board_token(self.from_board, "from_board")
        parse_board_token(self.to_board, "to_board")
        set_(self, "ul_per_board", number("ul_per_board", self.ul_per_board, 0.0, 5000.0, "uL"))
        set_(self, "from_ft", number("from_ft", self.from_ft, 0.0, units.LANE_LENGTH_FT, "ft"))
        set_(self, "to_ft", number("to_ft", self.to_ft, 0.0, units.LANE_LENGTH_FT, "ft"))
        set_(self, "loads", int(number("loads", self.loads, 1, 50)))
        one_of("direction", self.direction, DIRECTIONS)
        if self.from_ft == self.to_ft:
            raise MotionError("to_ft", self.to_ft, "must differ from from_ft")

    @property
    def boards(self) -> tuple[int, int]:
        """First and last board, counted from the right."""
        a, b = parse_board_token(self.from_board), parse_board_token(self.to_board)
        return min(a, b), max(a, b)

    @property
    def volume_ml(self) -> float:
        """What the line lays down [mL]."""
        first, last = self.boards
        return self.ul_per_board * self.loads * (last - first + 1) / 1000.0


def film_from_passes(length_ft: float, passes: Sequence[OilPass]) -> FilmEstimate:
    """Rebuild a film from a list of passes; its volume is exactly the sum of the lines.

    Each line is laid evenly over its feet, then smeared in the direction of travel by the brush (exponential,
    brush_carry_ft, assumed), cut at the stated length and scaled back to its volume. Raises MotionError.
    """
    length = number("length_ft", length_ft, 1.0, units.LANE_LENGTH_FT, "ft")
    if not passes:
        raise MotionError("passes", "none", "at least one pass")
    cells = round(units.LANE_LENGTH_FT * CELLS_PER_FOOT)
    middles = (np.arange(cells) + 0.5) / CELLS_PER_FOOT
    amounts = np.zeros((cells, units.BOARDS))
    for i, line in enumerate(passes):
        start, end = sorted((line.from_ft, line.to_ft))
        if end > length + 1e-9:
            raise MotionError(
                f"pass {i + 1} feet", end, f"must not reach beyond the stated length of {length:g} ft"
            )
        profile = _brushed(middles, start, end, length, line.direction)
        first, last = line.boards
        um_ft = units.ul_per_board_ft_to_um(line.ul_per_board * line.loads)
        amounts[:, first - 1 : last] += (profile * um_ft)[:, None]
    return FilmEstimate(
        film_um=nodes_from_amounts(middles, amounts),
        length_ft=length,
        reconstructed=True,
        film_scale_sd=value("film_scale_sd_passes"),
        shape_sd=value("film_shape_sd_passes"),
        note=f"rebuilt from {len(passes)} passes: laid evenly over each pass's feet, brushed on, "
        "cut at the length",
    )


def _brushed(middles: FloatArray, start: float, end: float, length: float, direction: str) -> FloatArray:
    """Share of one line's oil in each cell, summing to 1."""
    carry = value("brush_carry_ft")
    density = np.zeros_like(middles)
    fade = math.exp(-1.0 / (CELLS_PER_FOOT * carry))
    order = range(middles.size) if direction == "outward" else range(middles.size - 1, -1, -1)
    held = 0.0
    half = 0.5 / CELLS_PER_FOOT
    for cell in order:
        low, high = middles[cell] - half, middles[cell] + half
        fed = max(0.0, min(high, end) - max(low, start))
        on_lane = max(0.0, min(high, length) - low)
        held += fed
        laid = held * (1.0 - fade)
        held -= laid
        density[cell] = laid * on_lane * CELLS_PER_FOOT
    result: FloatArray = density / density.sum()
    return result


def film_from_summary(length_ft: float, volume_ml: float, ratio: float) -> FilmEstimate:
    """Rebuild a film from length [ft], volume [mL] and ratio (middle over outside, as ratio_by_distance
    defines it).

    Shape, assumed: flat outside to board 7, rising evenly to a flat middle from board 14, the same on both
    sides; flat for the first summary_plateau_share of the length, then falling evenly to summary_end_share of
    it. The ratio holds at every distance and the volume exactly. Raises MotionError.
    """
    length = number("length_ft", length_ft, 1.0, units.LANE_LENGTH_FT, "ft")
    volume = number("volume_ml", volume_ml, 0.1, 100.0, "mL")
    middle = number("ratio", ratio, 1.0, 100.0)
    boards = np.arange(1, units.BOARDS + 1, dtype=np.float64)
    from_edge = np.minimum(boards, units.BOARDS + 1 - boards)
    across = np.interp(from_edge, [7.0, 14.0], [1.0, middle])
    plateau = value("summary_plateau_share") * length
    oil = np.outer([1.0, 1.0, value("summary_end_share")], across)
    shape = Sheet(length_ft=length, distances_ft=np.array([0.0, plateau, length]), oil=oil, oil_kind="um")
    return FilmEstimate(
        film_um=film_from_sheet(shape) * (volume / sheet_volume_ml(shape)),
        length_ft=length,
        reconstructed=True,
        film_scale_sd=value("film_scale_sd_summary"),
        shape_sd=value("film_shape_sd_summary"),
        note=f"rebuilt from length {length:g} ft, {volume:g} mL and ratio {middle:g}:1 with an assumed shape",
    )
