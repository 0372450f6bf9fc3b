"""The real ball: closed forms, torque-free tops, invariants, rolling and its end, both hands."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipj, ellipkinc

from motion import full_ball, full_ball_kernels, units
from motion.errors import MotionError
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.full_ball_motion import Problem, integrate, quaternion, state_at_release
from motion.inertia import flare_per_turn_in
from motion.inputs import BallSpec, ReleaseSpec
from motion.path import solve_path
from motion.reconstruct import film_from_summary
from tests.motion.maps import rough, smooth, two_zone, uniform

G = 9.80665
LINE = {"launch_deg": 2.0, "laydown_board": 20.0}


def ball(**changes):
    usual = {"weight_lb": 15.0, "rg_in": 2.5, "differential_in": 0.05, "intermediate_differential_in": 0.02}
    return BallSpec(**(usual | changes))


def plain(**changes):
    return ball(**({"differential_in": 0.0, "intermediate_differential_in": 0.0} | changes))


def release(**changes):
    usual = {"speed_mph": 17.5, "rev_rate_rpm": 350.0, "axis_rotation_deg": 50.0, "axis_tilt_deg": 15.0}
    return ReleaseSpec(**(usual | changes))


def house():
    return film_from_summary(40.0, 25.0, 8.0).film_um


# --- the isotropic limit ---


@pytest.mark.parametrize("lane", [smooth(1), rough(1), rough(4, 0.5)], ids=["smooth", "rough", "rougher"])
def test_without_a_differential_it_is_the_reference_problem(lane):
    full = solve_full_ball(lane, plain(), release(), **LINE)
    path = solve_path(
        lane, speed_mph=17.5, rev_rate_rpm=350.0, axis_rotation_deg=50.0, axis_tilt_deg=15.0, rg_in=2.5,
        step_ft=1.0 / 2048.0, **LINE,
    )  # fmt: skip
    np.testing.assert_allclose(full.board, path.board, atol=1e-6)
    assert full.entry_angle_deg == pytest.approx(path.entry_angle_deg, abs=1e-7)
    assert full.time_s_total == pytest.approx(path.time_s_total, abs=1e-8)
    assert full.roll_start_ft == pytest.approx(path.roll_start_ft, abs=1e-5)
    assert full.breakpoint_board == pytest.approx(path.breakpoint_board, abs=1e-5)
    assert full.contact_board == pytest.approx(path.contact_board, abs=1e-3)
    assert full.revolutions == pytest.approx(path.revolutions, abs=1e-5)


@pytest.mark.parametrize("mu", [0.05, 0.10, 0.20])
@pytest.mark.parametrize("rg_in", [2.46, 2.6, 2.8])
def test_uniform_friction_without_spin_is_the_closed_form(mu, rg_in):
    """t = k v0 / ((1+k) mu g), d = k (2+k) v0^2 / (2 (1+k)^2 mu g), v = v0/(1+k): standard mechanics."""
    full = solve_full_ball(
        uniform(mu), plain(rg_in=rg_in, diameter_in=8.55), release(speed_mph=13.0, rev_rate_rpm=0.0),
        launch_deg=0.0, laydown_board=20.0,
    )  # fmt: skip
    k, v0 = (rg_in / 4.275) ** 2, 13.0 * 0.44704
    distance = k * (2 + k) / (2 * (1 + k) ** 2) * v0**2 / (mu * G) / 0.3048
    if distance < 60.0:
        assert full.roll_start_ft == pytest.approx(distance, abs=1e-5)
        assert full.speed_at_60_mph == pytest.approx(13.0 / (1 + k), abs=1e-8)
    assert full.board_at_60 == pytest.approx(20.0, abs=1e-9)


def test_uniform_friction_with_side_rotation_is_the_parabola_to_a_millionth_of_a_board():
    """Hopkins & Patterson 1977 (result from memory): constant acceleration along -u0 until rolling."""
    mu, shot = 0.10, release(axis_tilt_deg=0.0)
    full = solve_full_ball(uniform(mu), plain(), shot, **LINE)
    radius, k = 4.275 * 0.0254, (2.5 / 4.275) ** 2
    a, phi = np.radians([2.0, 50.0])
    v0 = 17.5 * 0.44704 * np.array([np.cos(a), -np.sin(a)])
    p0 = 350.0 * 2 * np.pi / 60.0 * radius * np.array([np.cos(phi - a), np.sin(phi - a)])
    u0 = v0 - p0
    t = full.time_s[:, None]
    stop = k * np.hypot(*u0) / ((1 + k) * mu * G)
    slid = np.minimum(t, stop)
    pull = -mu * G * u0 / np.hypot(*u0)
    place = v0 * slid + 0.5 * pull * slid**2 + (v0 + pull * stop) * (t - slid)
    np.testing.assert_allclose(place[:, 0] / 0.3048, full.y_ft, atol=1e-6)
    np.testing.assert_allclose(20.0 + place[:, 1] / units.BOARD_M, full.board, atol=1e-6)


# --- no friction: the free top ---


def test_a_free_symmetric_top_precesses_evenly_about_the_pin():
    """Landau & Lifshitz, Mechanics, section 35 (from memory): rate omega_1 (k2 - k1) / k2 about the axis."""
    one = ball(intermediate_differential_in=0.0, pin_to_pap_in=3.0)
    full = solve_full_ball(uniform(0.0), one, release(), **LINE)
    rate = 350.0 * 2 * np.pi / 60.0
    low, high = 2.5**2, 2.55**2
    angle = rate * full.axis_body[0, 0] * (high - low) / high * full.time_s
    start = full.axis_body[0]
    want = np.stack(
        [
            np.full_like(angle, start[0]),
            start[1] * np.cos(angle) + start[2] * np.sin(angle),
            start[2] * np.cos(angle) - start[1] * np.sin(angle),
        ],
        axis=1,
    )
    np.testing.assert_allclose(full.axis_body, want, atol=1e-8)
    assert abs(angle[-1]) > 1.0


@pytest.mark.parametrize("pin", [1.5, 3.4, 5.5])
@pytest.mark.parametrize("drilling", [20.0, 75.0])
def test_a_free_asymmetric_top_follows_the_jacobi_elliptic_functions(pin, drilling):
    """Landau & Lifshitz, Mechanics, section 37 (from memory); elliptic functions by SciPy."""
    one = ball(differential_in=0.06, intermediate_differential_in=0.03, pin_to_pap_in=pin,
               drilling_angle_deg=drilling)  # fmt: skip
    full = solve_full_ball(uniform(0.0), one, release(rev_rate_rpm=500.0), **LINE)
    squares = np.array([2.5, 2.53, 2.56]) ** 2 * 0.0254**2
    w0 = 500.0 * 2 * np.pi / 60.0 * full.axis_body[0]
    energy2, momentum2 = (squares * w0**2).sum(), (squares**2 * w0**2).sum()
    order = [0, 1, 2] if momentum2 > energy2 * squares[1] else [2, 1, 0]
    a, b, c = squares[order]
    start = w0[order]
    size = np.array(
        [
            np.sqrt((energy2 * c - momentum2) / (a * (c - a))),
            np.sqrt((energy2 * c - momentum2) / (b * (c - b))),
            np.sqrt((momentum2 - energy2 * a) / (c * (c - a))),
        ]
    )
    pace = np.sqrt((c - b) * (momentum2 - energy2 * a) / (a * b * c))
    m = (b - a) * (energy2 * c - momentum2) / ((c - b) * (momentum2 - energy2 * a))
    third = np.sign(start[2])
    pace *= third
    begin = ellipkinc(np.arctan2(start[1] / size[1], start[0] / size[0]), m)
    sn, cn, dn, _ = ellipj(begin + pace * full.time_s, m)
    omega = np.empty((len(sn), 3))
    omega[:, order[0]], omega[:, order[1]], omega[:, order[2]] = (
        size[0] * cn,
        size[1] * sn,
        third * size[2] * dn,
    )
    np.testing.assert_allclose(full.axis_body, omega / np.linalg.norm(omega, axis=1)[:, None], atol=1e-8)


# --- invariants, rolling, tolerance ---

legal = st.fixed_dictionaries(
    {
        "ball": st.builds(
            lambda rg, diff, share, size, pin, drilling, val, rough_um: BallSpec(
                weight_lb=15.0, rg_in=rg, differential_in=diff, intermediate_differential_in=share * diff,
                diameter_in=size, pin_to_pap_in=pin, drilling_angle_deg=drilling, val_angle_deg=val,
                roughness_um=rough_um,
            ),
            st.floats(2.46, 2.80), st.floats(0.0, 0.06), st.floats(0.0, 1.0), st.floats(8.5, 8.595),
            st.floats(0.0, 6.75), st.floats(0.0, 180.0), st.floats(0.0, 90.0), st.floats(0.05, 2.0),
        ),
        "release": st.builds(
            lambda v, w, phi, tau: ReleaseSpec(
                speed_mph=v, rev_rate_rpm=w, axis_rotation_deg=phi, axis_tilt_deg=tau
            ),
            st.floats(10.0, 26.0), st.floats(0.0, 650.0), st.floats(0.0, 90.0), st.floats(-30.0, 90.0),
        ),
        "launch_deg": st.floats(-5.0, 8.0),
        "laydown_board": st.floats(0.5, 39.5),
        "phase_deg": st.floats(-180.0, 180.0),
    }
)  # fmt: skip


def holds_what_mechanics_asks(full):
    # Friction acts at the contact only, so l + R z x v stays as it was on any map for any inertia tensor.
    size = np.abs(full.invariant[0]).max()
    np.testing.assert_allclose(
        full.invariant, np.tile(full.invariant[0], (len(full.y_ft), 1)), atol=1e-10 * size
    )
    assert np.diff(full.energy).max() <= 1e-9 * full.energy[0]
    assert full.worst_creep_mps < 1e-7
    assert np.isfinite(full.board).all() and np.all(np.diff(full.time_s) > 0.0)
    np.testing.assert_allclose(np.linalg.norm(full.axis_body, axis=1)[-1], 1.0, atol=1e-9)


@settings(max_examples=10, deadline=None)
@given(inputs=legal, seed=st.integers(0, 30))
def test_invariants_hold_for_any_legal_ball_on_rough_lanes(inputs, seed):
    holds_what_mechanics_asks(solve_full_ball(rough(seed, 0.5), **inputs))


@settings(max_examples=4, deadline=None)
@given(inputs=legal)
def test_invariants_hold_with_oil_on_the_cover(inputs):
    film = house()
    full = solve_full_ball(mu_map(film, inputs["ball"]), film_um=film, rtol=1e-8, **inputs)
    holds_what_mechanics_asks(full)
    for ring in full.rings:
        assert ring.met_um.min() >= 0.0 and ring.left_um.max() <= inputs["ball"].roughness_um + 1e-12


@pytest.mark.long
@settings(max_examples=150, deadline=None)
@given(inputs=legal, seed=st.integers(0, 1000), share=st.floats(0.0, 0.9))
def test_invariants_hold_for_many_legal_balls(inputs, seed, share):
    holds_what_mechanics_asks(solve_full_ball(rough(seed, share), **inputs))


def test_rolling_breaks_where_the_force_it_needs_is_more_than_friction_gives():
    lane = two_zone(0.30, 0.02, 30)
    strong = ball(differential_in=0.06, intermediate_differential_in=0.0, pin_to_pap_in=3.4)
    full = solve_full_ball(lane, strong, release(), **LINE)
    assert full.roll_start_ft < 25.0
    assert full.rolling[-1][1] < 59.0 or len(full.rolling) > 1
    slips = full.slip_mph[(full.y_ft > 32.0)]
    assert slips.max() > 1e-3
    isotropic = solve_full_ball(lane, plain(), release(), **LINE)
    assert isotropic.rolling == (pytest.approx((isotropic.roll_start_ft, 60.0)),)
    holds_what_mechanics_asks(full)


def test_a_rolling_ball_keeps_its_contact_at_rest_with_no_more_than_the_friction_there_is():
    full = solve_full_ball(uniform(0.3), ball(), release(), **LINE)
    rows = np.any([(full.y_ft > a) & (full.y_ft < b) for a, b in full.rolling], axis=0)
    assert rows.sum() > 20 and full.slip_mph[rows].max() < 1e-8
    # The force is what the speed shows: its change along the way is within mu g.
    heading = np.radians(full.direction_deg)
    v = full.speed_mph[:, None] * units.MPH_MPS * np.stack([np.cos(heading), np.sin(heading)], axis=1)
    pull = np.hypot(*np.gradient(v, full.time_s, axis=0).T)[rows]
    assert pull.max() < 0.3 * G
    assert np.ptp(full.speed_mph[rows]) > 1e-3  # an anisotropic ball does not keep its velocity


@pytest.mark.parametrize("seed", [0, 3])
def test_halving_the_tolerance_changes_nothing_beyond_the_stated_error(seed):
    both = [solve_full_ball(rough(seed), ball(), release(), rtol=r, **LINE) for r in (1e-10, 5e-11)]
    assert both[0].board_at_60 == pytest.approx(both[1].board_at_60, abs=full_ball.BOARD_ERROR)
    film = film_from_summary(38.0 + seed, 25.0, 8.0).film_um
    both = [
        solve_full_ball(mu_map(film, ball()), ball(), release(), film_um=film, rtol=r, **LINE)
        for r in (1e-10, 5e-11)
    ]
    assert both[0].board_at_60 == pytest.approx(both[1].board_at_60, abs=full_ball.BOARD_ERROR_WITH_COVER)


# --- both hands ---


def test_a_left_hander_on_the_mirrored_lane_in_plain_lane_coordinates_is_the_mirror_image():
    """Mirrored here by hand: place, velocity, pseudovector of spin, and axes; not by own-side counting."""
    lane, one = rough(2), ball(drilling_angle_deg=35.0, val_angle_deg=65.0)
    start = state_at_release(one, release(), **LINE)
    turn = np.empty((3, 3))
    full_ball_kernels.body_to_lane(start, turn)
    mirror = np.diag([1.0, -1.0, 1.0])
    mirrored = start.copy()
    mirrored[1] = 41.5 * 0.0254 - start[1]
    mirrored[3] *= -1.0
    mirrored[4:7] = -mirror @ start[4:7]
    # The reflected axes with one of them reversed are a rotation again, and the same ellipsoid.
    mirrored[7:11] = quaternion(mirror @ turn @ mirror)
    squares = (np.array([2.5, 2.53, 2.55]) * 0.0254) ** 2
    ends = []
    for state, mu in ((start, lane), (mirrored, np.ascontiguousarray(lane[:, ::-1]))):
        problem = Problem(kk=squares, radius_m=4.275 * 0.0254, mu=mu, film=np.empty((0, 0)),
                          table=np.ones(2), cover=np.ones(8))  # fmt: skip
        stretches, _ = integrate(problem, state, rtol=1e-10)
        ends.append(stretches[-1].at(stretches[-1].end_s))
    assert ends[1][1] == pytest.approx(41.5 * 0.0254 - ends[0][1], abs=1e-9)
    assert ends[1][3] == pytest.approx(-ends[0][3], abs=1e-8)


# --- flare and cover ---


def test_tracks_part_by_what_free_precession_says_and_least_with_the_pin_on_the_axis():
    for pin in (0.0, 2.0, 3.375):
        one = ball(intermediate_differential_in=0.0, pin_to_pap_in=pin)
        full = solve_full_ball(smooth(1), one, release(), **LINE)
        assert full.rings[0].parts_in == pytest.approx(flare_per_turn_in(one), abs=0.03)
    assert full.flare_in > 5.0


def test_rings_are_unit_vectors_to_the_contact_and_one_follows_the_other():
    full = solve_full_ball(smooth(1), ball(), release(), **LINE)
    assert len(full.rings) == int(full.revolutions)
    for one, after in zip(full.rings, full.rings[1:], strict=False):
        np.testing.assert_allclose(np.linalg.norm(one.points, axis=1), 1.0, atol=1e-9)
        np.testing.assert_allclose(one.points[-1], after.points[0], atol=1e-9)
    # Tilt: the track is a small circle, its points 90 degrees and the tilt from the PAP.
    assert np.degrees(np.arccos(full.rings[0].points[0] @ full.rings[0].axis)) == pytest.approx(
        105.0, abs=0.1
    )


def test_a_track_as_laid_runs_through_its_contacts():
    """The spiral `cover_film` reads: a patch on the middle of the only ring is met fully oiled."""
    film = house()
    full = solve_full_ball(mu_map(film, ball()), ball(), release(), film_um=film, **LINE)
    first = full.rings[0]
    assert first.met_um == pytest.approx(first.met_um[0])  # nothing on the cover but what the towel left
    fresh = 1.0 - np.exp(-0.2 * film[0, 14] / 0.5)
    assert 0.5 * fresh < (first.left_um / 0.5).mean() < 1.1


def test_without_flare_the_ball_rolls_on_its_own_oil_and_hooks_less():
    film = house()
    board, met = [], []
    for differential in (0.0, 0.01, 0.04):
        one = ball(differential_in=differential, intermediate_differential_in=0.0, pin_to_pap_in=3.375,
                   roughness_um=0.9)  # fmt: skip
        full = solve_full_ball(mu_map(film, one), one, release(), film_um=film, rtol=1e-8, **LINE)
        board.append(full.board_at_60)
        met.append(np.mean([ring.met_um.mean() for ring in full.rings]))
    assert met[0] > met[1] > met[2] and board[0] < board[1] < board[2]
    assert full.cover_left_um > 0.0


# --- bad input ---


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"launch_deg": 12.0}, "launch_deg"),
        ({"laydown_board": float("nan")}, "laydown_board"),
        ({"rtol": 1.0}, "rtol"),
        ({"phase_deg": float("inf")}, "phase_deg"),
        ({"film_um": np.full((61, 39), -1.0)}, "film_um at 0 ft, board 1"),
        ({"start_cover_um": -0.1, "film_um": np.ones((61, 39))}, "start_um"),
    ],
)
def test_bad_input_is_named(change, field):
    with pytest.raises(MotionError, match=field):
        solve_full_ball(uniform(0.1), ball(), release(), **(LINE | change))


CORNERS = list(itertools.product((5.0, 40.0), (0.0, 800.0), (-100.0, 100.0), (-30.0, 90.0)))


def at_corner(corner):
    speed, revs, rotation, tilt = corner
    film = house()
    shot = release(speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation, axis_tilt_deg=tilt)
    for lane, oil in ((uniform(0.0), None), (uniform(1.0), None), (mu_map(film, ball()), film)):
        full = solve_full_ball(lane, ball(), shot, film_um=oil, rtol=1e-5, **LINE)
        assert np.isfinite(full.board).all() and np.abs(full.entry_angle_deg) < 89.0
        assert len(full.rings) == int(full.revolutions + 1e-6)


@pytest.mark.parametrize("corner", [CORNERS[1], CORNERS[13]], ids=str)
def test_corners_of_the_accepted_range_have_an_answer(corner):
    at_corner(corner)


@pytest.mark.long
@pytest.mark.parametrize("corner", CORNERS, ids=str)
def test_every_corner_of_the_accepted_range_has_an_answer(corner):
    at_corner(corner)


def test_the_gutter_is_a_result_with_its_place_and_no_head_pin():
    full = solve_full_ball(uniform(0.01), ball(), release(), launch_deg=5.0, laydown_board=5.0)
    assert 0.0 < full.gutter_ft < 20.0 and full.contact_board is None


@pytest.mark.parametrize("offset", [-5.9, -2.5, 0.0, 2.5, 6.1])
def test_contact_is_where_ball_and_pin_touch(offset):
    """Plane geometry of two circles: the distance of the centres is the sum of the radii."""
    full = solve_full_ball(
        uniform(0.0), plain(), release(rev_rate_rpm=0.0), launch_deg=0.0, laydown_board=20.0 - offset
    )
    assert full.contact_board == pytest.approx(20.0 - offset, abs=1e-9)
    assert full.contact_offset_boards == pytest.approx(offset, abs=1e-9)


def test_a_ball_that_comes_in_at_an_angle_touches_at_the_sum_of_the_radii():
    full = solve_full_ball(smooth(1), ball(), release(), launch_deg=1.6, laydown_board=20.0)
    # Read off the rows at 59, 59.5 and 60 ft: where is the pin's centre the sum of the radii away?
    y = np.linspace(59.0, 60.0, 4001)
    board = np.interp(y, full.y_ft, full.board)
    apart = np.hypot((60.0 - y) * 0.3048, (board - 20.0) * units.BOARD_M)
    first = int(np.argmax(apart <= (8.55 + 4.766) / 2.0 * 0.0254))
    assert first > 0 and full.contact_board == pytest.approx(board[first], abs=0.01)
    assert full.contact_angle_deg == pytest.approx(
        np.interp(y[first], full.y_ft, full.direction_deg), abs=0.1
    )
