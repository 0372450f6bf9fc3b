"""Events with their rules, blocks, bags, practice, and lanes dressed or not."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from arsenal.edits import StaleEdit
from motion.leaves import mask_of
from patterns.models import PatternVersion
from sessions import record
from sessions.models import (
    Block,
    BlockEntry,
    Dressing,
    Event,
    GameLine,
    House,
    NotDressed,
    OwedAdvice,
    PracticeWindow,
)
from tests.conftest import make_ball
from tests.sessions.conftest import Scene, make_sheet


def new_event(scene: Scene, **more: Any) -> Event:
    given = {
        "team": scene.cast.team,
        "house": scene.house,
        "name": "Otter Cup",
        "starts_on": date(2026, 7, 1),
        "ends_on": date(2026, 7, 2),
        **more,
    }
    return Event(**given)


def wanted(entry: BlockEntry) -> int:
    return sum(OwedAdvice.objects.filter(entry=entry).values_list("wanted", flat=True))


def messages(error: pytest.ExceptionInfo[ValidationError]) -> dict[str, list[str]]:
    return error.value.message_dict


# --- events -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "field", "text"),
    [
        ({"ends_on": date(2026, 6, 1)}, "ends_on", "Last day 2026-06-01 is not allowed: 2026-07-01"),
        ({"max_balls": 99}, "max_balls", "Balls allowed 99 is not allowed: 1 to 40, whole numbers."),
        ({"right_handed_share": 1.2}, "right_handed_share", "1.2 is not allowed: 0 to 1."),
        ({"others_per_pair": 30}, "others_per_pair", "30 is not allowed: 0 to 20"),
        ({"time_zone": "Moon/Sea"}, "time_zone", "Time zone “Moon/Sea” is not known"),
        ({"rules_confirmed_on": date(2999, 1, 1)}, "rules_confirmed_on", "Confirmed on 2999-01-01"),
    ],
)
def test_an_event_that_cannot_be_names_field_value_and_range(
    scene: Scene, given: dict[str, Any], field: str, text: str
) -> None:
    before = Event.objects.count()
    with pytest.raises(ValidationError) as error:
        record.save_event(new_event(scene, **given), {}, by=scene.cast.bo)
    assert text in messages(error)[field][0]
    assert Event.objects.count() == before


def test_an_event_in_another_teams_house_is_refused(scene: Scene) -> None:
    event = new_event(scene, house=scene.other_block.event.house)
    with pytest.raises(ValidationError) as error:
        record.save_event(event, {}, by=scene.cast.bo)
    assert "house" in messages(error)


def test_windows_not_named_are_unset(scene: Scene) -> None:
    allowed = record.WindowRule(allowed=True, by_machine=True, where="pro shop")
    event, new = record.save_event(new_event(scene), {"before_event": allowed}, by=scene.cast.bo)
    assert new
    record.save_event(
        event, {"between_rounds": record.WindowRule(allowed=False)}, by=scene.cast.bo, expected_version=1
    )
    assert [(w.kind, w.allowed) for w in event.windows.all()] == [("between_rounds", False)]


def test_a_change_of_rules_owes_advice_to_everyone_in_the_event(scene: Scene) -> None:
    scene.log()
    before = wanted(scene.entry)
    record.save_event(scene.event, {}, by=scene.cast.coach, expected_version=1)
    assert wanted(scene.entry) == before + 1


def test_a_stale_edit_of_an_event_is_refused_and_names_who(scene: Scene) -> None:
    mine, theirs = Event.objects.get(pk=scene.event.pk), Event.objects.get(pk=scene.event.pk)
    theirs.name = "Otter Open"
    record.save_event(theirs, None, by=scene.cast.coach, expected_version=1)
    with pytest.raises(StaleEdit, match="Ada changed this event"):
        record.save_event(mine, {}, by=scene.cast.bo, expected_version=1)
    mine.refresh_from_db()
    assert mine.name == "Otter Open"


def test_fewer_balls_than_somebody_carries_is_refused_by_name(scene: Scene) -> None:
    scene.event.max_balls = 1
    with pytest.raises(ValidationError) as error:
        record.save_event(scene.event, None, by=scene.cast.coach, expected_version=1)
    assert "Bo Aldwin carries 2 in Squad A" in messages(error)["max_balls"][0]


# --- blocks and entries -----------------------------------------------------------------------------


def test_a_block_on_another_teams_pattern_is_refused(scene: Scene) -> None:
    block = Block(
        event=scene.event,
        name="Squad B",
        starts_at=timezone.now(),
        pattern_version=make_sheet(scene.cast.other_team),
    )
    with pytest.raises(ValidationError) as error:
        record.save_block(block, by=scene.cast.bo)
    assert "pattern_version" in messages(error)


def test_a_block_never_has_fewer_games_than_were_begun(scene: Scene) -> None:
    scene.log(game_number=2)
    scene.block.games_planned = 1
    with pytest.raises(ValidationError) as error:
        record.save_block(scene.block, by=scene.cast.bo, expected_version=1)
    assert messages(error)["games_planned"] == ["Number of games 1 is too few: 2 are begun."]


def other_sheet(scene: Scene) -> PatternVersion:
    sheet = scene.version
    return PatternVersion.objects.create(
        pattern=sheet.pattern, number=2, length_ft=42.0, distances_ft=[0.0, 42.0], oil=sheet.oil
    )


@pytest.mark.parametrize("bowled", ["a shot", "a line", "a practice shot"])
def test_the_sheet_of_a_block_stays_once_something_was_thrown_on_it(scene: Scene, bowled: str) -> None:
    if bowled == "a shot":
        scene.log()
    elif bowled == "a line":
        type_line(scene)
    else:
        practise(scene, begin_practice(scene), [])
    Block.objects.update(version=1)
    scene.block.pattern_version = other_sheet(scene)
    with pytest.raises(ValidationError) as error:
        record.save_block(scene.block, by=scene.cast.bo, expected_version=1)
    assert messages(error)["pattern_version"] == [
        "Pattern Otter Slide v2 is not allowed: shots of this block are logged on Otter Slide v1. If the "
        "lanes had another sheet, log that they were dressed with it before Squad A."
    ]
    assert Block.objects.get(pk=scene.block.pk).pattern_version == scene.version


def test_the_sheet_of_a_block_changes_while_nothing_thrown_counts(scene: Scene) -> None:
    record.undo_shot(scene.log(), by=scene.cast.bo)
    scene.block.pattern_version = other_sheet(scene)
    record.save_block(scene.block, by=scene.cast.bo, expected_version=1)
    assert Block.objects.get(pk=scene.block.pk).pattern_version.number == 2


def test_a_ball_named_twice_in_a_bag_is_refused_by_name(scene: Scene) -> None:
    twice = [scene.cast.lin_ball, scene.cast.lin_ball]
    given: dict[str, Any] = {"objective": "floor", "balls": twice, "by": scene.cast.lin}
    with pytest.raises(ValidationError) as error:
        record.save_entry(scene.lin_entry, expected_version=1, **given)
    assert messages(error)["balls"] == ["Ball “Moss Bell” is named twice: each ball once."]
    scene.lin_entry.delete()
    with pytest.raises(ValidationError) as error:
        record.enter_bowler(scene.block, scene.cast.lin_bowler, uid=uuid.uuid4(), **given)
    assert messages(error)["balls"] == ["Ball “Moss Bell” is named twice: each ball once."]
    assert not BlockEntry.objects.filter(bowler=scene.cast.lin_bowler).exists()


def test_a_bowler_is_in_a_block_once_and_the_same_submission_finds_the_entry(scene: Scene) -> None:
    uid = uuid.uuid4()
    scene.lin_entry.delete()
    given: dict[str, Any] = {"objective": "score", "balls": [scene.cast.lin_ball], "by": scene.cast.lin}
    first, new = record.enter_bowler(scene.block, scene.cast.lin_bowler, uid=uid, **given)
    again, new_again = record.enter_bowler(scene.block, scene.cast.lin_bowler, uid=uid, **given)
    assert (new, new_again, first.pk) == (True, False, again.pk)
    with pytest.raises(ValidationError) as error:
        record.enter_bowler(scene.block, scene.cast.lin_bowler, uid=uuid.uuid4(), **given)
    assert messages(error)["bowler"] == ["Lin Teasel is already in this block: once each."]


def test_a_bag_holds_own_balls_up_to_the_limit(scene: Scene) -> None:
    third = make_ball(scene.cast.bo_bowler, "Third")
    Event.objects.filter(pk=scene.event.pk).update(max_balls=2)
    entry = BlockEntry.objects.get(pk=scene.entry.pk)
    given: dict[str, Any] = {"objective": "floor", "by": scene.cast.bo, "expected_version": 1}
    with pytest.raises(ValidationError) as error:
        record.save_entry(entry, balls=[scene.cast.bo_ball, scene.spare_ball, third], **given)
    assert messages(error)["balls"] == ["A bag of 3 balls is not allowed: this event allows 2."]
    with pytest.raises(ValidationError) as error:
        record.save_entry(entry, balls=[scene.cast.lin_ball], **given)
    assert "not one of Bo Aldwin's balls" in messages(error)["balls"][0]
    assert BlockEntry.objects.get(pk=entry.pk).version == 1, "nothing is half saved"


def test_a_ball_thrown_in_the_block_is_put_away_not_taken_out(scene: Scene) -> None:
    scene.log()
    with pytest.raises(ValidationError) as error:
        record.save_entry(
            scene.entry,
            objective="floor",
            balls=[scene.spare_ball],
            by=scene.cast.bo,
            expected_version=1,
        )
    assert "put it away instead" in messages(error)["balls"][0]
    before = wanted(scene.entry)
    assert record.put_away(scene.entry, scene.cast.bo_ball, True).put_away
    assert wanted(scene.entry) == before + 1
    record.put_away(scene.entry, scene.cast.bo_ball, True)
    assert wanted(scene.entry) == before + 1, "nothing changed, so nothing is owed"


def type_line(scene: Scene) -> GameLine:
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    return record.log_line(
        scene.entry, 1, notation="X", stretches=[row], bowled_at=None, by=scene.cast.bo, uid=uuid.uuid4()
    ).line


def test_a_ball_of_a_typed_game_was_thrown_too(scene: Scene) -> None:
    type_line(scene)
    given: dict[str, Any] = {"objective": "floor", "by": scene.cast.bo, "expected_version": 1}
    with pytest.raises(ValidationError) as error:
        record.save_entry(scene.entry, balls=[scene.spare_ball], **given)
    assert messages(error)["balls"] == ["Ball “Grey Kettle” was thrown in this block: put it away instead."]
    record.save_entry(scene.entry, balls=[scene.cast.bo_ball], **given)


# --- practice ---------------------------------------------------------------------------------------


def begin_practice(scene: Scene, **more: Any) -> PracticeWindow:
    given = {"kind": "warm_up", "lane": scene.lane(6), "started_at": None, "uid": uuid.uuid4(), **more}
    return record.open_practice(scene.entry, **given)[0]


def practise(scene: Scene, practice: PracticeWindow, left: list[int], **more: Any) -> Any:
    place = {name: more.pop(name) for name in ("at_pins_left", "throw_number") if name in more}
    facts = record.ShotFacts(ball=scene.cast.bo_ball, pins_left=left, **more)
    return record.log_practice_shot(practice, facts, by=scene.cast.bo, uid=uuid.uuid4(), **place).shot


def test_practice_shots_count_up_belong_to_no_game_and_owe_advice(scene: Scene) -> None:
    practice = begin_practice(scene)
    shots = [practise(scene, practice, [10], lane=scene.lane(6)), practise(scene, practice, [])]
    assert [(s.game, s.frame_number, s.throw_number, s.lane.number) for s in shots] == [
        (None, 0, 1, 6),
        (None, 0, 2, 6),
    ]
    assert OwedAdvice.objects.filter(entry=scene.entry).exists()


def test_a_practice_throw_that_somebody_else_logged_is_not_logged_again(scene: Scene) -> None:
    practice = begin_practice(scene)
    practise(scene, practice, [10], throw_number=1)
    with pytest.raises(ValidationError) as error:
        practise(scene, practice, [10], throw_number=1)
    assert messages(error)["throw_number"] == ["Throw 1 was logged meanwhile (10 pin). Next is throw 2."]
    with pytest.raises(ValidationError) as error:
        practise(scene, practice, [], throw_number=7)
    assert messages(error)["throw_number"] == ["Throw 7 is not the next one. Next is throw 2."]
    with pytest.raises(ValidationError) as error:
        practise(scene, practice, [], throw_number=0)
    assert messages(error)["throw_number"] == ["Throw 0 is not allowed: 1 to 1000, whole numbers."]
    assert practice.shots.count() == 1
    second = practise(scene, practice, [], throw_number=2)
    record.undo_shot(second, by=scene.cast.bo)
    assert practise(scene, practice, [], throw_number=2).throw_number == 2


def test_practice_at_the_pins_left(scene: Scene) -> None:
    practice = begin_practice(scene)
    practise(scene, practice, [3, 6, 10])
    assert practise(scene, practice, [6], at_pins_left=True).pins_before == mask_of([3, 6, 10])
    assert practise(scene, practice, []).pins_before == 1023


def test_undo_in_practice_is_newest_first_too(scene: Scene) -> None:
    practice = begin_practice(scene)
    first, second = practise(scene, practice, []), practise(scene, practice, [])
    with pytest.raises(ValidationError):
        record.undo_shot(first, by=scene.cast.bo)
    record.undo_shot(second, by=scene.cast.bo)
    record.undo_shot(first, by=scene.cast.bo)
    assert not practice.shots.filter(undone_at=None).exists()


def test_practice_off_its_pair_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        practise(scene, begin_practice(scene), [], lane=scene.lane(1))
    assert messages(error)["lane"] == ["Lane 1 is not allowed: 5 or 6."]


# --- houses -----------------------------------------------------------------------------------------


def dress(scene: Scene, *numbers: int, **more: Any) -> list[Dressing]:
    given = {
        "done_at": timezone.now() - timedelta(hours=1),
        "before_block": scene.block,
        "by": scene.cast.bo,
        "uid": uuid.uuid4(),
        **more,
    }
    version = given.pop("version", scene.version)
    return record.dress_lanes(scene.house, [scene.lane(n) for n in numbers], version, **given)


@pytest.mark.parametrize(
    ("lanes", "text"),
    [
        (7, "Number of lanes 7 is not allowed: an even number"),
        (0, "0 is not allowed: 2 to 200"),
        (500, "500 is not allowed"),
    ],
)
def test_lanes_come_in_pairs(scene: Scene, lanes: int, text: str) -> None:
    with pytest.raises(ValidationError) as error:
        record.save_house(House(team=scene.cast.team, name="Long Room"), lanes, by=scene.cast.bo)
    assert text in messages(error)["lanes"][0]


def test_lanes_are_only_added(scene: Scene) -> None:
    record.save_house(scene.house, 14, by=scene.cast.bo, expected_version=1)
    assert scene.house.lanes.count() == 14
    with pytest.raises(ValidationError) as error:
        record.save_house(scene.house, 8, by=scene.cast.bo, expected_version=2)
    assert messages(error)["lanes"] == ["Number of lanes 8 is not allowed: 14 to 200, whole numbers."]


def test_dressing_the_same_lanes_by_the_same_submission_is_one_dressing_each(scene: Scene) -> None:
    uid = uuid.uuid4()
    dress(scene, 5, 6, uid=uid)
    dress(scene, 5, 6, uid=uid)
    assert Dressing.objects.count() == 2


def test_dressing_owes_advice_to_whoever_is_on_the_lane(scene: Scene) -> None:
    scene.log()
    before = wanted(scene.entry)
    dress(scene, 5)
    assert wanted(scene.entry) == before + 1
    dress(scene, 11)
    assert wanted(scene.entry) == before + 1


def test_a_dressing_in_the_future_or_with_a_foreign_sheet_is_refused(scene: Scene) -> None:
    with pytest.raises(ValidationError) as error:
        dress(
            scene, 5, 6, done_at=timezone.now() + timedelta(days=1), version=make_sheet(scene.cast.other_team)
        )
    assert set(messages(error)) == {"done_at", "pattern_version"}
    assert not Dressing.objects.exists()


def test_a_dressing_by_a_clock_that_runs_ahead_counts_from_now(scene: Scene) -> None:
    (dressing,) = dress(scene, 5, done_at=timezone.now() + timedelta(minutes=4))
    assert Dressing.objects.get(pk=dressing.pk).done_at <= timezone.now()


def test_lanes_of_another_house_are_refused(scene: Scene) -> None:
    strange = scene.other_block.event.house.lanes.first()
    assert strange is not None
    with pytest.raises(ValidationError) as error:
        record.dress_lanes(
            scene.house,
            [strange],
            scene.version,
            done_at=timezone.now(),
            before_block=None,
            by=scene.cast.bo,
            uid=uuid.uuid4(),
        )
    assert "lanes" in messages(error)


def test_known_not_dressed_gives_way_to_a_dressing_and_not_the_other_way_round(scene: Scene) -> None:
    lanes = [scene.lane(5), scene.lane(6)]
    record.leave_undressed(lanes, scene.block, by=scene.cast.bo)
    record.leave_undressed(lanes, scene.block, by=scene.cast.bo)
    assert NotDressed.objects.count() == 2
    dress(scene, 5)
    assert [row.lane.number for row in NotDressed.objects.all()] == [6]
    with pytest.raises(ValidationError) as error:
        record.leave_undressed(lanes, scene.block, by=scene.cast.bo)
    assert messages(error)["lanes"] == ["Lane 5 was dressed before Squad A. Undo that first."]


def test_an_undone_dressing_counts_no_more_and_stays_in_the_record(scene: Scene) -> None:
    (dressing,) = dress(scene, 5)
    record.undo_dressing(dressing)
    record.undo_dressing(dressing)
    assert not Dressing.objects.exists() and Dressing.with_undone.count() == 1


def test_taking_a_dressing_back_twice_is_once_on_the_page_and_in_the_api(scene: Scene) -> None:
    on_page, in_api = dress(scene, 5, 6)
    bo, guest, outsider = (
        scene.cast.client(p) for p in (scene.cast.bo, scene.cast.guest, scene.cast.outsider)
    )
    for dressing, address, code in (
        (on_page, reverse("dressing-undo", args=[on_page.uuid]), 302),
        (in_api, f"/api/dressings/{in_api.uuid}/undo/", 200),
    ):
        before = wanted(scene.entry)
        assert [bo.post(address).status_code for _ in range(2)] == [code, code]
        first = Dressing.with_undone.get(pk=dressing.pk).undone_at
        assert first is not None and wanted(scene.entry) == before + 1
        assert [client.post(address).status_code for client in (guest, outsider)] == [404, 404]
    assert bo.post("/api/dressings/nonsense/undo/").status_code == 404


def test_a_house_was_last_dressed_when_it_was_and_not_when_somebody_erred(scene: Scene) -> None:
    (true,) = dress(scene, 5, done_at=timezone.now() - timedelta(days=3))
    (slip,) = dress(scene, 5)
    record.undo_dressing(slip)
    answer = scene.cast.client(scene.cast.bo).get(reverse("houses"))
    assert [house.last_dressed for house in answer.context["houses"]] == [true.done_at]


def test_the_event_of_another_team_answers_a_taken_uuid_like_nothing(scene: Scene) -> None:
    event = new_event(scene)
    event.uuid = scene.other_block.event.uuid
    with pytest.raises(Http404):
        record.save_event(event, {}, by=scene.cast.bo)


def test_a_dressing_undone_and_sent_again_stays_undone(scene: Scene) -> None:
    uid, cast = uuid.uuid4(), scene.cast
    client, address = cast.client(cast.bo), reverse("house-dress", args=[scene.house.uuid])
    data = {"uuid": str(uid), "what": "dressed", "lanes": ["5"], "done_at": "2026-06-06T08:00"}
    data |= {"pattern_version": str(scene.version.pk)}
    assert client.post(address, data).status_code == 302
    record.undo_dressing(Dressing.objects.get())
    assert client.post(address, data).status_code == 302
    assert not Dressing.objects.exists() and Dressing.with_undone.count() == 1
