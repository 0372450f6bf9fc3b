"""Sheets, their film and volume, ratios, and films rebuilt from less than a table."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from motion.errors import MotionError
from motion.film import (
    Sheet,
    estimate_from_sheet,
    film_from_sheet,
    ratio_by_distance,
    sheet_film_at,
    sheet_volume_ml,
    volume_ml,
    volume_ul_by_board,
    volume_warning,
)
from motion.reconstruct import OilPass, film_from_passes, film_from_summary

UM_PER_UNIT = 0.0167 / 929.0304 * 1e4
UL = (41.5 / 39 * 0.0254) * 0.3048 * 1000.0  # one um over one board and one foot, in uL


def flat(level, boards=39):
    return np.full(boards, float(level))


def a_sheet(**changes):
    given = {
        "length_ft": 40.0,
        "distances_ft": [2.0, 15.0, 30.0],
        "oil": [flat(40), flat(30), flat(10)],
    }
    return Sheet(**{**given, **changes})


def exact_ml(sheet):
    """The integral of the sheet by an outside quadrature, piece by piece."""
    total = 0.0
    for board in range(39):
        column = sheet.oil_um[:, board]
        marks = [0.0, *[d for d in sheet.distances_ft if 0.0 < d < sheet.length_ft], sheet.length_ft]
        for low, high in itertools.pairwise(marks):
            total += quad(lambda y, c=column: np.interp(y, sheet.distances_ft, c), low, high)[0]
    return total * UL / 1000.0


def test_a_sheet_is_constant_then_linear_then_ends_as_a_step():
    film = sheet_film_at(a_sheet(), np.array([0.0, 1.0, 8.5, 30.0, 39.0, 40.0, 40.001]))[:, 0] / UM_PER_UNIT
    np.testing.assert_allclose(film, [40, 40, 35, 10, 10, 10, 0])


@settings(max_examples=40, deadline=None)
@given(
    length=st.floats(20.0, 56.0),
    marks=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6, unique=True),
    seed=st.integers(0, 1000),
)
def test_the_film_on_the_nodes_keeps_the_volume_of_the_sheet(length, marks, seed):
    distances = np.unique(np.floor(np.array(marks) * length * 1000.0) / 1000.0)
    oil = np.random.default_rng(seed).uniform(0.0, 80.0, (distances.size, 39))
    sheet = Sheet(length_ft=length, distances_ft=distances, oil=oil)
    film = film_from_sheet(sheet)
    assert film.shape == (61, 39) and film.min() >= 0.0
    assert volume_ml(film) == pytest.approx(sheet_volume_ml(sheet), rel=1e-12)
    assert volume_ul_by_board(film).sum() / 1000.0 == pytest.approx(sheet_volume_ml(sheet), rel=1e-12)


@pytest.mark.parametrize("length", [39.0, 39.25, 39.5, 40.0])
def test_the_volume_is_the_integral_of_the_film_wherever_the_step_falls(length):
    sheet = a_sheet(length_ft=length)
    assert sheet_volume_ml(sheet) == pytest.approx(exact_ml(sheet), rel=1e-9)
    assert volume_ml(film_from_sheet(sheet)) == pytest.approx(exact_ml(sheet), rel=1e-9)


def test_nodes_read_the_sheet_itself_where_it_is_straight():
    film = film_from_sheet(a_sheet()) / UM_PER_UNIT
    assert film[8, 4] == pytest.approx(40 - 10 * 6 / 13)
    assert film[38, 4] == pytest.approx(10.0)
    assert film[0, 4] == pytest.approx(40.0)
    assert film[40, 4] == pytest.approx(5.0)  # half of the node's reach lies in the oil
    assert film[41, 4] == 0.0


def test_published_averages_come_out():
    # Fact sheet section 2 (derived): 25 mL over 42 ft is 1.853 um, 30 mL over 45 ft 2.075 um on average.
    for volume, length, mean in ((25.0, 42.0, 1.853), (30.0, 45.0, 2.075)):
        sheet = Sheet(length_ft=length, distances_ft=[0.0], oil=[flat(mean)], oil_kind="um")
        assert sheet_volume_ml(sheet) == pytest.approx(volume, rel=5e-4)
    # 1 unit over 41.5 in x 40 ft is 2.31 mL.
    one = Sheet(length_ft=40.0, distances_ft=[0.0], oil=[flat(1)])
    assert sheet_volume_ml(one) == pytest.approx(2.31, abs=0.005)
    by_volume = Sheet(length_ft=40.0, distances_ft=[0.0], oil=[flat(25.0)], oil_kind="ul_per_board_ft")
    assert sheet_volume_ml(by_volume) == pytest.approx(39.0)


def test_a_mirrored_film_has_the_same_volume_to_the_bit():
    film = np.random.default_rng(1).uniform(0.0, 10.0, (61, 39))
    assert volume_ml(film) == volume_ml(np.ascontiguousarray(film[:, ::-1]))


def test_a_volume_more_than_five_percent_off_is_said():
    exact = sheet_volume_ml(a_sheet())
    assert volume_warning(a_sheet()) is None
    assert volume_warning(a_sheet(stated_volume_ml=exact * 1.04)) is None
    said = volume_warning(a_sheet(stated_volume_ml=exact * 1.2))
    assert said is not None and "5 %" in said


def test_ratio_follows_the_published_rule():
    # Worked check of the fact sheet: centre 60,62,64,62,60 (mean 61.6), outside 14..18 (mean 16.0): 3.85.
    row = flat(30.0)
    row[17:22] = [60, 62, 64, 62, 60]
    row[2:7] = [14, 15, 16, 17, 18]
    row[32:37] = 8.0
    sheet = Sheet(length_ft=40.0, distances_ft=[8.0], oil=[row])
    ratio = ratio_by_distance(sheet, 8.0)
    assert ratio.right == pytest.approx(3.85) and ratio.left == pytest.approx(7.7)
    assert (ratio.centre_boards, ratio.right_boards, ratio.left_boards) == ("18L-18R", "3R-7R", "3L-7L")
    assert ratio_by_distance(film_from_sheet(sheet), 22.0).right == pytest.approx(3.85)
    mirrored = ratio_by_distance(Sheet(length_ft=40.0, distances_ft=[8.0], oil=[row[::-1]]), 8.0)
    assert (mirrored.left, mirrored.right) == (ratio.right, ratio.left)


def test_a_dry_outside_has_no_finite_ratio():
    row = flat(0.0)
    row[15:24] = 50.0
    assert ratio_by_distance(Sheet(length_ft=40.0, distances_ft=[8.0], oil=[row]), 8.0).left == float("inf")
    assert np.isnan(ratio_by_distance(a_sheet(), 50.0).left)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"oil": [flat(40, 38), flat(30, 38), flat(10, 38)]}, "38 boards — each row needs exactly 39"),
        ({"oil": [flat(40), flat(-1), flat(10)]}, "oil at 15 ft, board 1: -1"),
        ({"oil": [flat(40), flat(float("nan")), flat(10)]}, "oil at 15 ft, board 1: nan"),
        ({"oil": [flat(40), flat(30)]}, "one row for each of the 3 distances"),
        ({"oil": [["x"] * 39] * 3}, "must be numbers"),
        (
            {"distances_ft": [2.0, 15.0, 45.0]},
            "oil at 45 ft, board 1: 10 — must be 0 beyond the stated length of 40",
        ),
        ({"distances_ft": [2.0, 2.0, 30.0]}, "must rise"),
        ({"distances_ft": [-2.0, 15.0, 30.0]}, "distance 1: -2"),
        ({"distances_ft": [], "oil": []}, "at least one distance"),
        ({"length_ft": 61.0}, "length_ft: 61 — allowed 1 to 60 ft"),
        ({"oil_kind": "drops"}, "units, ul_per_board_ft, um"),
        ({"stated_volume_ml": -3.0}, "stated_volume_ml"),
        ({"viscosity_mpas": 0.0}, "viscosity_mpas"),
    ],
)
def test_a_wrong_sheet_is_refused_at_the_cell(changes, said):
    with pytest.raises(MotionError) as caught:
        a_sheet(**changes)
    assert said in str(caught.value)


def test_dry_rows_beyond_the_length_are_harmless():
    sheet = a_sheet(distances_ft=[2.0, 15.0, 44.0], oil=[flat(40), flat(30), flat(0)])
    assert list(sheet.distances_ft) == [2.0, 15.0]
    with pytest.raises(MotionError, match="beyond the length"):
        a_sheet(distances_ft=[41.0], oil=[flat(0)])


PASSES = [
    OilPass(from_board="2L", to_board="2R", ul_per_board=40.0, from_ft=0.0, to_ft=8.0, loads=2),
    OilPass(from_board="8L", to_board="8R", ul_per_board=50.0, from_ft=8.0, to_ft=28.0, loads=3),
    OilPass(
        from_board="12L",
        to_board="10R",
        ul_per_board=50.0,
        from_ft=39.0,
        to_ft=10.0,
        loads=4,
        direction="return",
    ),
]


def test_a_film_from_passes_holds_what_the_passes_laid_and_says_it_is_rebuilt():
    estimate = film_from_passes(39.0, PASSES)
    laid = (40 * 2 * 37 + 50 * 3 * 25 + 50 * 4 * 19) / 1000.0
    assert sum(p.volume_ml for p in PASSES) == pytest.approx(laid)
    assert volume_ml(estimate.film_um) == pytest.approx(laid, rel=1e-12)
    assert estimate.reconstructed and "passes" in estimate.note
    assert estimate.film_um[40:].max() == 0.0 and estimate.film_um.min() >= 0.0
    assert estimate.film_um[:, 0].max() == 0.0  # board 1 got none
    whole_board = volume_ul_by_board(estimate.film_um)
    assert whole_board[19] == pytest.approx(40 * 2 + 50 * 3 + 50 * 4)
    assert whole_board[9] == pytest.approx(40 * 2 + 50 * 3 + 50 * 4) and whole_board[28] == pytest.approx(
        230.0
    )


def test_brushes_lay_oil_on_in_the_direction_of_travel():
    one = {"from_board": 1, "to_board": 39, "ul_per_board": 50.0, "from_ft": 10.0, "to_ft": 20.0}
    out = film_from_passes(40.0, [OilPass(**one)]).film_um[:, 0]
    back = film_from_passes(40.0, [OilPass(**one, direction="return")]).film_um[:, 0]
    assert out[22] > 0.0 and out[8] == 0.0
    assert back[8] > 0.0 and back[22] == 0.0


def test_a_film_from_a_summary_has_the_stated_length_volume_and_ratio():
    estimate = film_from_summary(41.0, 24.5, 6.0)
    assert volume_ml(estimate.film_um) == pytest.approx(24.5, rel=1e-12)
    for distance in (4.0, 22.0, 38.0):
        ratio = ratio_by_distance(estimate.film_um, distance)
        assert ratio.left == pytest.approx(6.0) and ratio.right == pytest.approx(6.0)
    assert estimate.film_um[42:].max() == 0.0 and estimate.film_um[40].min() > 0.0
    assert np.array_equal(estimate.film_um, estimate.film_um[:, ::-1])


def test_less_information_is_believed_less():
    table = estimate_from_sheet(a_sheet())
    passes = film_from_passes(39.0, PASSES)
    summary = film_from_summary(40.0, 25.0, 8.0)
    assert not table.reconstructed and passes.reconstructed and summary.reconstructed
    assert table.film_scale_sd < passes.film_scale_sd < summary.film_scale_sd
    assert table.shape_sd < passes.shape_sd < summary.shape_sd


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: OilPass(from_board="0", to_board="2R", ul_per_board=40, from_ft=0, to_ft=8),
        lambda: OilPass(from_board="2L", to_board="2R", ul_per_board=-1, from_ft=0, to_ft=8),
        lambda: OilPass(from_board="2L", to_board="2R", ul_per_board=4, from_ft=8, to_ft=8),
        lambda: OilPass(from_board="2L", to_board="2R", ul_per_board=4, from_ft=0, to_ft=8, loads=0),
        lambda: OilPass(from_board="2L", to_board="2R", ul_per_board=4, from_ft=0, to_ft=8, direction="up"),
        lambda: film_from_passes(20.0, PASSES),
        lambda: film_from_passes(40.0, []),
        lambda: film_from_summary(40.0, 0.0, 8.0),
        lambda: film_from_summary(40.0, 25.0, 0.5),
        lambda: film_from_summary(float("nan"), 25.0, 5.0),
    ],
)
def test_a_wrong_pass_or_summary_is_refused(wrong):
    with pytest.raises(MotionError):
        wrong()
