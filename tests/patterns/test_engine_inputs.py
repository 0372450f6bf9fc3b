"""The film a stored version gives to the engine."""

import uuid
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.interpolate import RegularGridInterpolator

from motion.film import volume_ml
from motion.units import BOARD_M, FOOT_M, UNIT_UM
from patterns.engine_inputs import film_for
from patterns.models import PatternVersion
from patterns.record import Details, create_pattern
from patterns.sheet_parser import parse_sheet
from patterns.sheet_reader import all_labels
from patterns.sheet_types import RawPass, RawRow, RawSheet, RawTable
from tests.conftest import Cast


def typed_table() -> RawTable:
    """Three distances over every board, uneven from board to board and from side to side."""
    rows = []
    for board, label in enumerate(all_labels(), start=1):
        middle = 12 + (7 * board) % 5 if 8 <= board <= 33 else 3 + board % 3
        rows.append(RawRow(label, [f"{middle * 2}", f"{middle}", f"{middle / 4}"]))
    return RawTable(distances=["2", "18.5", "36"], rows=rows)


def stored(cast: Cast, raw: RawSheet) -> PatternVersion:
    pattern, _ = create_pattern(cast.team, cast.coach, uuid.uuid4(), Details("Willow"), parse_sheet(raw))
    return pattern.versions.get()


def test_volume_agrees_with_an_independent_integral_of_the_sheet(cast: Cast) -> None:
    """SciPy's own bilinear interpolation and adaptive quadrature, in metres and from the sheet's own rows."""
    version = stored(cast, RawSheet(length_ft="41.5", table=typed_table()))
    film_um, _ = film_for(version)
    rows = np.array(version.oil)
    surface = RegularGridInterpolator((version.distances_ft, np.arange(1, 40)), rows, method="linear")

    def film_m(x_m: float, y_m: float) -> float:
        board = np.clip(x_m / BOARD_M + 0.5, 1, 39)
        foot = np.clip(y_m / FOOT_M, version.distances_ft[0], version.distances_ft[-1])
        return float(surface((foot, board))) * UNIT_UM * 1e-6

    # Piece by piece between the creases, where adaptive quadrature is exact.
    total = 0.0
    feet = [0.0, 2.0, 18.5, 36.0, 41.5]
    boards = [0.5, *range(1, 40), 39.5]
    for near, far in pairwise(feet):
        for left, right in pairwise(boards):
            x0, x1 = (left - 0.5) * BOARD_M, (right - 0.5) * BOARD_M
            piece, _ = dblquad(
                lambda x, y: film_m(x, y), near * FOOT_M, far * FOOT_M, x0, x1, epsabs=1e-14, epsrel=1e-4
            )
            total += piece
    assert volume_ml(film_um) == pytest.approx(total * 1e6, rel=1e-6)


def test_film_is_dry_beyond_the_stated_length(cast: Cast) -> None:
    film_um, _ = film_for(stored(cast, RawSheet(length_ft="40", table=typed_table())))
    assert film_um.shape == (61, 39)
    assert (film_um[42:] == 0).all()
    assert (film_um[39] > 0).all()


def test_columns_are_boards_from_the_right(cast: Cast) -> None:
    table = RawTable(["0"], [RawRow("1R", ["9"]), RawRow("2R-1L", ["3"])])
    film_um, _ = film_for(stored(cast, RawSheet(length_ft="40", table=table)))
    assert film_um[10, 0] == pytest.approx(9 * UNIT_UM)
    assert film_um[10, 38] == pytest.approx(3 * UNIT_UM)


def test_reconstructions_are_believed_less_than_a_table(cast: Cast) -> None:
    _, table_sd = film_for(stored(cast, RawSheet(length_ft="40", table=typed_table())))
    _, passes_sd = film_for(
        stored(
            cast,
            RawSheet(
                entry="passes", length_ft="40", passes=[RawPass("2L-2R", "2", "40", "0", "38", "outward")]
            ),
        )
    )
    _, summary_sd = film_for(
        stored(cast, RawSheet(entry="summary", length_ft="40", stated_volume_ml="24", ratio="4"))
    )
    assert table_sd < passes_sd < summary_sd


def test_passes_lay_exactly_the_volume_they_add_up_to(cast: Cast) -> None:
    version = stored(
        cast,
        RawSheet(
            entry="passes",
            length_ft="40",
            passes=[
                RawPass("2L-2R", "2", "40", "0", "30", "outward"),  # 37 boards x 80 uL
                RawPass("10L-10R", "1", "50", "36", "6", "return"),  # 21 boards x 50 uL
            ],
        ),
    )
    film_um, _ = film_for(version)
    assert version.is_reconstructed
    assert volume_ml(film_um) == pytest.approx((37 * 80 + 21 * 50) / 1000, rel=1e-9)


def test_summary_keeps_the_volume_typed(cast: Cast) -> None:
    version = stored(cast, RawSheet(entry="summary", length_ft="43", stated_volume_ml="27,5", ratio="3,2"))
    assert volume_ml(film_for(version)[0]) == pytest.approx(27.5, rel=1e-9)


def test_a_film_given_out_can_be_changed_without_harm(cast: Cast) -> None:
    version = stored(cast, RawSheet(length_ft="40", table=typed_table()))
    film_for(version)[0][:] = 0
    assert film_for(version)[0].sum() > 0
