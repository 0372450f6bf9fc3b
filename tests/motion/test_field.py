"""The assumed rest of the field."""

from __future__ import annotations

import numpy as np
import pytest

from motion.errors import MotionError
from motion.field import USUAL_STYLES, Field, HandMix, field_passes, play_field, usual_line
from motion.film import volume_ml
from motion.friction import mu_map
from motion.path import march_batch
from motion.reconstruct import film_from_summary

FRESH = film_from_summary(40.0, 25.0, 8.0).film_um


def lopsided():
    film = FRESH.copy()
    film[:, 20:] *= 1.15
    return film


def test_the_hands_alternate_by_their_shares():
    order = HandMix().order(100)
    assert order.count("left") == 12
    assert HandMix(right=0.0, left=1.0).order(5) == ["left"] * 5
    assert HandMix(right=1.0, left=1.0).order(4) in (
        ["right", "left"] * 2,
        ["right", "left", "left", "right"],
    )
    mirrored = HandMix(right=60, left=40).mirrored()
    assert [{"left": "right", "right": "left"}[h] for h in mirrored.order(37)] == HandMix(
        right=60, left=40
    ).order(37)


@pytest.mark.parametrize(
    "mix", [HandMix(), HandMix(right=1.0, left=1.0), HandMix(right=70.0, left=30.0, first="left")]
)
def test_field_and_lane_mirrored_wear_to_the_mirrored_film_to_the_bit(mix):
    here = play_field(lopsided(), 70, Field(hand_mix=mix))
    there = play_field(np.ascontiguousarray(lopsided()[:, ::-1]), 70, Field(hand_mix=mix).mirrored())
    assert np.array_equal(here.film_um, there.film_um[:, ::-1])
    assert here.carried_off_ul == there.carried_off_ul


def test_an_ordinary_field_wears_the_right_side_more():
    after = play_field(FRESH, 120).film_um
    lost = (FRESH - after).clip(0.0)
    right, left = lost[:, :15].sum(), lost[:, 24:].sum()
    assert right > 2.0 * left > 0.0


def test_the_field_conserves_oil_and_repeats_itself_exactly():
    one, two = play_field(FRESH, 90), play_field(FRESH, 90)
    assert np.array_equal(one.film_um, two.film_um)
    assert abs(volume_ml(FRESH) - volume_ml(one.film_um) - one.carried_off_ul / 1000.0) < 1e-9 * volume_ml(
        FRESH
    )
    assert one.carried_off_by_pass_ul.shape == (90,)


def test_a_field_that_goes_on_is_the_same_as_one_played_at_once():
    at_once = play_field(FRESH, 60)
    first = play_field(FRESH, 30)
    then = play_field(first.film_um, 30, start=30)
    assert np.array_equal(at_once.film_um, then.film_um)


def test_every_style_finds_the_pocket_from_its_usual_part_of_the_lane():
    for style in USUAL_STYLES:
        mu = mu_map(FRESH, style.ball)
        laydown, launch = usual_line(mu, style)
        release = style.release
        shot = march_batch(
            mu, release.speed_mph, release.rev_rate_rpm, release.axis_rotation_deg, launch, laydown,
            style.ball.rg_in, axis_tilt_deg=release.axis_tilt_deg,
        )  # fmt: skip
        assert shot.contact_offset_boards[0] == pytest.approx(2.5, abs=1.0)
        assert 5.0 < laydown < 32.0


def line_of(film, style):
    laydown, launch = usual_line(mu_map(film, style.ball), style)
    return laydown, laydown - np.tan(np.radians(launch)) * 15.0 * 12.0 / (41.5 / 39.0)


def test_as_the_lane_wears_the_field_moves_feet_two_and_target_one():
    # The usual first move as oil goes (coaching, common practice).
    worn = play_field(FRESH, 240).film_um
    for style in USUAL_STYLES:
        (feet, target), (feet_then, target_then) = line_of(FRESH, style), line_of(worn, style)
        assert feet_then > feet + 1.0
        assert target_then - target == pytest.approx((feet_then - feet) / 2.0, abs=0.6)


def test_where_the_ball_does_not_come_back_the_field_plays_straighter():
    long = film_from_summary(50.0, 32.0, 3.0).film_um
    for style in USUAL_STYLES:
        feet, target = line_of(long, style)
        assert target == pytest.approx(style.target_board, abs=1e-6)
        assert feet - target < style.laydown_gap_boards


def test_no_shots_and_wrong_counts():
    assert len(field_passes(FRESH, 0)) == 0
    assert np.array_equal(play_field(FRESH, 0).film_um, FRESH)
    with pytest.raises(MotionError, match="count"):
        field_passes(FRESH, -1)
    with pytest.raises(MotionError):
        HandMix(right=0.0, left=0.0)
    with pytest.raises(MotionError, match="left"):
        HandMix(right=1.0, left=-1.0)
