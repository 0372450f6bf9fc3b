"""Stated intervals hold about as often as they say, against hidden lanes the belief never sees.

docs/physics.md gives the figures of a larger measurement made the same way.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from motion.advice import WORLDS
from motion.advice_types import Candidate, FieldTraffic, LoggedShot, Traffic, TrafficPass
from motion.belief import Layout, representative
from motion.drilled import drilled
from motion.evidence import gather, weigh
from motion.inputs import BallSpec, Line
from motion.offsets import offset_at_pins
from motion.outcomes import frame_table
from motion.path import march_batch
from motion.replay import replay
from motion.scene import Scene
from motion.scene import throw as throw_in_worlds
from motion.simulate import HiddenBowler, HiddenHouse, HiddenLane, throw
from tests.motion.advice_cases import BALLS, SOLID, STRIKE, logged, made_up_film, request_on

LINE = Line(laydown_board=20.0, target_board=13.5)
HALF_A_GAME = FieldTraffic(right_bowlers=3.0, left_bowlers=1.0, games=0.5)
DRILLED = replace(SOLID, pin_to_pap_in=0.75, drilling_angle_deg=70.0, val_angle_deg=40.0)
INTENDED = Candidate(ball_id="1", ball=SOLID, release_name="strike", release=STRIKE, line=LINE)


def true_offset(lane: HiddenLane, bowler: HiddenBowler, spec: BallSpec) -> float:
    """Offset of the intended shot on the lane as it really is, by the bowler as they really are."""
    speed = float(STRIKE.speed_mph + bowler.speed_mph)
    revs = float(STRIKE.rev_rate_rpm * np.exp(bowler.log_rev_rate))
    really = replace(STRIKE, speed_mph=speed, rev_rate_rpm=revs)
    ball = drilled(spec, really, lane.film_um, launch_deg=LINE.launch_deg)
    batch = march_batch(
        ball.maps(lane.friction_for("right", spec, bowler.log_ball(spec))),
        speed,
        launch_deg=LINE.launch_deg,
        laydown_board=LINE.foul_line_board,
        **ball.thrown(revs, STRIKE.axis_rotation_deg, STRIKE.axis_tilt_deg),
    )
    return float(offset_at_pins(batch.board_at_60, batch.entry_angle_deg, spec.diameter_in)[0])


def truth_and_belief(seed: int, shots: int, spec: BallSpec) -> tuple[float, np.ndarray]:
    """The true offset of the present line after so many shots, and its offsets in the believed worlds."""
    lane = HiddenHouse(seed).dressed_lane("5", "5-6", made_up_film())
    bowler = HiddenBowler(seed, "right")
    traffic: list[Traffic] = []
    told: list[LoggedShot] = []
    for number in range(shots):
        if number and number % 5 == 0:
            lane.play_field(HALF_A_GAME)
            traffic.append(HALF_A_GAME)
        shot = throw(lane, bowler, spec, STRIKE, LINE)
        reading = logged("5", LINE, shot.offset_boards, len(traffic))
        told.append(replace(reading, spec=spec, pins_left=shot.pins_left, speed_mph=shot.speed_mph))
        traffic.append(TrafficPass(hand="right", spec=spec, release=STRIKE, line=LINE))
    balls = (replace(BALLS[0], spec=spec), *BALLS[1:])
    request = request_on(LINE, traffic, shots=tuple(told), balls=balls)
    history = replay(request.lanes[0])
    weighted = weigh(Layout(request), gather(request.shots, {"5": history}), frame_table(request.spares))
    worlds = representative(weighted, WORLDS)
    films = history.now.mix(worlds.log_film["5"], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id="5", films_um=films, worlds=worlds)
    offsets = throw_in_worlds(scene, replace(INTENDED, ball=spec), np.zeros((1, 5))).offset_boards[:, 0]
    return true_offset(lane, bowler, spec), offsets


@pytest.mark.parametrize("spec", [SOLID, DRILLED], ids=["no layout known", "drilled"])
def test_the_true_offset_lies_in_the_stated_eighty_percent_about_that_often_and_shots_narrow_it(
    spec: BallSpec,
) -> None:
    widths, errors = {}, {}
    for shots in (0, 12):
        cases = [truth_and_belief(seed, shots, spec) for seed in range(700, 724)]
        ends = np.array([np.percentile(offsets, (10.0, 90.0)) for _, offsets in cases])
        truths = np.array([truth for truth, _ in cases])
        inside = float(((truths >= ends[:, 0]) & (truths <= ends[:, 1])).mean())
        assert 0.6 <= inside <= 0.96
        widths[shots] = float((ends[:, 1] - ends[:, 0]).mean())
        middles = np.array([np.median(offsets) for _, offsets in cases])
        errors[shots] = float(np.sqrt(((truths - middles) ** 2).mean()))
    assert widths[12] < 0.4 * widths[0]
    assert errors[12] < 0.4 * errors[0]
