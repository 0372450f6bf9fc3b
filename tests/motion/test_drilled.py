"""What is known of a ball's drilling reaches every march of it, and what is not known changes nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from motion import engine
from motion.advice import advise
from motion.advice_types import AdviceRequest, Candidate, Hand, TrafficPass
from motion.belief import PRIORS, Layout, prior_worlds
from motion.drilled import drilled, has_layout_effect
from motion.errors import MotionError
from motion.evidence import Unknowns, predict
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.inputs import BallSpec, Line, Scatter, own_side
from motion.lane_view import LookBack
from motion.offsets import offset_at_pins
from motion.path import march_batch
from motion.replay import passes_of, replay
from motion.scene import Scene, march_throws
from motion.simulate import HiddenBowler, HiddenLane, throw
from motion.wear import to_lane_boards
from tests.motion.advice_cases import (
    HYBRID,
    SOLID,
    STRIKE,
    logged,
    made_up_film,
    other_hand,
    request_on,
    thrown,
)

LAYOUT = {"pin_to_pap_in": 4.0, "drilling_angle_deg": 50.0, "val_angle_deg": 35.0}
DRILLED = replace(SOLID, **LAYOUT)
FILM = made_up_film()
THROWN = (STRIKE.rev_rate_rpm, STRIKE.axis_rotation_deg, STRIKE.axis_tilt_deg)
LINE = {"launch_deg": 1.8, "laydown_board": 21.0}


@pytest.mark.parametrize(
    "ball",
    [SOLID, replace(SOLID, drilling_angle_deg=50.0), replace(SOLID, differential_in=0.0)],
    ids=["no layout", "no pin to PAP", "no layout nor differential"],
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


def test_a_known_layout_acts_evenly_down_to_no_differential_as_the_full_ball_does() -> None:
    """No jump where the differential goes to nothing: what is left of the layout is the oil on the cover."""
    shot = replace(STRIKE, speed_mph=17.0, rev_rate_rpm=350.0, axis_rotation_deg=45.0)
    line = {"launch_deg": 1.8, "laydown_board": 20.0}
    ends, fulls = [], []
    for differential_in in (0.0, 0.0001, 0.0005):
        ball = replace(
            SOLID,
            roughness_um=0.9,
            differential_in=differential_in,
            intermediate_differential_in=0.0,
            **LAYOUT,
        )
        mu, found = mu_map(FILM, ball), drilled(ball, shot, FILM)
        thrown = found.thrown(shot.rev_rate_rpm, shot.axis_rotation_deg, shot.axis_tilt_deg)
        ends.append(float(march_batch(found.maps(mu), 17.0, **thrown, **line).board_at_60[0]))
        full = solve_full_ball(mu, ball, shot, film_um=FILM, rtol=1e-8, **line)
        fulls.append(full.board_at_60)
    assert max(ends) - min(ends) < 0.1 and max(fulls) - min(fulls) < 0.1
    plain = march_batch(
        mu, 17.0, shot.rev_rate_rpm, shot.axis_rotation_deg, rg_in=SOLID.rg_in,
        axis_tilt_deg=shot.axis_tilt_deg, **line,
    )  # fmt: skip
    # The cover does something here, and the reduced model is nearer to the full ball than none.
    assert abs(plain.board_at_60[0] - fulls[0]) > 0.4
    assert abs(ends[0] - fulls[0]) < 0.5 * abs(plain.board_at_60[0] - fulls[0])


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


def all_drilled(request: AdviceRequest) -> AdviceRequest:
    """The same request with a layout for every ball in it, in the bag, in traffic and in shots."""

    def drill(spec: BallSpec) -> BallSpec:
        return replace(spec, **LAYOUT)

    return replace(
        request,
        balls=tuple(replace(ball, spec=drill(ball.spec)) for ball in request.balls),
        lanes=tuple(
            replace(
                lane,
                traffic=tuple(
                    replace(item, spec=drill(item.spec)) if isinstance(item, TrafficPass) else item
                    for item in lane.traffic
                ),
            )
            for lane in request.lanes
        ),
        shots=tuple(replace(shot, spec=drill(shot.spec)) for shot in request.shots),
    )


AIM = Line(laydown_board=21.0, target_board=14.0)


@pytest.fixture(scope="module")
def bowled() -> AdviceRequest:
    """Drilled balls of both hands on an uneven film that both have worn."""
    film = made_up_film()
    film[:, 25:] *= 1.2
    mate = TrafficPass(hand="left", spec=HYBRID, release=STRIKE, line=AIM)
    shots = (
        logged("5", AIM, 2.0, 10),
        logged("5", AIM, 1.0, 22, breakpoint_board=8.0, speed_mph=17.0),
        logged("5", AIM, 3.0, 22, spec=HYBRID, hand="left", bowler_key="mate"),
    )
    return all_drilled(request_on(AIM, [*thrown(AIM, 20), mate, mate], film=film, shots=shots))


def test_everything_mirrored_gives_a_left_hander_with_drilled_balls_the_same_bits(bowled) -> None:
    right, left = advise(bowled)["5"], advise(other_hand(bowled))["5"]
    assert right.status == "advised" and left.hand == "left"
    assert replace(left, hand="right") == right


@pytest.mark.parametrize("place", [1, 2], ids=["own", "the other hand's"])
def test_shot_candidate_and_picture_of_a_drilled_ball_agree(bowled, place: int) -> None:
    shot = bowled.shots[place]
    history = replay(bowled.lanes[0])
    worlds = prior_worlds(Layout(bowled), 32)
    predicted = predict(Unknowns.in_worlds(worlds, shot), shot, history.now)
    films = history.now.mix(worlds.log_film["5"], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id="5", films_um=own_side(films, shot.hand), worlds=worlds, bowler_key=shot.bowler_key)
    choice = Candidate(ball_id="1", ball=shot.spec, release_name="strike", release=shot.release, line=AIM)
    batch = march_throws(scene, choice, np.zeros((1, 5)), tracks=True)
    offset = offset_at_pins(batch.board_at_60, batch.entry_angle_deg, shot.spec.diameter_in)
    # Evidence asks the layout on the film of the central world, candidates on the mean of the worlds.
    assert np.allclose(predicted.offset_boards, offset, atol=0.1)
    picture = LookBack(histories={"5": history}, worlds=worlds).track(shot)
    assert np.array_equal(picture, np.nanpercentile(batch.tracks(), 50.0, axis=0), equal_nan=True)
    undrilled = march_throws(
        scene,
        replace(choice, ball=replace(shot.spec, pin_to_pap_in=None)),
        np.zeros((1, 5)),
    )
    assert np.abs(batch.board_at_60 - undrilled.board_at_60).mean() > 0.1


def test_the_worlds_of_a_lane_and_a_choice_of_them_share_what_a_layout_does(bowled) -> None:
    worlds = prior_worlds(Layout(bowled), 32)
    films = replay(bowled.lanes[0]).now.mix(worlds.log_film["5"], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id="5", films_um=films, worlds=worlds)
    assert scene.first(6).first(1).drilled(DRILLED, STRIKE) is scene.drilled(DRILLED, STRIKE)


STILL = replace(
    STRIKE,
    scatter=Scatter(
        sd_speed_mph=0.0,
        sd_launch_deg=0.0,
        sd_laydown_boards=0.0,
        sd_rev_rate_rpm=0.0,
        sd_axis_rotation_deg=0.0,
    ),
)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_traffic_of_a_drilled_ball_wears_where_that_ball_rolls(hand: Hand) -> None:
    film = made_up_film()
    film[:, 25:] *= 1.2
    item = TrafficPass(hand=hand, spec=DRILLED, release=STILL, line=AIM)
    other = replace(item, release=replace(STILL, rev_rate_rpm=250.0))
    passes, _ = passes_of(film, [item, other, item], 0, 0)
    mine = own_side(film, hand)
    for place, passed in enumerate((item, other, item)):
        ball = drilled(DRILLED, passed.release, mine)
        track = march_batch(
            ball.maps(mu_map(mine, DRILLED)),
            STILL.speed_mph,
            launch_deg=AIM.launch_deg,
            laydown_board=AIM.foul_line_board,
            steps_per_foot=2,
            tracks=True,
            **ball.thrown(passed.release.rev_rate_rpm, STILL.axis_rotation_deg, STILL.axis_tilt_deg),
        ).tracks()
        assert np.array_equal(passes.track_board[place], to_lane_boards(track, hand)[0])


def test_the_hidden_truth_bowls_the_drilled_ball() -> None:
    """The truth's two layouts part as the full ball's do."""
    film = made_up_film()
    ends = []
    for layout in ((0.75, 70.0, 40.0), (4.0, 50.0, 35.0)):
        ball = replace(SOLID, **dict(zip(LAYOUT, layout, strict=True)))
        bowler = HiddenBowler(1, "right", priors=replace(PRIORS, log_friction_ball=0.0))
        release = replace(
            STILL,
            speed_mph=STILL.speed_mph - bowler.speed_mph,
            rev_rate_rpm=STILL.rev_rate_rpm * np.exp(-bowler.log_rev_rate),
        )
        truth = throw(HiddenLane("5", film), bowler, ball, release, AIM).true_offset_boards
        full = solve_full_ball(
            mu_map(film, ball),
            ball,
            STILL,
            film_um=film,
            launch_deg=AIM.launch_deg,
            laydown_board=AIM.foul_line_board,
        )
        ends.append((truth, float(offset_at_pins(full.board_at_60, full.entry_angle_deg, ball.diameter_in))))
    (first, first_full), (second, second_full) = ends
    assert first == pytest.approx(first_full, abs=0.5) and second == pytest.approx(second_full, abs=0.5)
    assert first - second > 0.2 and first_full - second_full > 0.2
