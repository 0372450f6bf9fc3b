"""The reduced model of a layout against the full ball and against what must be so."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion import full_ball_kernels, layout_kernels
from motion.cover_state import TABLE_STEP_UM
from motion.errors import MotionError
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.full_ball_motion import problem_of, state_at_release
from motion.inputs import BallSpec, ReleaseSpec
from motion.layout_effect import DATA, Fitted, effective, fitted
from motion.path import march_batch
from motion.reconstruct import film_from_summary

LINE = {"launch_deg": 1.8, "laydown_board": 20.0}
EXACT = Fitted()


def ball(**changes):
    usual = {"weight_lb": 15.0, "rg_in": 2.5, "differential_in": 0.05, "intermediate_differential_in": 0.015}
    return BallSpec(**(usual | {"roughness_um": 0.8} | changes))


def release(**changes):
    usual = {"speed_mph": 17.5, "rev_rate_rpm": 350.0, "axis_rotation_deg": 50.0, "axis_tilt_deg": 12.0}
    return ReleaseSpec(**(usual | changes))


def house():
    return film_from_summary(40.0, 25.0, 8.0).film_um


def isotropic(mu, k, one):
    """Board at 60 ft of an isotropic ball of 8.55 in."""
    return march_batch(
        mu, one.speed_mph, one.rev_rate_rpm, one.axis_rotation_deg, axis_tilt_deg=one.axis_tilt_deg,
        rg_in=2.5, k=k, steps_per_foot=16, **LINE,
    ).board_at_60[0]  # fmt: skip


def radius_in(effect):
    """The effective k as a radius of gyration."""
    return np.sqrt(effect.k) * 4.275


def test_a_ball_without_differential_and_film_is_left_as_it_is():
    effect = effective(ball(differential_in=0.0, intermediate_differential_in=0.0), release())
    assert effect.k == pytest.approx((2.5 / 4.275) ** 2) and effect.mu_factor is None
    assert radius_in(effect) == pytest.approx(2.5)
    assert effect.release(release()) == release() or (
        effect.rev_rate_factor == pytest.approx(1.0)
        and abs(effect.rotation_shift_deg) + abs(effect.tilt_shift_deg) < 1e-9
    )


@pytest.mark.parametrize(("pin", "drilling", "axis"), [(0.0, 60.0, 0), (6.715, 0.0, 2), (6.715, 90.0, 1)])
def test_a_ball_that_spins_about_a_principal_axis_has_its_radius_and_no_shift(pin, drilling, axis):
    # A quarter circle of an 8.55 in ball is 6.715 in: the PAP is then the high axis or the middle one.
    one = ball(pin_to_pap_in=pin, drilling_angle_deg=drilling)
    effect = effective(one, release(), fit=EXACT)
    assert radius_in(effect) == pytest.approx([2.5, 2.535, 2.55][axis], abs=1e-6)
    assert effect.rev_rate_factor == pytest.approx(1.0, abs=1e-6)
    assert abs(effect.rotation_shift_deg) < 0.01 and abs(effect.tilt_shift_deg) < 0.01


@settings(max_examples=25, deadline=None)
@given(
    pin=st.floats(0.0, 6.7), drilling=st.floats(0.0, 180.0), val=st.floats(0.0, 90.0),
    tilt=st.floats(-20.0, 70.0), rotation=st.floats(0.0, 90.0),
)  # fmt: skip
def test_the_release_shift_is_the_angular_momentum_of_the_full_ball(pin, drilling, val, tilt, rotation):
    """l per mass of the state at release over k R^2, as spin, rotation and tilt."""
    one = ball(pin_to_pap_in=pin, drilling_angle_deg=drilling, val_angle_deg=val)
    shot = release(axis_tilt_deg=tilt, axis_rotation_deg=rotation)
    state = state_at_release(one, shot, launch_deg=0.0, laydown_board=20.0)
    effect = effective(one, shot, fit=EXACT)
    spin = state[4:7] / (effect.k * (4.275 * 0.0254) ** 2)
    rate = 350.0 * 2.0 * np.pi / 60.0
    assert np.linalg.norm(spin) == pytest.approx(rate * effect.rev_rate_factor, rel=1e-9)
    assert np.degrees(np.arctan2(-spin[0], spin[1])) == pytest.approx(rotation + effect.rotation_shift_deg)
    assert np.degrees(np.arcsin(spin[2] / np.linalg.norm(spin))) == pytest.approx(
        tilt + effect.tilt_shift_deg
    )


@pytest.mark.parametrize("pin", [1.0, 3.4, 5.5])
def test_the_free_axis_is_that_of_the_full_ball_without_friction(pin):
    one = ball(pin_to_pap_in=pin)
    full = solve_full_ball(np.zeros((61, 39)), one, release(), **LINE)
    squares = (np.array([2.5, 2.535, 2.55]) * 0.0254) ** 2
    axis = np.empty((160, 3))
    layout_kernels.free_axis(squares, full.axis_body[0].copy(), axis)
    turns = 350.0 / 60.0 * full.time_s
    for i in range(3):
        near = np.interp(turns, np.arange(160) / layout_kernels.PER_TURN, axis[:, i])
        np.testing.assert_allclose(near, full.axis_body[:, i], atol=2e-3)


@pytest.mark.parametrize("with_cover", [False, True])
def test_most_of_the_layout_effect_of_a_few_balls_is_explained(with_cover):
    """The judgement over 2,000 balls is script/fit_layout_effect.py; here a handful against the solver."""
    film, shot = house(), release()
    effects, left = [], []
    for differential, pin, rough_um in (
        (0.01, 3.4, 0.9),
        (0.0, 4.0, 0.6),
        (0.055, 1.0, 0.9),
        (0.06, 6.0, 0.5),
    ):
        one = ball(differential_in=differential, intermediate_differential_in=differential * 0.3,
                   pin_to_pap_in=pin, roughness_um=rough_um)  # fmt: skip
        mu = mu_map(film, one)
        oil = film if with_cover else None
        truth = solve_full_ball(mu, one, shot, film_um=oil, rtol=1e-8, **LINE).board_at_60
        effect = effective(one, shot, film_um=oil)
        reduced = isotropic(effect.mu(mu), effect.k, effect.release(shot))
        effects.append(truth - isotropic(mu, (2.5 / 4.275) ** 2, shot))
        left.append(truth - reduced)
    assert np.square(left).sum() < 0.15 * np.square(effects).sum()
    assert np.abs(effects).max() > (0.5 if with_cover else 0.1)


def test_two_layouts_of_one_ball_differ_visibly_with_oil_on_the_cover():
    film, shot = house(), release()
    mu = mu_map(film, ball())
    ends = []
    for pin in (0.25, 3.5):
        one = ball(differential_in=0.04, intermediate_differential_in=0.0, pin_to_pap_in=pin)
        effect = effective(one, shot, film_um=film)
        ends.append(isotropic(effect.mu(mu), effect.k, effect.release(shot)))
    assert ends[1] - ends[0] > 0.3  # the one that brings clean cover hooks more


def test_the_answer_is_pure_and_keeps_its_shape_and_range():
    film = house()
    one, two = (effective(ball(), release(), film_um=film) for _ in range(2))
    assert one.mu_factor.shape == (61, 39) and np.array_equal(one.mu_factor, two.mu_factor)
    assert np.isfinite(one.mu_factor).all() and (one.mu_factor > 0.0).all()
    assert one.mu(np.ones((61, 39))).max() <= 1.0
    # No oil on lane or cover: friction is what it was.
    dry = effective(ball(), release(), film_um=np.zeros((61, 39)), start_cover_um=0.0)
    np.testing.assert_array_equal(dry.mu_factor, 1.0)


legal = st.builds(
    lambda rg, diff, share, pin, drilling, val, ra: ball(
        rg_in=rg, differential_in=diff, intermediate_differential_in=share * diff, pin_to_pap_in=pin,
        drilling_angle_deg=drilling, val_angle_deg=val, roughness_um=ra,
    ),
    st.floats(2.46, 2.80), st.floats(0.0, 0.06), st.floats(0.0, 1.0), st.floats(0.0, 6.75),
    st.floats(0.0, 180.0), st.floats(0.0, 90.0), st.floats(0.01, 3.0),
)  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(
    one=legal, speed=st.floats(5.0, 40.0), revs=st.floats(0.0, 800.0), rotation=st.floats(-100.0, 100.0),
    tilt=st.floats(-30.0, 90.0), launch=st.one_of(st.none(), st.floats(-10.0, 10.0)),
)  # fmt: skip
def test_the_whole_legal_range_has_an_answer(one, speed, revs, rotation, tilt, launch):
    shot = release(speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation, axis_tilt_deg=tilt)
    effect = effective(one, shot, film_um=house(), launch_deg=launch)
    low, high = one.rg_in, one.rg_in + one.differential_in
    assert low - 1e-9 <= radius_in(effect) <= high + 0.002
    assert np.isfinite(effect.mu_factor).all() and effect.mu_factor.min() > 0.0
    assert 0.98 < effect.rev_rate_factor < 1.02 and abs(effect.tilt_shift_deg) < 2.0
    effect.release(shot)


def test_the_shipped_numbers_are_those_of_the_last_fit_and_the_goal_stands_in_the_docs():
    record = json.loads(DATA.read_text(encoding="utf-8"))
    assert fitted() == Fitted(**record["fitted"]) and record["judged"] == 2000
    text = (DATA.parents[2] / "docs" / "layout.md").read_text(encoding="utf-8")
    for word in ("off", "on", "off, two layouts", "on, two layouts"):
        for name in ("board at 60 ft", "entry angle", "breakpoint board"):
            shown = next(line for line in text.splitlines() if line.startswith(f"| {word} | {name} |"))
            assert f"{record['explained'][f'{word}: {name}']:.1%}" in shown


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"film_um": np.full((61, 39), np.nan)}, "film_um at 0 ft, board 1"),
        ({"film_um": np.ones((61, 39)), "launch_deg": 20.0}, "launch_deg"),
        ({"film_um": np.ones((61, 39)), "start_cover_um": -1.0}, "start_um"),
    ],
)
def test_bad_input_is_named(change, field):
    with pytest.raises(MotionError, match=field):
        effective(ball(), release(), **change)


@pytest.mark.long
def test_the_fixed_step_march_of_the_fit_is_within_a_hundredth_of_a_board_of_the_solver():
    from script.fit_layout_effect import draw, solver_distance

    rng = np.random.default_rng(77)
    cases = [draw(rng) for _ in range(25)]
    for with_cover in (False, True):
        board, angle, low = solver_distance(cases, with_cover)
        assert board < 0.01 and angle < 0.02 and low < 0.01


def test_the_march_of_the_fit_reads_no_ring_beyond_those_it_has_room_for():
    """What lies in memory after the last ring, were it a true one, does not move the ball."""
    one, shot, film = ball(), release(), house()
    problem = problem_of(mu_map(film, one), one, film)

    def marched(rings):
        out = np.empty(6)
        full_ball_kernels.fixed_step_march(
            state_at_release(one, shot, **LINE), problem.kk, problem.radius_m, problem.mu, problem.film,
            problem.table, TABLE_STEP_UM, rings, problem.cover, 1e-3, 0.002, out,
        )  # fmt: skip
        return out

    rows = np.zeros((40, full_ball_kernels.RING_FIELDS))
    whole = marched(rows)
    assert whole[5] > 8.0 and rows[7].any()  # revolutions: twice as many as there will be room for
    behind = rows[4:].copy()
    short = marched(rows[:4])
    np.testing.assert_array_equal(rows[4:], behind)
    rows[4:] = 0.0
    np.testing.assert_array_equal(marched(rows[:4]), short)
    assert abs(short[0] - whole[0]) > 1e-6
