"""Wear keeps every drop, never goes negative, mirrors exactly and leaves the marks the trade knows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.film import volume_ml
from motion.inputs import BallSpec
from motion.parameters import Physics
from motion.reconstruct import film_from_summary
from motion.wear import Passes, apply_traffic, join_passes, lift_and_kept, to_lane_boards

UL = (41.5 / 39 * 0.0254) * 0.3048 * 1000.0
FRESH = film_from_summary(40.0, 25.0, 8.0).film_um


def straight(boards):
    return np.repeat(np.asarray(boards, dtype=float)[:, None], 61, axis=1)


def some_passes(n, seed=0, lift=0.04, kept=0.8):
    rng = np.random.default_rng(seed)
    start, slope = rng.uniform(3.0, 37.0, n), rng.uniform(-0.3, 0.3, n)
    return Passes(track_board=start[:, None] + slope[:, None] * np.arange(61.0), lift=lift, kept=kept)


def one_pass(film, track, lift, kept, **physics):
    return apply_traffic(film, Passes(track_board=track[None], lift=lift, kept=kept), Physics(**physics))


def slow_pass(film, track, lift, kept, half_width, carry_ft):
    """One pass in plain Python, written from the law's words alone."""
    film = film.copy()
    on_cover = taken_away = 0.0
    for foot in range(61):
        if not 0.5 <= track[foot] <= 39.5:
            break
        length = 0.5 if foot in (0, 60) else 1.0
        shape = np.zeros(39)
        for board in range(1, 40):
            away = abs(board - track[foot])
            if away < half_width:
                shape[board - 1] = 0.5 * (1 + math.cos(math.pi * away / half_width))
        laid = on_cover * (1 - math.exp(-1 / carry_ft))
        film[foot] += laid * shape / shape.sum() / (length * UL)
        lifted = film[foot] * lift * shape
        film[foot] -= lifted
        volume = lifted.sum() * length * UL
        taken_away += kept * volume
        on_cover += (1 - kept) * volume - laid
    return film, taken_away + on_cover


def test_the_kernel_agrees_with_the_law_written_plainly():
    passes = some_passes(6, seed=4)
    physics = Physics()
    film, off = FRESH, 0.0
    for i in range(6):
        film, gone = slow_pass(
            film, passes.track_board[i], 0.04, 0.8, physics.track_half_width_boards, physics.carry_ft
        )
        off += gone
    got = apply_traffic(FRESH, passes, physics)
    np.testing.assert_allclose(got.film_um, film, atol=1e-12)
    assert got.carried_off_ul == pytest.approx(off, rel=1e-12)


def test_ten_thousand_passes_lose_nothing_that_was_not_carried_off():
    result = apply_traffic(FRESH, some_passes(10_000, seed=1))
    before, after = volume_ml(FRESH), volume_ml(result.film_um)
    assert abs(before - after - result.carried_off_ul / 1000.0) < 1e-9 * before
    assert result.film_um.min() >= 0.0
    assert result.carried_off_by_pass_ul.min() >= 0.0
    assert after < 0.5 * before  # the test would be empty if little had moved


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    lift=st.floats(0.0, 0.5),
    kept=st.floats(0.0, 1.0),
    carry=st.floats(0.5, 40.0),
    half_width=st.floats(0.5, 6.0),
)
def test_volume_is_kept_and_never_negative_for_any_parameters(seed, lift, kept, carry, half_width):
    film = np.random.default_rng(seed).uniform(0.0, 15.0, (61, 39))
    physics = Physics(carry_ft=carry, track_half_width_boards=half_width)
    result = apply_traffic(film, some_passes(30, seed, lift, kept), physics)
    before = volume_ml(film)
    assert abs(before - volume_ml(result.film_um) - result.carried_off_ul / 1000.0) < 1e-9 * before
    assert result.film_um.min() >= 0.0


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), half_width=st.floats(0.5, 5.0))
def test_mirrored_passes_over_a_mirrored_lane_give_the_mirrored_film_to_the_bit(seed, half_width):
    film = np.random.default_rng(seed).uniform(0.0, 15.0, (61, 39))
    passes = some_passes(60, seed)
    physics = Physics(track_half_width_boards=half_width)
    here = apply_traffic(film, passes, physics)
    there = apply_traffic(np.ascontiguousarray(film[:, ::-1]), passes.mirrored(), physics)
    assert np.array_equal(here.film_um, there.film_um[:, ::-1])
    assert np.array_equal(here.carried_off_by_pass_ul, there.carried_off_by_pass_ul)


def test_own_side_tracks_of_either_hand_become_lane_boards():
    track = straight([8.123456789])
    right, left = to_lane_boards(track, "right"), to_lane_boards(track, "left")
    assert np.array_equal(left, 40.0 - right)
    assert right[0, 0] == pytest.approx(8.123456789, abs=1e-6)


def test_the_input_film_is_left_as_it_was():
    before = FRESH.copy()
    apply_traffic(FRESH, some_passes(5))
    assert np.array_equal(FRESH, before)


def test_a_ball_that_keeps_nothing_lays_down_what_it_lifts_within_its_carry():
    film = np.zeros((61, 39))
    film[10, 19] = 5.0
    result = one_pass(film, straight([20.0])[0], 0.004, 0.0, carry_ft=3.0)
    lifted = 5.0 * 0.004 * UL
    laid = result.film_um[11:].sum(axis=1) * UL
    assert result.film_um[:10].max() == 0.0
    # First laid down one foot on, then fading over three feet.
    assert laid[0] == pytest.approx(lifted * (1 - math.exp(-1 / 3)), rel=0.01)
    assert laid[3] / laid[0] == pytest.approx(math.exp(-1.0), rel=0.01)
    assert result.carried_off_ul < 0.01 * lifted


def test_oil_shows_past_the_pattern_and_a_track_burns_where_the_balls_go():
    passes = Passes(track_board=straight(np.full(60, 12.0)), lift=0.04, kept=0.85)
    after = apply_traffic(FRESH, passes).film_um
    assert FRESH[42:].max() == 0.0
    assert after[42:50, 11].min() > 0.001  # oil pushed past the pattern
    assert after[42, 11] > after[48, 11] > after[55, 11]
    assert after[10, 11] < 0.6 * FRESH[10, 11]  # burned
    assert np.array_equal(after[:, 20:], FRESH[:, 20:])  # nobody went there


def test_more_surface_and_reactive_covers_lift_more_and_plastic_keeps_less():
    def made(cover, roughness):
        return lift_and_kept(BallSpec(weight_lb=15, rg_in=2.5, cover=cover, roughness_um=roughness))

    assert made("reactive_solid", 1.0)[0] > made("reactive_solid", 0.3)[0]
    assert made("reactive_pearl", 0.5)[0] > made("urethane", 0.5)[0] > made("plastic", 0.5)[0]
    assert made("reactive_pearl", 0.5)[1] > made("urethane", 0.5)[1] > made("plastic", 0.5)[1]


def test_a_world_that_keeps_more_than_everything_keeps_everything():
    ball = BallSpec(weight_lb=15, rg_in=2.5, cover="reactive_solid", roughness_um=0.5)
    assert lift_and_kept(ball, Physics(kept_share_reactive=1.3, lift_share=3.0)) == (0.5, 1.0)


def test_a_ball_in_the_gutter_wears_only_what_it_touched():
    track = straight([1.0])[0]
    track[20:] = np.nan
    result = one_pass(FRESH, track, 0.05, 0.8)
    assert np.array_equal(result.film_um[20:], FRESH[20:])
    assert result.film_um[10, 0] < FRESH[10, 0]
    beyond = straight([0.2])[0]
    assert np.array_equal(one_pass(FRESH, beyond, 0.05, 0.8).film_um, FRESH)


def test_no_passes_change_nothing():
    result = apply_traffic(FRESH, join_passes([]))
    assert np.array_equal(result.film_um, FRESH) and result.carried_off_ul == 0.0
    both = join_passes([some_passes(2), some_passes(3)])
    assert len(both) == 5


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"track_board": np.zeros((3, 60))}, "shape"),
        ({"track_board": np.full((3, 61), np.inf)}, "infinite"),
        ({"track_board": [["x"] * 61]}, "shape"),
        ({"lift": 0.9}, "lift"),
        ({"kept": -0.1}, "kept"),
        ({"kept": np.array([np.nan, 0.5, 0.5])}, r"kept\[0\]"),
    ],
)
def test_wrong_passes_are_refused(given, said):
    with pytest.raises(MotionError, match=said):
        Passes(**{"track_board": straight([10.0, 11.0, 12.0]), "lift": 0.03, "kept": 0.8, **given})


def test_wrong_wear_parameters_are_refused():
    with pytest.raises(MotionError, match="carry_ft"):
        apply_traffic(FRESH, some_passes(1), Physics(carry_ft=0.0))
    with pytest.raises(MotionError, match="track_half_width_boards"):
        apply_traffic(FRESH, some_passes(1), Physics(track_half_width_boards=0.1))
    with pytest.raises(MotionError, match="film_um"):
        apply_traffic(np.full((61, 39), np.nan), some_passes(1))
