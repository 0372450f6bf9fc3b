"""The error of lines not thrown: nothing on the present line, growing with distance, narrowed by shots."""

from __future__ import annotations

import math

import numpy as np
import pytest

from motion.advice_types import LaneState, LoggedShot
from motion.evidence import Evidence, gather
from motion.inputs import Line
from motion.line_error import LineError, line_distance, line_error
from motion.parameters import PARAMETERS
from motion.replay import replay
from tests.motion.advice_cases import logged, made_up_film

HERE = Line(laydown_board=20.0, target_board=13.0)
MANY = 4000
SHAPE = 3.3 * 0.10  # boards, of a table's film
FAR_SD = math.hypot(PARAMETERS["line_error_boards"].value, SHAPE)
REACH = PARAMETERS["line_error_reach_boards"].value


def moved(feet: float, target: float) -> Line:
    return Line(laydown_board=HERE.laydown_board + feet, target_board=HERE.target_board + target)


def told_by(*shots: LoggedShot) -> list[Evidence]:
    lanes = [LaneState(lane_id=lane, pair_id="5-6", film_um=made_up_film()) for lane in ("5", "6")]
    return gather(shots, {lane.lane_id: replay(lane) for lane in lanes})


def drawn(present: Line | None, *shots: LoggedShot, trust: str = "table") -> LineError:
    return line_error(told_by(*shots), "5", trust, present, MANY)  # type: ignore[arg-type]


def sd_at(error: LineError, line: Line) -> float:
    return float(error.at(line).std())


def test_two_lines_share_the_error_as_a_bell_of_their_distance() -> None:
    error = drawn(None)
    for feet, target in ((2.0, 1.0), (4.0, 2.0), (-6.0, -4.0), (0.0, 5.0)):
        line = moved(feet, target)
        distance = math.sqrt((feet**2 + target**2) / 2.0)
        assert line_distance(HERE, line) == pytest.approx(distance)
        assert sd_at(error, line) == pytest.approx(FAR_SD, rel=0.05)
        together = float(np.corrcoef(error.at(HERE), error.at(line))[0, 1])
        assert together == pytest.approx(math.exp(-0.5 * (distance / REACH) ** 2), abs=0.05)


def test_on_the_present_line_it_is_nothing_and_with_distance_it_grows_to_the_whole() -> None:
    error = drawn(HERE)
    assert sd_at(error, HERE) < 0.06
    sizes = [sd_at(error, moved(feet, 0.5 * feet)) for feet in (1.0, 2.0, 4.0, 8.0, 12.0)]
    assert sizes == sorted(sizes)
    # A normal error known at one place: s sqrt(1 - c^2), c the correlation with that place.
    for feet, size in zip((2.0, 8.0), (sizes[1], sizes[3]), strict=True):
        together = math.exp(-0.5 * (line_distance(HERE, moved(feet, 0.5 * feet)) / REACH) ** 2)
        assert size == pytest.approx(FAR_SD * math.sqrt(1.0 - together**2), rel=0.05)


def test_shots_on_another_line_of_this_lane_narrow_it_and_shots_elsewhere_do_not() -> None:
    there = moved(10.0, 6.0)
    wide = sd_at(drawn(HERE), there)
    one = sd_at(drawn(HERE, logged("5", there, 2.5, 0)), there)
    six = sd_at(drawn(HERE, *[logged("5", there, 2.5, 0)] * 6), there)
    assert six < 0.8 * one < 0.8 * wide
    pins = sd_at(drawn(HERE, logged("5", there, None, 0, pins_fallen=9)), there)
    assert one < pins < wide
    for shot in (logged("6", there, 2.5, 0), logged("5", there, 2.5, 0, hand="left", bowler_key="mate")):
        assert sd_at(drawn(HERE, shot), there) == pytest.approx(wide)


def test_a_rebuilt_sheet_makes_far_lines_less_sure() -> None:
    there = moved(10.0, 6.0)
    sizes = [sd_at(drawn(HERE, trust=trust), there) for trust in ("table", "passes", "summary")]
    assert sizes == sorted(sizes) and sizes[2] > 1.2 * sizes[0]


def test_a_few_worlds_of_it_are_those_that_a_scene_keeps() -> None:
    error = drawn(HERE)
    few = error.first(5)
    assert few.worlds == 5
    kept = [0, 1000, 2000, 2999, 3999]
    assert few.at(moved(3.0, 1.0)) == pytest.approx(error.at(moved(3.0, 1.0))[kept], rel=1e-12)
