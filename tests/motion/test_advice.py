"""Advice as a whole: it stays when things are good, moves when the track is gone, and repeats itself."""

from __future__ import annotations

import copy
import json
from dataclasses import replace

import numpy as np
import pytest

from motion.advice import advise
from motion.advice_types import (
    AdviceCancelled,
    AdviceRequest,
    Candidate,
    FieldTraffic,
    LaneAdvice,
    LaneState,
    NamedRelease,
    TrafficPass,
)
from motion.belief import Layout, representative
from motion.compare import coarse_lines, look_closely
from motion.decide import gain_over
from motion.errors import MotionError
from motion.evidence import gather, weigh
from motion.inputs import Line
from motion.leaves import mask_of
from motion.line_error import LineError, line_distance, line_error
from motion.outcomes import frame_table
from motion.replay import replay
from motion.scene import Scene
from motion.streams import scatter_normals
from tests.motion.advice_cases import (
    BALLS,
    SOLID,
    STRIKE,
    URETHANE,
    logged,
    made_up_film,
    other_hand,
    request_on,
    thrown,
)

GOOD_LINE = Line(laydown_board=19.0, target_board=12.0)


def only(request: AdviceRequest) -> LaneAdvice:
    return advise(request)["5"]


def alike(answer: LaneAdvice) -> str:
    """The advice without the hand, exactly, for comparing bit for bit."""
    plain = answer.as_dict()
    plain.pop("hand")
    return json.dumps(plain, sort_keys=True)


@pytest.fixture(scope="module")
def fresh_line() -> Line:
    """The line found for the strike ball on the fresh film, from no line known."""
    answer = only(request_on(None, balls=BALLS[:1]))
    return answer.alternatives[0].line


@pytest.fixture(scope="module")
def burned(fresh_line: Line) -> AdviceRequest:
    """The fresh line after ninety balls on it, with the last shots logged high."""
    traffic = thrown(fresh_line, 90)
    shots = tuple(logged("5", fresh_line, 0.5, 84 + place) for place in range(6))
    return request_on(fresh_line, traffic, shots=shots)


def test_good_hits_on_a_fresh_lane_stay(fresh_line: Line) -> None:
    shots = tuple(logged("5", fresh_line, 2.5, 0) for _ in range(8))
    answer = only(request_on(fresh_line, shots=shots))
    assert answer.action == "stay"
    assert answer.feet_move_boards == 0.0 and answer.target_move_boards == 0.0
    assert answer.gain == 0.0
    assert answer.track_oil_left == pytest.approx(1.0)
    assert answer.headline.startswith("Stay")


def test_a_burned_track_with_high_hits_moves_inside_or_to_a_weaker_ball(burned: AdviceRequest) -> None:
    answer = only(burned)
    assert answer.action in ("move", "change ball")
    assert answer.track_oil_left is not None and answer.track_oil_left < 0.8
    weaker = answer.ball_id in ("2", "3")
    assert answer.feet_move_boards > 0 or weaker
    assert answer.now is not None and answer.advised is not None
    assert answer.now.mean_offset_boards < 1.8
    assert answer.advised.mean_offset_boards > answer.now.mean_offset_boards
    assert answer.gain is not None and answer.gain > 0.0
    assert answer.chance_better is not None and answer.chance_better >= 0.8
    assert "oil" in answer.reasons[0] and "high" in answer.reasons[0]


def test_the_numbers_of_an_answer_hang_together(burned: AdviceRequest) -> None:
    answer = only(burned)
    assert answer.gain_low is not None and answer.gain_high is not None and answer.gain is not None
    assert answer.gain_low <= answer.gain_high
    assert answer.line is not None and answer.line_now is not None
    assert answer.line.laydown_board - answer.line_now.laydown_board == answer.feet_move_boards
    assert answer.line.target_board - answer.line_now.target_board == answer.target_move_boards
    assert answer.feet_board == answer.line.laydown_board + 6.0
    assert answer.expected_frame_now is not None and answer.expected_frame_advised is not None
    assert answer.expected_frame_advised - answer.expected_frame_now == pytest.approx(answer.gain)
    assert answer.lasts_games is not None and 0.0 <= answer.lasts_games <= 3.0
    for outlook in (answer.now, answer.advised):
        assert outlook is not None
        for chance in (outlook.pocket, outlook.strike, outlook.split_or_washout):
            assert 0.0 <= chance <= 1.0
        assert outlook.worst_tenth <= outlook.expected_frame <= 30.0
    assert {a.ball_id for a in answer.alternatives} == {"1", "2", "3"}
    json.dumps(answer.as_dict())


def test_the_same_request_gives_the_same_bits_and_is_left_as_it_was(burned: AdviceRequest) -> None:
    before = copy.deepcopy(burned.as_dict())
    first, second = only(burned), only(burned)
    assert alike(first) == alike(second)
    assert burned.as_dict() == before


def test_the_order_of_the_balls_changes_nothing(burned: AdviceRequest) -> None:
    turned = replace(burned, balls=burned.balls[1:] + burned.balls[:1])
    assert alike(only(burned)) == alike(only(turned))


def test_ids_are_only_links(burned: AdviceRequest) -> None:
    names = {"1": "901", "2": "17", "3": "44"}
    renamed = replace(
        burned,
        balls=tuple(replace(ball, ball_id=names[ball.ball_id]) for ball in burned.balls),
        lanes=tuple(replace(lane, lane_id="row 77", pair_id="other") for lane in burned.lanes),
        shots=tuple(replace(shot, lane_id="row 77", ball_key="901") for shot in burned.shots),
        current_ball_id="901",
    )
    first, second = only(burned), advise(renamed)["row 77"]
    assert first.ball_id is not None and second.ball_id == names[first.ball_id]
    assert (first.line, first.gain, first.reasons) == (second.line, second.gain, second.reasons)


def test_taking_the_last_shot_back_gives_exactly_the_advice_before_it(burned: AdviceRequest) -> None:
    before = only(burned)
    more = replace(burned, shots=(*burned.shots, logged("5", GOOD_LINE, 3.5, 90)))
    assert alike(only(more)) != alike(before)
    assert alike(only(replace(more, shots=more.shots[:-1]))) == alike(before)
    counts = tuple(logged("5", GOOD_LINE, None, 90, pins_fallen=count) for count in (7, 10, 6, 8))
    typed = replace(burned, shots=(*burned.shots, *counts))
    assert alike(only(typed)) != alike(before)
    assert alike(only(replace(typed, shots=typed.shots[:-4]))) == alike(before)


@pytest.fixture(scope="module")
def mixed(fresh_line: Line) -> AdviceRequest:
    """Traffic of both hands and an ordinary field on an uneven film, with shots logged in several ways."""
    film = made_up_film()
    film[:, 25:] *= 1.2
    left_pass = TrafficPass(hand="left", spec=URETHANE, release=STRIKE, line=GOOD_LINE)
    traffic = [
        FieldTraffic(right_bowlers=3.0, left_bowlers=1.0, games=1.0),
        *thrown(fresh_line, 20),
        left_pass,
        left_pass,
    ]
    shots = (
        logged("5", fresh_line, 2.0, 10),
        logged("5", fresh_line, None, 15, pins_left=mask_of((10,))),
        logged("5", GOOD_LINE, None, 20, pins_left=mask_of((7,)), hand="left", bowler_key="mate"),
        logged("5", fresh_line, 1.5, 20, breakpoint_board=7.0, speed_mph=17.0),
        logged("5", fresh_line, None, 20, pins_fallen=8),
        logged("5", GOOD_LINE, None, 21, pins_fallen=7, hand="left", bowler_key="mate"),
    )
    return request_on(fresh_line, traffic, film=film, shots=shots)


def test_everything_mirrored_gives_a_left_hander_the_same_bits(mixed: AdviceRequest) -> None:
    right, left = only(mixed), only(other_hand(mixed))
    assert left.hand == "left" and right.hand == "right"
    assert alike(left) == alike(right)


def test_an_ordinary_field_gives_a_left_hander_other_advice(fresh_line: Line) -> None:
    ordinary = FieldTraffic(right_bowlers=5.0, left_bowlers=0.5, games=3.0)
    right = request_on(fresh_line, [ordinary], field_per_game=ordinary)
    left = replace(right, hand="left")
    right_answer, left_answer = only(right), only(left)
    assert alike(right_answer) != alike(left_answer)
    assert right_answer.track_oil_left is not None and left_answer.track_oil_left is not None
    assert left_answer.track_oil_left > right_answer.track_oil_left + 0.1


def test_protecting_the_floor_weighs_the_worst_tenth() -> None:
    # A line that hardly touches the head pin: its bad frames are what there is to gain.
    line = Line(laydown_board=9.0, target_board=4.0)
    shots = tuple(logged("5", line, 6.5, 0) for _ in range(8))
    answer = only(replace(request_on(line, shots=shots), objective="floor"))
    assert answer.objective == "floor" and answer.action != "stay"
    assert answer.gain is not None and answer.gain > 0.0
    assert answer.worst_tenth_advised is not None and answer.worst_tenth_now is not None
    assert answer.worst_tenth_advised > answer.worst_tenth_now
    # Every alternative is weighed by its worst tenth too: the advised one gains most after its cost.
    assert answer.gain >= max(item.gain for item in answer.alternatives) - 1.0
    assert "worst tenth" in answer.reasons[1]


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"film": None}, "sheet"),
        ({"current_ball_id": None}, "ball thrown last"),
        ({"line": None}, "line played"),
        ({"releases": (), "current_release": None}, "release"),
        ({"balls": (), "current_ball_id": None}, "ball in the bag"),
    ],
)
def test_what_is_missing_is_named_and_nothing_is_advised(changes: dict[str, object], word: str) -> None:
    line = changes.pop("line", GOOD_LINE)
    answer = only(request_on(line, **changes))  # type: ignore[arg-type]
    assert answer.status == "not enough known"
    assert answer.action == "stay"
    assert answer.gain is None and answer.line == line
    assert any(word in item for item in answer.missing)


def test_without_a_line_the_balls_are_still_compared() -> None:
    answer = only(request_on(None))
    assert {item.ball_id for item in answer.alternatives} == {"1", "2", "3"}
    # With nothing logged the doubt is wide, but every line is meant for the bowler's own pocket.
    assert all(-0.5 < item.outlook.mean_offset_boards < 5.0 for item in answer.alternatives)


def test_a_ball_put_away_is_neither_kept_nor_advised(fresh_line: Line) -> None:
    balls = (replace(BALLS[0], put_away=True), *BALLS[1:])
    answer = only(request_on(fresh_line, balls=balls))
    assert answer.action == "change ball"
    assert answer.ball_id in ("2", "3")
    assert all(item.ball_id != "1" for item in answer.alternatives)


def test_spare_balls_and_balls_left_at_home_are_not_advised(fresh_line: Line) -> None:
    balls = (BALLS[0], replace(BALLS[1], in_bag=False), replace(BALLS[2], spare_ball=True))
    assert {item.ball_id for item in only(request_on(fresh_line, balls=balls)).alternatives} <= {"1"}


def test_lines_to_begin_with_name_each_ball_once() -> None:
    flatter = NamedRelease(name="flatter", spec=replace(STRIKE, axis_rotation_deg=30.0))
    strike = NamedRelease(name="strike", spec=STRIKE)
    answer = only(request_on(None, releases=(strike, flatter)))
    assert sorted(item.ball_id for item in answer.alternatives) == ["1", "2", "3"]
    worth = [item.outlook.expected_frame for item in answer.alternatives]
    assert worth == sorted(worth, reverse=True)
    # The one line named for a ball is no worse than the best found for each release alone.
    alone = only(request_on(None, releases=(strike,), balls=BALLS[:1])).alternatives
    named = next(item for item in answer.alternatives if item.ball_id == "1")
    assert len(alone) == 1
    assert named.outlook.expected_frame >= alone[0].outlook.expected_frame - 1e-9


NEAR_POCKET = Line(laydown_board=14.0, target_board=9.5)  # close to it on the made-up film


@pytest.mark.parametrize("offset", [0.0, 1.0, 2.5, 4.0, 5.5])
@pytest.mark.parametrize("line", [NEAR_POCKET, Line(laydown_board=20.0, target_board=13.5)])
def test_one_ball_brings_no_great_move(line: Line, offset: float) -> None:
    answer = only(request_on(line, thrown(line, 1), shots=(logged("5", line, offset, 0),)))
    assert abs(answer.feet_move_boards) <= 3.0 and abs(answer.target_move_boards) <= 3.0


def test_one_ball_far_from_the_head_pin_may_bring_one() -> None:
    line = Line(laydown_board=24.0, target_board=15.0)
    answer = only(request_on(line, thrown(line, 1), shots=(logged("5", line, 12.0, 0),)))
    assert answer.now is not None and answer.now.mean_offset_boards > 6.5
    assert answer.action == "move" and answer.feet_move_boards < 0.0
    assert answer.gain_low is not None and answer.gain_low > 1.0


@pytest.mark.parametrize(("offset", "lighter"), [(1.0, 1.0), (5.5, -1.0)])
def test_a_streak_high_or_light_brings_the_usual_small_move(offset: float, lighter: float) -> None:
    line = NEAR_POCKET
    shots = tuple(logged("5", line, offset, place) for place in range(8))
    answer = only(request_on(line, thrown(line, 8), shots=shots, balls=BALLS[:1]))
    assert answer.action == "move"
    assert max(abs(answer.feet_move_boards), abs(answer.target_move_boards)) <= 3.0
    assert answer.now is not None and answer.advised is not None
    assert lighter * (answer.advised.mean_offset_boards - answer.now.mean_offset_boards) > 0.5


def test_a_ball_that_holds_on_no_line_is_changed() -> None:
    fast_hands = replace(STRIKE, speed_mph=15.5, rev_rate_rpm=430.0)
    line = Line(laydown_board=32.0, target_board=19.0)
    shots = tuple(logged("5", line, -4.0, place, release=fast_hands) for place in range(8))
    answer = only(
        request_on(
            line,
            thrown(line, 8, release=fast_hands),
            film=made_up_film(36, 3.0, 0.5),
            shots=shots,
            balls=(BALLS[0], BALLS[2]),
            releases=(NamedRelease(name="strike", spec=fast_hands),),
        )
    )
    assert answer.action == "change ball" and answer.ball_id == "3"
    own = [item.gain for item in answer.alternatives if item.ball_id == "1"]
    assert answer.gain is not None and answer.gain > max(own, default=0.0)


def test_the_interval_of_a_gain_widens_with_the_move(fresh_line: Line) -> None:
    shots = tuple(logged("5", fresh_line, 1.0, 0) for _ in range(12))
    request = request_on(fresh_line, shots=shots)
    history = replay(request.lanes[0])
    evidence = gather(request.shots, {"5": history})
    table = frame_table(request.spares)
    worlds = representative(weigh(Layout(request), evidence, table), 128)
    films = history.now.mix(worlds.log_film["5"], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id="5", films_um=films, worlds=worlds)
    error = line_error(evidence, "5", "table", fresh_line, worlds.count)
    here = Candidate(ball_id="1", ball=SOLID, release_name="strike", release=STRIKE, line=fresh_line)

    def width(there: Candidate, missed: LineError | None) -> float:
        stay, moved = (
            look_closely(scene, some, scatter_normals(64), table, missed) for some in (here, there)
        )
        gain = gain_over(stay, moved, "score")
        return gain.high - gain.low

    to_the_pocket = sorted(
        coarse_lines(scene.first(6), here, None, table, "score"),
        key=lambda there: line_distance(fresh_line, there.line),
    )
    near, far = (
        [there for there in to_the_pocket if low <= line_distance(fresh_line, there.line) <= high]
        for low, high in ((0.5, 4.0), (8.0, 40.0))
    )
    added = [
        float(np.mean([width(there, error) - width(there, None) for there in some[:3]]))
        for some in (near, far)
    ]
    assert added[1] > added[0] + 0.3


def test_where_the_lanes_of_a_pair_differ_each_says_how() -> None:
    line = NEAR_POCKET
    film = made_up_film()
    lanes = tuple(
        LaneState(lane_id=lane, pair_id="5-6", film_um=film, traffic=tuple(thrown(line, passes)))
        for lane, passes in (("5", 8), ("6", 40))
    )
    shots = tuple(
        logged(lane, line, offset, place) for place in range(8) for lane, offset in (("5", 2.5), ("6", 0.5))
    )
    left, right = advise(request_on(line, lanes=lanes, shots=shots)).values()
    assert (left.action, left.line) != (right.action, right.line)
    assert len(left.reasons) == len(right.reasons) == 3
    assert left.reasons[2].startswith("The right lane hooks more: ") and " higher on this" in left.reasons[2]
    assert right.reasons[2].startswith("The left lane hooks less: ") and " lighter on" in right.reasons[2]
    # The number is the difference of where one line arrives on the two of them.
    assert left.now is not None and right.now is not None
    boards = float(left.reasons[2].split(": ")[1].split(" board")[0])
    assert boards == pytest.approx(left.now.mean_offset_boards - right.now.mean_offset_boards, abs=1.0)


def test_lanes_of_a_pair_with_one_advice_say_nothing_of_each_other(fresh_line: Line) -> None:
    request = request_on(fresh_line, lane_ids=("5", "6"))
    left, right = advise(request).values()
    assert left.headline == right.headline
    assert len(left.reasons) == len(right.reasons) == 2


def test_each_lane_of_a_pair_has_its_own_answer(fresh_line: Line) -> None:
    film = made_up_film()
    lanes = (
        LaneState(lane_id="5", pair_id="5-6", film_um=film, traffic=tuple(thrown(fresh_line, 90))),
        LaneState(lane_id="6", pair_id="5-6", film_um=film),
        LaneState(lane_id="9", pair_id="9-10", film_um=film, advise=False),
    )
    answers = advise(request_on(fresh_line, lanes=lanes))
    assert set(answers) == {"5", "6"}
    burned, fresh = answers["5"].now, answers["6"].now
    assert burned is not None and fresh is not None
    assert burned.mean_offset_boards < fresh.mean_offset_boards - 0.5


def test_progress_rises_to_one_and_cancelling_stops_the_work(fresh_line: Line) -> None:
    seen: list[float] = []
    advise(request_on(fresh_line), progress=seen.append)
    assert seen == sorted(seen) and seen[-1] == 1.0 and len(seen) > 5
    asked: list[int] = []

    def cancelled() -> bool:
        asked.append(1)
        return len(asked) > 3

    with pytest.raises(AdviceCancelled):
        advise(request_on(fresh_line), cancelled=cancelled)
    assert len(asked) == 4


def _lane(**changes: object) -> LaneState:
    film: np.ndarray = changes.pop("film", made_up_film())  # type: ignore[assignment]
    return LaneState(lane_id="5", pair_id="5-6", film_um=film, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: _lane(film=np.zeros((61, 38))), "lane.film_um"),
        (lambda: _lane(film=np.full((61, 39), -0.1)), "lane.film_um"),
        (lambda: _lane(film=np.full((61, 39), np.nan)), "lane.film_um"),
        (lambda: _lane(sheet_trust="rumour"), "lane.sheet_trust"),
        (lambda: logged("5", GOOD_LINE, 25.0, 0), "shot.offset_boards"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_left=1024), "shot.pins_left"),
        (lambda: logged("5", GOOD_LINE, None, 0, speed_mph=float("nan")), "shot.speed_mph"),
        (lambda: request_on(GOOD_LINE, hand="both"), "hand"),
        (lambda: request_on(GOOD_LINE, objective="glory"), "objective"),
        (lambda: logged("5", GOOD_LINE, None, 0, speed_mph=41.0), "shot.speed_mph"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_left=-1), "shot.pins_left"),
        (lambda: logged("5", GOOD_LINE, None, 0, breakpoint_board=40.0), "shot.breakpoint_board"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_fallen=11), "shot.pins_fallen"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_fallen=-1), "shot.pins_fallen"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_fallen=7.5), "shot.pins_fallen"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_fallen=True), "shot.pins_fallen"),
        (lambda: logged("5", GOOD_LINE, None, 0, pins_left=0b11, pins_fallen=9), "shot.pins_fallen"),
        (lambda: request_on(GOOD_LINE, gap_boards=-6.0), "gap_boards"),
        (lambda: request_on(GOOD_LINE, drift_boards=21.0), "drift_boards"),
        (lambda: request_on(GOOD_LINE, balls=(BALLS[0], BALLS[0])), "balls"),
        (lambda: request_on(GOOD_LINE, current_ball_id="9"), "current_ball_id"),
        (lambda: request_on(GOOD_LINE, current_release="hook"), "current_release"),
        (lambda: request_on(GOOD_LINE, shots=(logged("4", GOOD_LINE, 2.0, 0),)), "shot.lane_id"),
        (lambda: request_on(GOOD_LINE, shots=(logged("5", GOOD_LINE, 2.0, 1),)), "shot.passes_before"),
        (
            lambda: TrafficPass(hand="right", spec=SOLID, release=STRIKE, line=GOOD_LINE, count=0),
            "traffic.count",
        ),
        (lambda: FieldTraffic(right_bowlers=-1.0, left_bowlers=0.0, games=1.0), "field.right_bowlers"),
    ],
)
def test_bad_input_names_the_field_and_what_is_allowed(make: object, field: str) -> None:
    with pytest.raises(MotionError) as raised:
        make()  # type: ignore[operator]
    assert raised.value.field == field
    assert raised.value.allowed


def test_what_a_bowler_may_enter_is_accepted_to_its_ends() -> None:
    # The pages' own limits: gap -5 to 20, drift -20 to 20, speeds from 5 to 40 mph.
    for gap, drift in ((-5.0, -20.0), (20.0, 20.0)):
        assert request_on(GOOD_LINE, gap_boards=gap, drift_boards=drift).gap_boards == gap
    assert logged("5", GOOD_LINE, None, 0, speed_mph=40.0).speed_mph == 40.0


def test_a_request_keeps_its_own_copy_of_a_film() -> None:
    film = made_up_film()
    lane = LaneState(lane_id="5", pair_id="5-6", film_um=film)
    film[:] = 0.0
    assert lane.film_um is not None and lane.film_um.max() > 1.0
    with pytest.raises(ValueError, match="read-only"):
        lane.film_um[0, 0] = 9.0


def test_a_request_is_recognised_by_its_content(burned: AdviceRequest) -> None:
    assert burned.digest() == replace(burned).digest()
    assert burned.digest() != replace(burned, objective="floor").digest()


def test_releases_not_offered_are_known_but_never_advised(fresh_line: Line) -> None:
    flatter = replace(STRIKE, axis_rotation_deg=25.0)
    releases = (
        NamedRelease(name="strike", spec=STRIKE),
        NamedRelease(name="spare", spec=flatter, offered=False),
    )
    answer = only(request_on(fresh_line, releases=releases, balls=BALLS[:1]))
    assert {item.release_name for item in answer.alternatives} <= {"strike"}
