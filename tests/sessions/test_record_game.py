"""Game lines, pairs and scores: a whole game typed at once, and what it counts for."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from sessions import record
from sessions.deliveries import FRAME_TAKES
from sessions.lane_side import LaneSide
from sessions.models import GameLine, OwedAdvice, PairVisit, Shot
from sessions.scores import game_score, notation_of, scored, totals_by_entry
from sessions.surface_windows import windows_of
from tests.sessions.conftest import Scene

PERFECT = "X X X X X X X X X XXX"


def type_line(scene: Scene, notation: str, number: int = 1, **more: Any) -> record.TypedLine:
    whole = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    given = {
        "stretches": [whole],
        "bowled_at": None,
        "by": scene.cast.bo,
        "uid": uuid.uuid4(),
        "notation": notation,
        **more,
    }
    return record.log_line(scene.entry, number, **given)


def refused(scene: Scene, notation: str = PERFECT, **more: Any) -> dict[str, list[str]]:
    with pytest.raises(ValidationError) as error:
        type_line(scene, notation, **more)
    assert not GameLine.objects.exists(), "nothing is half saved"
    return error.value.message_dict


def stretch(scene: Scene, first: int, last: int, **more: Any) -> record.StretchFacts:
    return record.StretchFacts(
        **{"first_frame": first, "last_frame": last, "ball": scene.cast.bo_ball, **more}
    )


def test_a_line_is_a_score_and_owes_advice(scene: Scene) -> None:
    line = type_line(scene, "x 9/ 81 7- (8)1 x x 9/ x xx9").line
    assert line.notation == "X 9/ 81 7- (8)1 X X 9/ X XX9"
    # By hand: 20, 38, 47, 54, 63, 92, 112, 132, 162, 191.
    assert game_score(line.game).total == 191
    assert OwedAdvice.objects.filter(entry=scene.entry).exists()


def test_a_coach_types_it_and_is_named(scene: Scene) -> None:
    assert type_line(scene, PERFECT, by=scene.cast.coach).line.entered_by == scene.cast.coach


def test_stretches_keep_ball_and_line(scene: Scene) -> None:
    rows = [
        stretch(scene, 1, 4, laydown_board=20.0, target_board=12.0),
        stretch(scene, 5, 10, ball=scene.spare_ball),
    ]
    line = type_line(scene, PERFECT, stretches=rows).line
    kept = [(s.first_frame, s.last_frame, s.ball.name, s.laydown_board) for s in line.stretches.all()]
    assert kept == [(1, 4, "Grey Kettle", 20.0), (5, 10, "Plain Pebble", None)]


@pytest.mark.parametrize(
    ("notation", "text"),
    [
        ("X 9/ 85", "Frame 3 “5” is not allowed: 0 to 2 pins"),
        ("X Q", "Frame 2 “Q” is not allowed"),
        (PERFECT + " X", "Frame 11 “X” is not allowed: a game has 10 frames."),
        ("", "Frames are missing"),
        ("/", "Frame 1 “/” is not allowed"),
    ],
)
def test_wrong_notation_names_the_frame(scene: Scene, notation: str, text: str) -> None:
    assert text in refused(scene, notation)["notation"][0]


def test_every_frame_has_one_ball(scene: Scene) -> None:
    gap = refused(scene, stretches=[stretch(scene, 1, 4), stretch(scene, 6, 10)])
    assert gap["stretches"] == ["Frame 5 has no ball: the stretches cover every frame bowled."]
    twice = refused(scene, stretches=[stretch(scene, 1, 5), stretch(scene, 5, 10)])
    assert twice["stretches"] == ["Frame 5 is in two stretches: each frame has one ball."]
    backwards = refused(scene, stretches=[stretch(scene, 4, 1)])
    assert backwards["stretch_1_last_frame"] == ["Last frame 1 is not allowed: 4, the first, to 10."]


def test_a_ball_of_another_bowler_in_a_stretch_is_refused_by_row(scene: Scene) -> None:
    rows = [stretch(scene, 1, 4), stretch(scene, 5, 10, ball=scene.cast.lin_ball)]
    assert "Moss Bell" in refused(scene, stretches=rows)["stretch_2_ball"][0]


def test_numbers_of_a_stretch_name_row_value_and_range(scene: Scene) -> None:
    rows = [stretch(scene, 1, 11, laydown_board=77.0)]
    found = refused(scene, stretches=rows)
    assert found["stretch_1_last_frame"] == ["Last frame 11 is not allowed: 1 to 10, whole numbers."]
    assert found["stretch_1_laydown_board"] == ["Laydown board 77 is not allowed: 1 to 39."]


def test_a_game_bowled_in_the_future_is_refused(scene: Scene) -> None:
    found = refused(scene, bowled_at=timezone.now() + timedelta(days=1))
    assert "is not allowed: now or earlier" in found["bowled_at"][0]


def test_a_correction_is_a_new_line_and_undo_brings_the_old_one_back(scene: Scene) -> None:
    type_line(scene, PERFECT)
    second = type_line(scene, "9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/9").line
    assert GameLine.objects.count() == 2
    assert game_score(scene.game()).total == 190
    record.undo_line(second)
    record.undo_line(second)
    assert game_score(scene.game()).total == 300


def test_an_older_line_is_not_undone_before_the_newest(scene: Scene) -> None:
    first = type_line(scene, PERFECT).line
    type_line(scene, PERFECT)
    with pytest.raises(ValidationError, match="newest line"):
        record.undo_line(first)


def test_the_same_submission_again_finds_the_first_line(scene: Scene) -> None:
    uid = uuid.uuid4()
    first = type_line(scene, PERFECT, uid=uid)
    again = type_line(scene, "X", uid=uid)
    assert (again.line, again.created) == (first.line, False)


def test_a_uuid_of_another_team_is_like_a_missing_one(scene: Scene) -> None:
    uid = uuid.uuid4()
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.outsider_ball)
    record.log_line(
        scene.other_entry,
        1,
        notation="X",
        stretches=[row],
        bowled_at=None,
        by=scene.cast.outsider,
        uid=uid,
    )
    with pytest.raises(Http404):
        type_line(scene, PERFECT, uid=uid)


# --- shots or a line, never both --------------------------------------------------------------------


def test_a_line_is_refused_while_shots_count_and_says_what_to_do(scene: Scene) -> None:
    scene.log([10])
    assert refused(scene)["instead_of_shots"] == [
        "Game 1 already has 1 logged shot, and a game has shots or a line. "
        "Log the rest as shots, or say that this line takes their place."
    ]


def test_a_line_in_place_of_shots_keeps_them_in_the_record(scene: Scene) -> None:
    scene.log([10])
    type_line(scene, PERFECT, instead_of_shots=True)
    shot = Shot.objects.get()
    assert shot.undone_at is not None and shot.undone_by == scene.cast.bo
    assert scored(scene.game()).source == "line"


def test_a_line_undone_gives_the_shots_it_took_the_place_of_back(scene: Scene) -> None:
    kept, taken_back = scene.log([10]), scene.log()
    record.undo_shot(taken_back, by=scene.cast.bo)
    line = type_line(scene, PERFECT, instead_of_shots=True).line
    assert game_score(scene.game()).total == 300
    for _ in range(2):
        record.undo_line(line)
    assert [shot.pk for shot in Shot.objects.filter(undone_at=None)] == [kept.pk]
    assert str(LaneSide(scene.entry).place) == "frame 1, throw 2"
    taken_back.refresh_from_db()
    assert taken_back.undone_at is not None


def test_a_game_begun_by_a_line_began_before_it_was_over(scene: Scene) -> None:
    line = type_line(scene, "X 9/ 81").line
    assert line.bowled_at - scene.game().started_at == 3 * FRAME_TAKES


def test_a_shot_is_refused_while_a_line_counts(scene: Scene) -> None:
    line = type_line(scene, "X X").line
    with pytest.raises(ValidationError) as error:
        scene.log(game_number=1)
    assert "undo the line first" in error.value.message_dict["game_number"][0]
    record.undo_line(line)
    assert scene.log(game_number=1).frame_number == 1


def test_the_next_shot_after_a_typed_game_goes_to_the_next_game(scene: Scene) -> None:
    type_line(scene, PERFECT)
    assert scene.log().game.number == 2


# --- pairs ------------------------------------------------------------------------------------------


def lefts(scene: Scene) -> list[int]:
    return [visit.left_lane.number for visit in scene.entry.visits.order_by("game_number")]


def plan(scene: Scene, start: int, move: int, first: int = 1, last: int = 12) -> list[PairVisit]:
    return record.plan_crossing(
        scene.entry, start_lane=start, move_pairs=move, starts_on_left=True, first_lane=first, last_lane=last
    )


def test_crossing_moves_so_many_pairs_and_goes_round(scene: Scene) -> None:
    plan(scene, 9, 1)
    assert lefts(scene) == [9, 11, 1]
    plan(scene, 1, -2)
    assert lefts(scene) == [1, 9, 5]
    plan(scene, 7, 1, first=5, last=8)
    assert lefts(scene) == [7, 5, 7]


def test_planning_leaves_begun_games_where_they_are(scene: Scene) -> None:
    scene.log()
    plan(scene, 9, 0)
    assert lefts(scene) == [5, 9, 9]


def test_a_plan_outside_the_lanes_names_lane_and_range(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        plan(scene, 11, 1, first=1, last=8)
    assert error.value.message_dict["start_lane"] == [
        "Starting lane 11 is not allowed: 1 to 8, whole numbers."
    ]
    with pytest.raises(ValidationError) as error:
        plan(scene, 1, 1, first=1, last=40)
    assert error.value.message_dict["last_lane"] == [
        "Lane 40 is not allowed: Longwick Otters Bowl has lanes 1 to 12."
    ]


# --- totals -----------------------------------------------------------------------------------------


def test_totals_count_finished_games_against_200(scene: Scene) -> None:
    type_line(scene, PERFECT, number=1)
    type_line(scene, "9- 9- 9- 9- 9- 9- 9- 9- 9- 9-", number=2)
    scene.log([10], game_number=3)
    totals = totals_by_entry([scene.entry])[scene.entry.pk]
    assert (totals.total, totals.finished, totals.over_under, totals.pins_so_far) == (390, 2, -10, 390)
    assert [game.source for game in totals.games] == ["line", "line", "shots"]
    assert totals.average == 195


def test_notation_and_splits_come_from_the_pins(scene: Scene) -> None:
    scene.log([7, 10])
    scene.log([7])
    scene.log()
    assert notation_of(scene.game()) == "(8)1 X"


def test_totals_of_many_entries_take_no_more_queries_than_of_one(
    scene: Scene, django_assert_num_queries: Any
) -> None:
    type_line(scene, PERFECT)
    scene.log(game_number=2)
    with django_assert_num_queries(5):
        totals_by_entry([scene.entry])
    with django_assert_num_queries(5):
        totals_by_entry([scene.entry, scene.lin_entry, scene.other_entry])


def test_a_correction_without_a_time_keeps_that_of_the_line_it_corrects(scene: Scene) -> None:
    then = timezone.now() - timedelta(hours=3)
    type_line(scene, PERFECT, bowled_at=then)
    assert type_line(scene, "X X X X X X X X X XX9").line.bowled_at == then
    assert type_line(scene, "X X X X X X X X X XX8").line.bowled_at == then, "of a correction corrected again"
    said = then + timedelta(minutes=20)
    assert type_line(scene, PERFECT, bowled_at=said).line.bowled_at == said


def test_frames_added_to_a_line_are_of_now_and_a_line_taken_back_says_no_time(scene: Scene) -> None:
    then = timezone.now() - timedelta(hours=3)
    first = type_line(scene, "X X X", bowled_at=then).line
    assert type_line(scene, "X X X X").line.bowled_at > then + timedelta(hours=2)
    other = type_line(scene, "X X", number=2, bowled_at=then).line
    record.undo_line(other)
    assert type_line(scene, "X X", number=2).line.bowled_at > then + timedelta(hours=2)
    assert first.bowled_at == then


def test_the_api_and_the_page_keep_the_time_as_well(scene: Scene) -> None:
    then = timezone.now() - timedelta(hours=3)
    type_line(scene, PERFECT, bowled_at=then)
    client, ball = scene.cast.client(scene.cast.bo), str(scene.cast.bo_ball.uuid)
    rows = [{"ball": ball, "first_frame": 1, "last_frame": 10}]
    sent = {"entry": str(scene.entry.uuid), "game_number": 1, "notation": PERFECT, "stretches": rows}
    answer = client.post("/api/game-lines/", sent, content_type="application/json")
    assert answer.status_code == 201
    assert GameLine.objects.get(uuid=answer.json()["uuid"]).bowled_at == then
    page = reverse("game-line", args=[scene.entry.uuid, 1])
    assert "Left empty: as before, or now where frames are added." in client.get(page).content.decode()
    row = {"stretch_1_first_frame": "1", "stretch_1_last_frame": "10", "stretch_1_ball": ball}
    client.post(page, {"uuid": str(uuid.uuid4()), "notation": "X X X X X X X X X XX9", **row})
    newest = GameLine.objects.latest("pk")
    assert (newest.notation[-3:], newest.bowled_at) == ("XX9", then)


def test_what_an_event_leaves_unsaid_of_a_window_is_by_hand_only(scene: Scene) -> None:
    rule = record.WindowRule(allowed=True)
    assert (rule.by_hand, rule.by_machine) == (True, False)
    record.save_event(scene.event, {"before_event": rule}, by=scene.cast.bo, expected_version=1)
    (window,) = windows_of(scene.entry, "before the event") or ()
    assert (window.by_hand, window.by_machine) == (True, False)
    sent = {"version": 2, "windows": [{"kind": "before_event", "allowed": True}]}
    address = f"/api/events/{scene.event.uuid}/"
    answer = scene.cast.client(scene.cast.bo).patch(address, sent, content_type="application/json")
    assert answer.status_code == 200
    (window,) = windows_of(scene.entry, "before the event") or ()
    assert (window.by_hand, window.by_machine) == (True, False)
