"""Replaying a lane's traffic, lines and offsets."""

from __future__ import annotations

import numpy as np
import pytest

from motion.advice_types import FieldTraffic, LaneState
from motion.errors import MotionError
from motion.film import volume_ml
from motion.inputs import Line
from motion.lines import TARGET_STEP, feet_board, launch_toward, laydowns, line_at, move_between, targets
from motion.offsets import offset_at_pins
from motion.path import solve_path
from motion.replay import LOT, lots, passes_of, replay, worn_film
from tests.motion.advice_cases import STRIKE, made_up_film, thrown

LINE = Line(laydown_board=20.0, target_board=13.0)
FIELD = FieldTraffic(right_bowlers=3.0, left_bowlers=1.0, games=1.0)


def _lane(traffic: list[object]) -> LaneState:
    return LaneState(lane_id="5", pair_id="5-6", film_um=made_up_film(), traffic=tuple(traffic))  # type: ignore[arg-type]


def test_no_traffic_leaves_the_film_as_dressed() -> None:
    history = replay(_lane([]))
    assert np.array_equal(history.now.central, made_up_film())
    assert history.passes == 0


def test_traffic_wears_the_track_and_nothing_far_from_it() -> None:
    history = replay(_lane(thrown(LINE, 60)))
    fresh, now = history.fresh.central, history.now.central
    assert history.passes == 60
    assert volume_ml(now) < volume_ml(fresh)
    assert (
        now[15, 11:14].mean() < 0.75 * fresh[15, 11:14].mean()
    )  # boards 12 to 14, where the line crosses 15 ft
    assert np.array_equal(now[:, 28:], fresh[:, 28:])
    assert now[42:50].max() > 0.0  # oil carried past the pattern's end


def test_faster_wear_takes_more_and_longer_carry_lays_it_further() -> None:
    films = replay(_lane(thrown(LINE, 60))).now.films_um
    slow, fast, short, far = films[3], films[4], films[5], films[6]
    assert volume_ml(fast) < volume_ml(slow)
    assert far[46:].sum() > short[46:].sum()


def test_films_between_the_stars_nodes_are_close_to_replaying_them() -> None:
    lane = _lane(thrown(LINE, 40))
    history = replay(lane)
    log_film, log_wear, log_carry = 0.1, 0.2, -0.2
    mixed = history.now.mix(np.array([log_film]), np.array([log_wear]), np.array([log_carry]))[0]
    central, exact, index = made_up_film(), made_up_film() * np.exp(log_film), 0
    for lot in lots(lane.traffic):
        passes, _ = passes_of(central, lot, index, 0)
        central = worn_film(central, passes, 0.0, 0.0)
        exact = worn_film(exact, passes, log_wear, log_carry)
        index += len(passes)
    assert np.abs(mixed - exact).max() < 0.03 * made_up_film().max()
    assert volume_ml(mixed) == pytest.approx(volume_ml(exact), rel=0.005)


def test_the_central_world_is_read_back_exactly() -> None:
    history = replay(_lane(thrown(LINE, 20)))
    zero = np.zeros(2)
    assert np.array_equal(history.now.mix(zero, zero, zero)[1], history.now.central)


def test_checkpoints_give_the_film_of_that_moment() -> None:
    history = replay(_lane(thrown(LINE, 3 * LOT)))
    assert np.array_equal(history.before_entry(0).central, made_up_film())
    assert np.array_equal(history.before_entry(LOT - 1).central, made_up_film())
    middle = volume_ml(history.before_entry(LOT + 2).central)
    assert volume_ml(history.now.central) < middle < volume_ml(made_up_film())
    assert history.before_entry(10_000) is history.now


def test_a_count_wears_like_so_many_single_passes() -> None:
    line_pass = thrown(LINE, 1)[0]
    single = replay(_lane([line_pass] * 6))
    together = replay(_lane([type(line_pass)(**{**vars(line_pass), "count": 6})]))
    assert np.allclose(single.now.central, together.now.central)


def test_an_assumed_field_wears_the_lane_and_more_on_the_side_of_more_bowlers() -> None:
    history = replay(_lane([FIELD]))
    assert history.passes == 28
    gone = history.fresh.central[:40] - history.now.central[:40]
    assert gone[:, :19].sum() > 1.5 * gone[:, 20:].sum() > 0.0


def test_a_lane_without_a_film_cannot_be_replayed() -> None:
    with pytest.raises(MotionError, match="film"):
        replay(LaneState(lane_id="5", pair_id="5-6", film_um=None))


@pytest.mark.parametrize(("launch", "laydown"), [(1.0, 15.0), (2.0, 18.0), (0.0, 12.5), (3.0, 24.0)])
def test_offset_at_pins_agrees_with_the_reference_path(launch: float, laydown: float) -> None:
    # A ball that has rolled out runs straight at the pins, so the closed form must meet the solver's contact.
    mu = np.full((61, 39), 0.02)
    mu[30:] = 0.25
    path = solve_path(
        mu,
        speed_mph=17.0,
        rev_rate_rpm=250.0,
        axis_rotation_deg=40.0,
        launch_deg=launch,
        laydown_board=laydown,
        rg_in=2.5,
    )
    assert path.roll_start_ft is not None and path.roll_start_ft < 58.0
    found = offset_at_pins(np.array([path.board_at_60]), np.array([path.entry_angle_deg]))[0]
    if path.contact_offset_boards is None:
        assert abs(found) > 6.0
    else:
        assert found == pytest.approx(path.contact_offset_boards, abs=0.02)


def test_an_offset_of_two_and_a_half_boards_at_six_degrees_is_about_board_18_1_at_60_ft() -> None:
    # The project's conventions, section 7.
    assert offset_at_pins(np.array([18.1]), np.array([6.0]))[0] == pytest.approx(2.5, abs=0.05)


def test_offset_continues_past_a_miss() -> None:
    boards = np.linspace(5.0, 35.0, 601)
    offsets = offset_at_pins(boards, np.full(601, 5.0))
    # It falls as the board rises, but for a few hundredths of a board where the ball only grazes the pin.
    assert np.diff(offsets).max() < 0.05
    assert np.abs(np.diff(offsets)).max() < 0.5


def test_lines_on_offer_are_whole_feet_and_half_targets_from_the_present_line() -> None:
    present = Line(laydown_board=20.3, target_board=13.2)
    feet = laydowns(present)
    assert np.allclose((feet - 20.3) % 1.0 % 1.0, 0.0) or np.allclose(
        np.round(feet - 20.3) - (feet - 20.3), 0.0
    )
    goals = targets(22.3, present)
    steps = (goals - 13.2) / TARGET_STEP
    assert np.allclose(steps, np.round(steps))
    line = line_at(22.3, float(goals[3]), present)
    assert launch_toward(22.3, goals[3:4], present)[0] == pytest.approx(line.launch_deg)


def test_moves_are_positive_inside_and_feet_add_the_bowlers_gap() -> None:
    assert move_between(LINE, Line(laydown_board=22.0, target_board=14.0)) == (2.0, 1.0)
    assert feet_board(LINE, 6.5) == 26.5
    assert STRIKE.speed_mph > 0
