"""The belief: streams, worlds, evidence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm, t

from motion.advice_types import AdviceRequest, Candidate, LaneState, LoggedShot
from motion.belief import Layout, Worlds, posterior_worlds, prior_worlds, representative
from motion.evidence import TAIL, Unknowns, gather, logged_offset, offset_scatter, predict, student_log, weigh
from motion.inputs import Line
from motion.leaves import mask_of
from motion.outcomes import frame_table
from motion.pocket import HIT_WORDS
from motion.replay import replay
from motion.scene import Scene, throw
from motion.streams import covariance_root, generator, scatter_normals, stratified_normals
from tests.motion.advice_cases import BALLS, SOLID, STRIKE, logged, made_up_film, request_on, thrown

LINE = Line(laydown_board=21.0, target_board=14.5)


def _mean(worlds: Worlds, values: np.ndarray) -> float:
    return float(worlds.weight @ values)


def _sd(worlds: Worlds, values: np.ndarray) -> float:
    return float(np.sqrt(worlds.weight @ (values - _mean(worlds, values)) ** 2))


def _central_offset(request: AdviceRequest, shot: LoggedShot) -> float:
    """Offset of the intended shot in the world where every unknown sits at its prior mean."""
    history = replay(next(lane for lane in request.lanes if lane.lane_id == shot.lane_id))
    layout = Layout(request)
    central = layout.worlds(np.zeros((1, len(layout.names))))
    return float(
        predict(
            Unknowns.in_worlds(central, shot), shot, history.before_entry(shot.passes_before)
        ).offset_boards[0]
    )


def _weighed(request: AdviceRequest) -> Worlds:
    histories = {lane.lane_id: replay(lane) for lane in request.lanes if lane.film_um is not None}
    return weigh(Layout(request), gather(request.shots, histories), frame_table(request.spares))


def test_stratified_normals_are_the_normal_quantiles_in_a_keyed_order() -> None:
    # Checked against scipy.stats.norm.
    values = stratified_normals("wear", 64)
    assert np.allclose(np.sort(values), norm.ppf((np.arange(64) + 0.5) / 64))
    assert np.array_equal(values, stratified_normals("wear", 64))
    assert not np.array_equal(values, stratified_normals("carry", 64))


def test_covariance_root_squares_to_the_covariance_even_when_a_spread_is_zero() -> None:
    random = generator("covariance test")
    half = random.standard_normal((5, 5))
    covariance = half @ half.T
    covariance[2, :] = covariance[:, 2] = 0.0
    root = covariance_root(covariance)
    assert np.allclose(root @ root.T, covariance, atol=1e-9)


def test_student_log_is_the_density_of_scipy() -> None:
    residuals = np.linspace(-6.0, 6.0, 25)
    assert np.allclose(student_log(residuals, 1.7), t.logpdf(residuals / 1.7, TAIL) - np.log(1.7))


def test_weighing_recovers_the_closed_form_of_a_normal_problem() -> None:
    # Conjugate normal: prior N(0, I), one reading y = a.z + noise; posterior mean a y / (s^2 + a.a).
    layout = Layout(request_on(LINE))
    size = len(layout.names)
    slope = np.zeros(size)
    slope[layout.column["wear"]], slope[layout.column["carry"]] = 2.0, 1.0
    reading, noise = 3.0, 0.8

    def log_likelihood(worlds: Worlds) -> np.ndarray:
        z = worlds.log_wear / layout.priors.log_wear * 2.0 + worlds.log_carry / layout.priors.log_carry
        result: np.ndarray = -0.5 * ((reading - z) / noise) ** 2
        return result

    exact_mean = slope * reading / (noise**2 + slope @ slope)
    exact_cov = np.eye(size) - np.outer(slope, slope) / (noise**2 + slope @ slope)
    column = layout.column["wear"]
    good = np.eye(size) + np.outer(slope, slope) / noise**2
    for centre, precision in (
        (exact_mean, good),
        (0.8 * exact_mean, np.eye(size) + 0.7 * (good - np.eye(size))),
    ):
        worlds = posterior_worlds(layout, centre, precision, log_likelihood, count=4096)
        wear = worlds.log_wear / layout.priors.log_wear
        assert _mean(worlds, wear) == pytest.approx(exact_mean[column], abs=0.06)
        assert _sd(worlds, wear) == pytest.approx(np.sqrt(exact_cov[column, column]), abs=0.06)


def test_representative_worlds_keep_the_weighted_mean() -> None:
    layout = Layout(request_on(LINE))
    points = layout.draws(512)
    weight = np.exp(points[:, 0])
    worlds = layout.worlds(points, weight / weight.sum())
    few = representative(worlds, 64)
    assert few.count == 64
    assert few.log_wear.mean() == pytest.approx(_mean(worlds, worlds.log_wear), abs=0.05)


def test_a_logged_shot_is_predicted_as_a_candidate_is_thrown() -> None:
    request = request_on(LINE, thrown(LINE, 40))
    history = replay(request.lanes[0])
    worlds = prior_worlds(Layout(request), 64)
    shot = logged("5", LINE, 2.0, 40)
    predicted = predict(Unknowns.in_worlds(worlds, shot), shot, history.now).offset_boards
    scales = (worlds.log_film["5"], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id="5", films_um=history.now.mix(*scales), worlds=worlds)
    candidate = Candidate(ball_id="1", ball=SOLID, release_name="strike", release=STRIKE, line=LINE)
    marched = throw(scene, candidate, np.zeros((1, 5))).offset_boards[:, 0]
    assert marched.std() > 1.0
    # The friction law is read from a fine table for evidence and computed for candidates.
    assert np.allclose(predicted, marched, atol=0.01)


def test_the_scatter_of_an_offset_is_what_throwing_with_scatter_gives() -> None:
    request = request_on(LINE)
    history = replay(request.lanes[0])
    layout = Layout(request)
    central = layout.worlds(np.zeros((1, len(layout.names))))
    scene = Scene(lane_id="5", films_um=history.now.films_um[:1], worlds=central)
    candidate = Candidate(ball_id="1", ball=SOLID, release_name="strike", release=STRIKE, line=LINE)
    thrown_sd = throw(scene, candidate, scatter_normals(512)).offset_boards.std()
    assert offset_scatter(logged("5", LINE, 2.0, 0), history.now) == pytest.approx(thrown_sd, rel=0.25)


def test_without_shots_the_prior_stands() -> None:
    request = request_on(LINE)
    worlds = _weighed(request)
    assert np.allclose(worlds.weight, worlds.weight[0])


def test_shots_as_expected_narrow_what_is_believed_and_keep_its_middle() -> None:
    request = request_on(LINE)
    expected = _central_offset(request, logged("5", LINE, 0.0, 0))
    shots = tuple(logged("5", LINE, expected, 0) for _ in range(12))
    before, after = _weighed(request), _weighed(request_on(LINE, shots=shots))
    assert _sd(after, after.log_friction["5"]) < 0.8 * _sd(before, before.log_friction["5"])
    assert abs(_mean(after, after.log_friction["5"])) < 0.05
    assert after.effective > 100.0


def test_high_hits_say_more_friction_or_less_oil() -> None:
    request = request_on(LINE)
    expected = _central_offset(request, logged("5", LINE, 0.0, 0))
    high = _weighed(request_on(LINE, shots=tuple(logged("5", LINE, expected - 2.5, 0) for _ in range(6))))
    light = _weighed(request_on(LINE, shots=tuple(logged("5", LINE, expected + 2.5, 0) for _ in range(6))))
    assert _mean(high, high.log_friction["5"]) > 0.02 > -0.02 > _mean(light, light.log_friction["5"])
    assert _mean(high, high.log_film["5"]) < 0.0 < _mean(light, light.log_film["5"])


def test_one_wild_reading_hardly_moves_the_lane() -> None:
    request = request_on(LINE)
    expected = _central_offset(request, logged("5", LINE, 0.0, 0))
    good = tuple(logged("5", LINE, expected, 0) for _ in range(8))
    calm = _weighed(request_on(LINE, shots=good))
    jolted = _weighed(request_on(LINE, shots=(*good, logged("5", LINE, expected - 12.0, 0))))
    shift = _mean(jolted, jolted.log_friction["5"]) - _mean(calm, calm.log_friction["5"])
    assert abs(shift) < 0.6 * _sd(calm, calm.log_friction["5"])


def _three_pairs(surprise: dict[str, float], speed_mph: float | None = None) -> AdviceRequest:
    lanes = tuple(
        LaneState(lane_id=lane, pair_id=pair, film_um=made_up_film())
        for lane, pair in (("5", "a"), ("6", "a"), ("7", "b"), ("8", "b"), ("9", "c"), ("10", "c"))
    )
    bare = request_on(LINE, lanes=lanes)
    expected = _central_offset(bare, logged("5", LINE, 0.0, 0))
    shots = tuple(
        logged(lane.lane_id, LINE, expected + surprise.get(lane.pair_id, 0.0), 0, speed_mph=speed_mph)
        for lane in lanes
        for _ in range(6)
    )
    return request_on(LINE, lanes=lanes, shots=shots)


def test_a_surprising_pair_moves_the_pair_and_not_the_bowler() -> None:
    worlds = _weighed(_three_pairs({"b": -3.0}))
    odd = _mean(worlds, worlds.log_friction["7"])
    others = [_mean(worlds, worlds.log_friction[lane]) for lane in ("5", "9")]
    assert odd - max(others) > 0.04
    # A third of the bowler's prior spread: the pair takes most of the surprise.
    assert abs(_mean(worlds, worlds.speed_mph[""])) < 0.4 / 3.0


def test_a_bowler_slow_on_every_pair_moves_the_bowler() -> None:
    everywhere = {"a": -2.5, "b": -2.5, "c": -2.5}
    worlds = _weighed(_three_pairs(everywhere, speed_mph=STRIKE.speed_mph - 0.7))
    assert _mean(worlds, worlds.speed_mph[""]) < -0.2
    frictions = [_mean(worlds, worlds.log_friction[lane]) for lane in ("5", "7", "9")]
    assert max(frictions) - min(frictions) < 0.02


def test_pins_alone_teach_something() -> None:
    # Leaves of a ball gone far too high (4-6-7-10), again and again, without any reading of the hit.
    request = request_on(LINE)
    shots = tuple(logged("5", LINE, None, 0, pins_left=mask_of((4, 6, 7, 10))) for _ in range(6))
    before, after = _weighed(request), _weighed(request_on(LINE, shots=shots))
    history = replay(request.lanes[0])
    shot = logged("5", LINE, 0.0, 0)

    def offset(worlds: Worlds) -> float:
        return _mean(worlds, predict(Unknowns.in_worlds(worlds, shot), shot, history.now).offset_boards)

    assert offset(after) < offset(before) - 0.3


def test_a_shot_with_nothing_but_its_pins_left_out_is_no_evidence() -> None:
    request = request_on(
        LINE, shots=(logged("5", LINE, None, 0), replace(logged("5", LINE, None, 0, pins_left=0), line=None))
    )
    assert gather(request.shots, {"5": replay(request.lanes[0])}) == []


def test_balls_are_told_apart_by_what_they_are_and_not_by_their_ids() -> None:
    request = request_on(LINE)
    renamed = request_on(LINE, balls=tuple(replace(ball, ball_id=f"x{ball.ball_id}") for ball in BALLS[::-1]),
                         current_ball_id=None)  # fmt: skip
    assert Layout(request).names == Layout(renamed).names
    other = replace(BALLS[0], spec=replace(SOLID, rg_in=2.6))
    assert Layout(request).names != Layout(request_on(LINE, balls=(other, *BALLS[1:]))).names


def test_worlds_that_hardly_agree_with_the_shots_say_so_though_the_weights_are_tempered() -> None:
    layout = Layout(request_on(LINE))
    size = len(layout.names)

    def far_off(worlds: Worlds) -> np.ndarray:
        result: np.ndarray = -0.5 * ((worlds.log_wear / layout.priors.log_wear - 4.0) / 0.01) ** 2
        return result

    worlds = posterior_worlds(layout, np.zeros(size), np.eye(size), far_off, count=256)
    assert worlds.effective < 4.0
    # Tempered, enough worlds carry the answer for its spread not to be falsely narrow.
    assert 1.0 / np.sum(worlds.weight**2) > 15.0


def test_more_shots_on_one_lane_teach_more_but_each_of_them_less() -> None:
    request = request_on(LINE)
    expected = _central_offset(request, logged("5", LINE, 0.0, 0))
    trust, spread = [], []
    for count in (1, 6, 24):
        shots = tuple(logged("5", LINE, expected, 0) for _ in range(count))
        evidence = gather(shots, {"5": replay(request.lanes[0])})
        trust.append(sum(item.trust for item in evidence))
        worlds = _weighed(request_on(LINE, shots=shots))
        spread.append(_sd(worlds, worlds.log_friction["5"]))
    assert trust[0] == 1.0 and trust[0] < trust[1] < trust[2] < 24.0
    assert spread[0] > spread[1] > spread[2]


def test_a_ball_whose_surface_is_not_well_known_is_doubted_more() -> None:
    known = replace(SOLID, roughness_sd_um=0.05 * SOLID.roughness_um)
    guessed = replace(SOLID, roughness_sd_um=0.5 * SOLID.roughness_um)
    spread = []
    for spec in (SOLID, known, guessed):
        worlds = prior_worlds(Layout(request_on(LINE, balls=(replace(BALLS[0], spec=spec),))), 256)
        (ball,) = worlds.log_friction_ball.values()
        spread.append(float(ball.std()))
    assert spread[0] < spread[1] < 0.5 * spread[2]


def test_a_trade_word_alone_is_read_as_the_offset_it_stands_for() -> None:
    assert logged_offset(logged("5", LINE, None, 0, hit_word="light")) == HIT_WORDS["light"]
    assert logged_offset(logged("5", LINE, 2.0, 0, hit_word="light")) == 2.0
    assert logged_offset(logged("5", LINE, None, 0, hit_word="somewhere")) is None
    nose = _weighed(
        request_on(LINE, shots=tuple(logged("5", LINE, None, 0, hit_word="nose") for _ in range(5)))
    )
    light = _weighed(
        request_on(LINE, shots=tuple(logged("5", LINE, None, 0, hit_word="light") for _ in range(5)))
    )
    assert _mean(nose, nose.log_friction["5"]) > _mean(light, light.log_friction["5"]) + 0.02
