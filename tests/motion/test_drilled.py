"""What is known of a ball's drilling reaches every march of it, and what is not known changes nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from motion import engine
from motion.drilled import drilled, has_layout_effect
from motion.errors import MotionError
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.path import march_batch
from tests.motion.advice_cases import SOLID, STRIKE, made_up_film

LAYOUT = {"pin_to_pap_in": 4.0, "drilling_angle_deg": 50.0, "val_angle_deg": 35.0}
DRILLED = replace(SOLID, **LAYOUT)
FILM = made_up_film()
THROWN = (STRIKE.rev_rate_rpm, STRIKE.axis_rotation_deg, STRIKE.axis_tilt_deg)
LINE = {"launch_deg": 1.8, "laydown_board": 21.0}


@pytest.mark.parametrize(
    "ball",
    [SOLID, replace(SOLID, differential_in=0.0, **LAYOUT), replace(SOLID, drilling_angle_deg=50.0)],
    ids=["no layout", "no differential", "no pin to PAP"],
)
def test_a_ball_of_which_too_little_is_known_goes_through_untouched(ball) -> None:
    assert not has_layout_effect(ball)
    found = drilled(ball, STRIKE, FILM)
    mu = mu_map(FILM, ball)
    assert found.maps(mu) is mu
    assert np.array_equal(mu * found.factor, mu)
    thrown = found.thrown(*THROWN)
    assert (thrown["rev_rate_rpm"], thrown["axis_rotation_deg"], thrown["axis_tilt_deg"]) == THROWN
    assert thrown["k"] is None and thrown["rg_in"] == ball.rg_in


@pytest.mark.parametrize("march", [march_batch, engine.march])
def test_drilled_balls_march_nearer_to_the_full_ball_than_plain_ones(march) -> None:
    missed = []
    for layout in ((0.75, 70.0, 40.0), (2.0, 50.0, 40.0), (4.0, 50.0, 35.0), (5.0, 75.0, 55.0)):
        for roughness_um in (0.5, 0.9):
            ball = replace(SOLID, roughness_um=roughness_um, **dict(zip(LAYOUT, layout, strict=True)))
            mu = mu_map(FILM, ball)
            found, plain = drilled(ball, STRIKE, FILM), drilled(SOLID, STRIKE, FILM)
            full = solve_full_ball(mu, ball, STRIKE, film_um=FILM, **LINE).board_at_60
            boards = [
                march(how.maps(mu), STRIKE.speed_mph, **how.thrown(*THROWN), **LINE).board_at_60[0]
                for how in (found, plain)
            ]
            missed.append(np.array(boards) - full)
    drilled_rms, plain_rms = np.sqrt((np.array(missed) ** 2).mean(axis=0))
    assert drilled_rms < 0.5 * plain_rms


def test_scattered_releases_are_turned_like_the_intended_one_and_stay_in_range() -> None:
    found = drilled(DRILLED, STRIKE, FILM)
    one = found.thrown(*THROWN)
    many = found.thrown(np.array([330.0, 800.0]), np.array([48.0, 100.0]), STRIKE.axis_tilt_deg)
    assert many["rev_rate_rpm"][0] == one["rev_rate_rpm"]
    assert many["axis_rotation_deg"][0] == one["axis_rotation_deg"]
    assert many["rev_rate_rpm"][1] <= 800.0 and many["axis_rotation_deg"][1] <= 100.0


def test_the_scatter_of_a_release_does_not_bear_on_what_the_layout_does() -> None:
    wild = replace(STRIKE, scatter=replace(STRIKE.scatter, sd_speed_mph=1.0))
    assert drilled(DRILLED, wild, FILM) is drilled(DRILLED, STRIKE, FILM.copy())


def test_k_takes_the_place_of_the_radius_of_gyration_and_may_lie_beyond_it() -> None:
    mu = mu_map(FILM, SOLID)
    usual = {"rev_rate_rpm": 330.0, "axis_rotation_deg": 48.0, **LINE}
    k = (2.5 / 4.275) ** 2
    by_rg = march_batch(mu, 17.0, rg_in=2.5, **usual)
    by_k = march_batch(mu, 17.0, rg_in=2.6, k=k, **usual)
    assert by_k.board_at_60 == pytest.approx(by_rg.board_at_60, abs=1e-12)
    heavy = (2.84 / 4.275) ** 2  # a legal ball that turns about its high axis
    fast = engine.march(mu, 17.0, rg_in=2.8, k=heavy, **usual)
    slow = march_batch(mu, 17.0, rg_in=2.8, k=heavy, steps_per_foot=16, **usual)
    assert fast.board_at_60 == pytest.approx(slow.board_at_60, abs=0.05)
    assert fast.board_at_60 > march_batch(mu, 17.0, rg_in=2.8, **usual).board_at_60 - 1.0
    for march in (march_batch, engine.march):
        with pytest.raises(MotionError, match="k"):
            march(mu, 17.0, rg_in=2.5, k=0.6, **usual)
        with pytest.raises(MotionError, match="rg_in"):
            march(mu, 17.0, rg_in=2.84, **usual)
