"""The hidden truth: shots it makes are plausible, repeatable, and wear its lanes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from motion.advice import advise
from motion.advice_types import FieldTraffic, LoggedShot, SpareRecord, TrafficPass
from motion.film import volume_ml
from motion.inputs import Line, Scatter
from motion.leaves import FULL_RACK, mask_of, mirror
from motion.simulate import HiddenBowler, HiddenHouse, HiddenLane, SimulatedShot, convert_spare, throw
from tests.motion.advice_cases import BALLS, SOLID, STRIKE, made_up_film, request_on

STEADY = replace(
    STRIKE,
    scatter=Scatter(
        sd_speed_mph=0.0,
        sd_launch_deg=0.0,
        sd_laydown_boards=0.0,
        sd_rev_rate_rpm=0.0,
        sd_axis_rotation_deg=0.0,
    ),
)


def _line() -> Line:
    answer = advise(request_on(None, balls=BALLS[:1]))["5"]
    return answer.alternatives[0].line


def _shots(seed: int, count: int) -> list[SimulatedShot]:
    house = HiddenHouse(seed)
    lane = house.dressed_lane("5", "5-6", made_up_film())
    bowler = HiddenBowler(seed, "right")
    return [
        throw(lane, bowler, SOLID, STRIKE, Line(laydown_board=19.0, target_board=13.0)) for _ in range(count)
    ]


def test_the_same_seed_bowls_the_same_shots_and_another_seed_others() -> None:
    assert _shots(3, 5) == _shots(3, 5)
    assert _shots(3, 5) != _shots(4, 5)


def test_a_shot_logs_readings_in_range_and_leaves_a_possible_rack() -> None:
    for shot in _shots(5, 20):
        assert 0 <= shot.pins_left <= FULL_RACK
        assert shot.offset_boards * 2.0 == round(shot.offset_boards * 2.0)
        assert 5.0 < shot.speed_mph < 30.0
        assert 1.0 <= shot.breakpoint_board <= 39.0
        assert shot.hit_word


def test_readings_miss_the_truth_but_follow_it() -> None:
    shots = _shots(6, 60)
    errors = np.array([shot.offset_boards - shot.true_offset_boards for shot in shots if not shot.gutter])
    assert 0.2 < errors.std() < 1.0
    assert abs(errors.mean()) < 0.3


def test_bowling_wears_the_lane_and_the_track_goes_high() -> None:
    lane = HiddenLane("5", made_up_film())
    bowler = HiddenBowler(1, "right")
    line = _line()
    first = throw(lane, bowler, SOLID, STEADY, line).true_offset_boards
    before = volume_ml(lane.film_um)
    for _ in range(60):
        throw(lane, bowler, SOLID, STEADY, line)
    assert volume_ml(lane.film_um) < before
    assert throw(lane, bowler, SOLID, STEADY, line).true_offset_boards < first - 2.0


def test_the_rest_of_the_field_wears_a_lane_too() -> None:
    lane = HiddenLane("5", made_up_film())
    before = volume_ml(lane.film_um)
    lane.play_field(FieldTraffic(right_bowlers=3.0, left_bowlers=1.0, games=1.0))
    assert volume_ml(lane.film_um) < before
    assert lane.field_before == 28


def test_lanes_of_a_pair_are_more_alike_than_lanes_of_other_pairs() -> None:
    within, between = [], []
    for seed in range(60):
        house = HiddenHouse(seed)
        five, six, nine = (
            house.dressed_lane(lane, pair, made_up_film()).log_friction
            for lane, pair in (("5", "5-6"), ("6", "5-6"), ("9", "9-10"))
        )
        within.append(abs(five - six))
        between.append(abs(five - nine))
    assert np.mean(within) < 0.8 * np.mean(between)


def test_a_left_hander_on_the_mirrored_lane_bowls_the_mirror() -> None:
    line = Line(laydown_board=19.0, target_board=13.0)
    film = made_up_film()
    film[:, 25:] *= 1.3
    right = throw(HiddenLane("5", film), HiddenBowler(2, "right"), SOLID, STRIKE, line)
    left = throw(HiddenLane("5", film[:, ::-1]), HiddenBowler(2, "left"), SOLID, STRIKE, line)
    assert left.true_offset_boards == right.true_offset_boards
    assert left.pins_left == mirror(right.pins_left)


def test_spares_follow_the_bowlers_own_record() -> None:
    lane = HiddenLane("5", made_up_film())
    sure = HiddenBowler(1, "right", spares=SpareRecord(corner_pin=1.0, split=0.0))
    assert all(convert_spare(lane, sure, mask_of((10,))) == 0 for _ in range(10))
    left = [convert_spare(lane, sure, mask_of((7, 10))) for _ in range(10)]
    assert all(mask in (mask_of((7,)), mask_of((10,))) for mask in left)
    assert convert_spare(lane, sure, 0) == 0


def test_advice_can_be_asked_from_what_the_simulator_logs() -> None:
    house, bowler, line = HiddenHouse(9), HiddenBowler(9, "right"), _line()
    lane = house.dressed_lane("5", "5-6", made_up_film())
    shots, traffic = [], []
    for place in range(10):
        shot = throw(lane, bowler, SOLID, STRIKE, line)
        shots.append(
            LoggedShot(
                lane_id="5",
                passes_before=place,
                hand="right",
                ball_key="1",
                spec=SOLID,
                release=STRIKE,
                line=line,
                offset_boards=shot.offset_boards,
                pins_left=shot.pins_left,
                speed_mph=shot.speed_mph,
            )
        )
        traffic.append(TrafficPass(hand="right", spec=SOLID, release=STRIKE, line=line))
    answer = advise(request_on(line, traffic, shots=tuple(shots)))["5"]
    assert answer.status == "advised"
    assert answer.now is not None
    seen = np.median([shot.offset_boards for shot in shots])
    assert abs(answer.now.mean_offset_boards - seen) < 2.0
