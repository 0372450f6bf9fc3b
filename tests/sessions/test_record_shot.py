"""Shots as they are logged: places, pins, lanes, and the messages for what cannot be."""

import uuid
from datetime import timedelta
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.http import Http404
from django.utils import timezone

from motion.leaves import mask_of
from motion.pocket import HIT_WORDS
from sessions import record
from sessions.models import Block, OwedAdvice, Shot
from sessions.whereabouts import where_is
from tests.conftest import make_ball
from tests.sessions.conftest import Scene


def messages(error: pytest.ExceptionInfo[ValidationError]) -> dict[str, list[str]]:
    return error.value.message_dict


def test_first_shot_begins_game_one_on_the_planned_pair(scene: Scene) -> None:
    shot = scene.log([10])
    assert (shot.game.number, shot.frame_number, shot.throw_number) == (1, 1, 1)
    assert (shot.game.left_lane.number, shot.game.right_lane.number) == (5, 6)
    assert shot.pins_left == mask_of([10])
    assert shot.entered_by == scene.cast.bo


def test_second_throw_finds_what_the_first_left(scene: Scene) -> None:
    scene.log([7, 10])
    second = scene.log([10])
    assert (second.frame_number, second.throw_number) == (1, 2)
    assert second.pins_before == mask_of([7, 10])


def test_only_ball_and_pins_must_be_known(scene: Scene) -> None:
    shot = scene.log([])
    assert shot.laydown_board is None and shot.speed_mph is None and shot.hit_word == ""


def test_pins_may_be_told_as_those_that_fell(scene: Scene) -> None:
    assert scene.log(pins_down=[1, 2, 3]).pins_left == mask_of([4, 5, 6, 7, 8, 9, 10])


def test_lanes_alternate_with_the_frames_and_stay_within_one(scene: Scene) -> None:
    lanes = [scene.log(left).lane.number for left in ([10], [], [], [7], [])]
    assert lanes == [5, 5, 6, 5, 5]


def test_a_game_that_starts_on_the_right_lane_goes_on_left(scene: Scene) -> None:
    record.set_pair(scene.entry, 1, lane=scene.lane(6), starts_on_left=False)
    assert [scene.log().lane.number for _ in range(3)] == [6, 5, 6]


def test_a_lane_said_apart_is_kept_and_marked(scene: Scene) -> None:
    shot = scene.log(lane=scene.lane(6))
    assert (shot.lane.number, shot.lane_corrected) == (6, True)
    assert scene.log().lane_corrected is False


def test_tenth_frame_gives_three_throws_after_a_strike_and_then_the_game_is_over(scene: Scene) -> None:
    scene.log_strikes(9)
    places = [
        (s.frame_number, s.throw_number, s.pins_before) for s in (scene.log(), scene.log([10]), scene.log())
    ]
    assert places == [(10, 1, 1023), (10, 2, 1023), (10, 3, mask_of([10]))]
    assert where_is(scene.entry).game_number == 2


def test_open_tenth_frame_ends_after_two_throws(scene: Scene) -> None:
    scene.log_strikes(9)
    scene.log([7, 10])
    scene.log([10])
    assert where_is(scene.entry).game_number == 2


def test_next_game_goes_to_the_next_pair_of_the_plan(scene: Scene) -> None:
    scene.log_strikes(12)
    assert scene.log().game.left_lane.number == 7


def test_eleventh_frame_is_refused_by_name(scene: Scene) -> None:
    scene.log_strikes(12)
    with pytest.raises(ValidationError) as error:
        scene.log(game_number=1)
    assert messages(error) == {
        "frame_number": ["Frame 11 is not allowed: a game has 10 frames, and game 1 is finished."]
    }
    with pytest.raises(ValidationError) as error:
        scene.log(game_number=2, frame_number=11)
    assert messages(error)["frame_number"] == ["Frame 11 is not allowed: 1 to 10, whole numbers."]


def test_after_a_foul_the_same_pins_are_set_again(scene: Scene) -> None:
    scene.log([10], foul=True)
    second = scene.log()
    assert (second.throw_number, second.pins_before) == (2, 1023)


@pytest.mark.parametrize(
    ("facts", "field", "text"),
    [
        ({"pins_left": [11]}, "pins_left", "Pin 11 is not allowed: pins are 1 to 10."),
        ({"pins_left": [0]}, "pins_left", "Pin 0 is not allowed: pins are 1 to 10."),
        ({"pins_left": list(range(1, 12))}, "pins_left", "Pin 11 is not allowed"),
        ({"pins_left": [7, 7]}, "pins_left", "Pin 7 is not allowed: each pin named once."),
        ({"pins_left": [7], "pins_down": [7, 8]}, "pins_left", "Pin 7 is both down and standing"),
        ({"pins_left": [7], "pins_down": [8]}, "pins_left", "either down or standing"),
        ({}, "pins_left", "Pins are missing"),
        (
            {"pins_left": [], "laydown_board": 45.0},
            "laydown_board",
            "Laydown board 45 is not allowed: 1 to 39.",
        ),
        ({"pins_left": [], "target_board": -3.0}, "target_board", "Target board -3 is not allowed: 1 to 39."),
        ({"pins_left": [], "speed_mph": 400.0}, "speed_mph", "Speed 400 mph is not allowed: 5 to 40 mph."),
        ({"pins_left": [], "speed_mph": float("nan")}, "speed_mph", "is not allowed: 5 to 40 mph."),
        ({"pins_left": [], "breakpoint_ft": 61.0}, "breakpoint_ft", "60 ft"),
        ({"pins_left": [], "hit_word": "sideways"}, "hit_word", "Hit “sideways” is not known"),
        ({"pins_left": [], "speed_read": "guess"}, "speed_read", "Speed read “guess” is not known"),
        ({"pins_left": [], "note": "x" * 301}, "note", "Note of 301 characters is too long"),
        ({"pins_left": [], "ball": None}, "ball", "Ball is missing"),
    ],
)
def test_what_cannot_be_is_refused_with_field_value_and_range(
    scene: Scene, facts: dict[str, Any], field: str, text: str
) -> None:
    facts = {"ball": scene.cast.bo_ball, **facts}
    with pytest.raises(ValidationError) as error:
        record.log_shot(scene.entry, record.ShotFacts(**facts), by=scene.cast.bo, uid=uuid.uuid4())
    assert text in messages(error)[field][0]
    assert not Shot.objects.exists() and not OwedAdvice.objects.exists(), "nothing is half saved"
    assert not scene.entry.games.exists()


def test_a_pin_that_was_down_already_cannot_stand_again(scene: Scene) -> None:
    scene.log([10])
    with pytest.raises(ValidationError) as error:
        scene.log([7])
    assert messages(error)["pins_left"] == ["Pin 7 is not allowed: only pins that stood: 10."]


def test_every_wrong_field_is_named_at_once(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log([11], laydown_board=0.0, speed_mph=99.0)
    assert set(messages(error)) == {"pins_left", "laydown_board", "speed_mph"}


def test_a_ball_of_another_bowler_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log(ball=scene.cast.lin_ball)
    assert messages(error)["ball"] == ["Ball “Moss Bell” is not allowed: it is not one of Bo Aldwin's balls."]


def test_a_ball_that_is_not_in_the_bag_is_refused_and_without_a_bag_any_own_ball_goes(scene: Scene) -> None:
    stray = make_ball(scene.cast.bo_bowler, "Left Behind")
    with pytest.raises(ValidationError) as error:
        scene.log(ball=stray)
    assert "not in the bag" in messages(error)["ball"][0]
    scene.entry.bag.all().delete()
    assert scene.log(ball=stray).ball == stray


def test_a_release_of_another_bowler_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log(release=scene.cast.lin_bowler.releases.first())
    assert "release" in messages(error)


def test_a_lane_off_the_pair_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log(lane=scene.lane(9))
    assert messages(error)["lane"] == ["Lane 9 is not allowed: 5 or 6."]


def test_a_shot_in_the_future_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log(thrown_at=timezone.now() + timedelta(hours=2))
    assert "is not allowed: now or earlier" in messages(error)["thrown_at"][0]


def test_the_same_submission_again_finds_the_first_shot(scene: Scene) -> None:
    uid = uuid.uuid4()
    first = scene.log([10], uid=uid)
    owed = OwedAdvice.objects.get(entry=scene.entry).wanted
    again = record.log_shot(
        scene.entry, record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[]), by=scene.cast.bo, uid=uid
    )
    assert (again.shot, again.created) == (first, False)
    assert Shot.objects.count() == 1
    assert OwedAdvice.objects.get(entry=scene.entry).wanted == owed


def test_a_uuid_of_another_team_is_like_a_missing_one(scene: Scene) -> None:
    uid = uuid.uuid4()
    facts = record.ShotFacts(ball=scene.cast.outsider_ball, pins_left=[])
    record.log_shot(scene.other_entry, facts, by=scene.cast.outsider, uid=uid)
    with pytest.raises(Http404):
        scene.log(uid=uid)


def test_two_people_logging_the_same_delivery_leave_one_shot(scene: Scene) -> None:
    scene.log([10], game_number=1, frame_number=1, throw_number=1)
    with pytest.raises(ValidationError) as error:
        scene.log([10], game_number=1, frame_number=1, throw_number=1, by=scene.cast.coach)
    assert messages(error)["frame_number"] == [
        "Frame 1, throw 1 was logged meanwhile (10 pin). Next is frame 1, throw 2."
    ]
    assert Shot.objects.count() == 1


def test_a_game_without_a_pair_asks_for_one(scene: Scene) -> None:
    scene.entry.visits.all().delete()
    with pytest.raises(ValidationError) as error:
        scene.log()
    assert messages(error)["game_number"] == ["Game 1 has no pair yet: choose the pair first."]


def test_a_game_beyond_the_block_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        scene.log(game_number=4)
    assert messages(error)["game_number"] == ["Game 4 is not allowed: 1 to 3 here."]


def test_the_first_shot_opens_a_planned_block_and_owes_advice(scene: Scene) -> None:
    Block.objects.filter(pk=scene.block.pk).update(state=Block.State.PLANNED)
    shot = scene.log([10])
    scene.block.refresh_from_db()
    assert scene.block.state == Block.State.OPEN
    owed = OwedAdvice.objects.get(entry=scene.entry)
    assert (owed.left_lane, owed.right_lane) == (shot.game.left_lane, shot.game.right_lane)


def test_an_offset_is_stored_only_where_one_was_read(scene: Scene) -> None:
    word = next(iter(HIT_WORDS))
    assert scene.log([10], hit_word=word).offset_boards is None
    assert scene.log([], hit_word=word, offset_boards=1.25).offset_boards == 1.25


def test_stored_offsets_that_only_repeat_their_word_are_derived_ones(scene: Scene) -> None:
    derived, read, bare = scene.log([10]), scene.log([]), scene.log([10])
    Shot.objects.filter(pk=derived.pk).update(hit_word="light", offset_boards=HIT_WORDS["light"])
    Shot.objects.filter(pk=read.pk).update(hit_word="light", offset_boards=3.25)
    Shot.objects.filter(pk=bare.pk).update(offset_boards=3.5)
    migration = import_module("sessions.migrations.0002_derived_offsets")
    assert migration.OFFSETS == HIT_WORDS
    migration.forget_derived(apps, None)
    shots = [Shot.objects.get(pk=shot.pk) for shot in (derived, read, bare)]
    assert [(shot.hit_word, shot.offset_boards) for shot in shots] == [
        ("light", None),
        ("light", 3.25),
        ("", 3.5),
    ]


# --- edit and undo ----------------------------------------------------------------------------------


def edit(scene: Scene, shot: Shot, **facts: Any) -> Shot:
    facts = {"ball": scene.cast.bo_ball, **facts}
    return record.edit_shot(shot, record.ShotFacts(**facts), by=scene.cast.coach, uid=uuid.uuid4()).shot


def test_an_edit_is_a_new_shot_and_the_old_one_stays_in_the_record(scene: Scene) -> None:
    old = scene.log([10])
    new = edit(scene, old, pins_left=[10], laydown_board=20.0)
    old.refresh_from_db()
    assert old.undone_at is not None and old.undone_by == scene.cast.coach
    assert (new.replaces, new.frame_number, new.throw_number, new.lane) == (old, 1, 1, old.lane)
    assert new.thrown_at == old.thrown_at


def test_an_edit_that_makes_a_later_throw_impossible_is_refused_with_the_reason(scene: Scene) -> None:
    first = scene.log([7, 10])
    scene.log([10])
    with pytest.raises(ValidationError) as error:
        edit(scene, first, pins_left=[10])
    assert "Frame 1, throw 2 is already logged with pins 7-10 standing" in messages(error)["pins_left"][0]
    first.refresh_from_db()
    assert first.undone_at is None


def test_an_edit_to_a_strike_with_a_second_throw_logged_is_refused(scene: Scene) -> None:
    first = scene.log([], pins_left=[])  # a strike in frame 1
    gutter = scene.log(pins_down=[])
    scene.log([10])
    with pytest.raises(ValidationError) as error:
        edit(scene, gutter, pins_left=[])
    assert "Frame 2, throw 2 is already logged" in messages(error)["pins_left"][0]
    assert edit(scene, first, pins_left=[]).frame_number == 1


def test_an_edit_of_a_shot_changed_meanwhile_is_refused(scene: Scene) -> None:
    old = scene.log([10])
    edit(scene, old, pins_left=[7])
    with pytest.raises(ValidationError) as error:
        edit(scene, old, pins_left=[])
    assert "changed or undone meanwhile by Ada" in messages(error)["shot"][0]


def test_undo_takes_the_newest_and_frees_its_place(scene: Scene) -> None:
    scene.log([10])
    spare = scene.log()
    record.undo_shot(spare, by=scene.cast.bo)
    assert spare.undone_at is not None and Shot.objects.count() == 2
    again = scene.log([10])
    assert (again.frame_number, again.throw_number) == (1, 2)


def test_undo_of_an_older_shot_names_the_newest(scene: Scene) -> None:
    first = scene.log([10])
    scene.log()
    with pytest.raises(ValidationError) as error:
        record.undo_shot(first, by=scene.cast.bo)
    assert messages(error)["shot"] == [
        "Undo the newest first: frame 1, throw 2. This is frame 1, throw 1, 10 pin."
    ]


def test_undoing_twice_is_undoing_once(scene: Scene) -> None:
    scene.log()
    second = scene.log()
    record.undo_shot(second, by=scene.cast.bo)
    undone_at = Shot.objects.get(pk=second.pk).undone_at
    record.undo_shot(second, by=scene.cast.bo)
    assert Shot.objects.get(pk=second.pk).undone_at == undone_at
    assert Shot.objects.filter(undone_at=None).count() == 1


def test_undoing_back_into_the_game_before_goes_on_there(scene: Scene) -> None:
    scene.log_strikes(13)
    for _ in range(2):
        record.undo_shot(Shot.objects.filter(undone_at=None).latest("pk"), by=scene.cast.bo)
    again = scene.log([10])
    assert (again.game.number, again.frame_number, again.throw_number) == (1, 10, 3)


def test_every_write_owes_advice_in_its_own_transaction(scene: Scene) -> None:
    def wanted() -> int:
        return OwedAdvice.objects.get(entry=scene.entry).wanted

    shot = scene.log([10])
    assert wanted() == 1
    new = edit(scene, shot, pins_left=[7])
    assert wanted() == 2
    record.undo_shot(new, by=scene.cast.bo)
    assert wanted() == 3


def test_a_shot_is_news_for_a_teammate_on_the_same_pair(scene: Scene) -> None:
    scene.log([10])
    lin = OwedAdvice.objects.get(entry=scene.lin_entry)
    assert (lin.left_lane.number, lin.right_lane.number) == (5, 6)


def test_moving_a_game_to_another_pair_moves_its_shots_lane_by_lane(scene: Scene) -> None:
    scene.log()
    scene.log()
    scene.log(lane=scene.lane(6))
    record.set_pair(scene.entry, 1, lane=scene.lane(9), starts_on_left=False)
    lanes = [(shot.lane.number, shot.lane_corrected) for shot in Shot.objects.order_by("frame_number")]
    assert lanes == [(10, False), (9, False), (10, False)]
