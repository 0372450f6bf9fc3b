"""Who is owed advice besides those on the lane: when the event moves on, and when the field is assumed on."""

import uuid
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from sessions import jobs, record
from sessions.models import Block, BlockEntry, Event, EventWindow, OwedAdvice, PairVisit
from sessions.surface_windows import moment_now, windows_of
from tests.sessions.conftest import Scene


@pytest.fixture
def apart(scene: Scene) -> Scene:
    """Lin bowls on lanes 9 and 10, away from Bo, and is owed nothing yet."""
    lanes = {lane.number: lane for lane in scene.house.lanes.all()}
    PairVisit.objects.filter(entry=scene.lin_entry).update(left_lane=lanes[9], right_lane=lanes[10])
    return scene


def wanted(entry: BlockEntry) -> int:
    return sum(OwedAdvice.objects.filter(entry=entry).values_list("wanted", flat=True))


def practise(scene: Scene, kind: str) -> None:
    record.open_practice(scene.entry, kind=kind, lane=scene.lane(5), started_at=None, uid=uuid.uuid4())


def type_line(scene: Scene, notation: str) -> Any:
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    given: dict[str, Any] = {"stretches": [row], "bowled_at": None, "by": scene.cast.bo}
    return record.log_line(scene.entry, 1, notation=notation, uid=uuid.uuid4(), **given).line


# --- the moment -------------------------------------------------------------------------------------


def test_the_first_shot_of_a_block_makes_everybodys_advice_stale_and_the_second_does_not(
    apart: Scene,
) -> None:
    """No surface may be altered once scoring has begun, wherever in the house somebody bowls."""
    EventWindow.objects.create(event=apart.event, kind="before_event", allowed=True)
    before = windows_of(apart.lin_entry, moment_now(apart.lin_entry))
    apart.log()
    after = windows_of(apart.lin_entry, moment_now(apart.lin_entry))
    assert [window.upcoming for window in (*(before or ()), *(after or ()))] == [True, False]
    assert wanted(apart.lin_entry) == 1
    apart.log()
    assert wanted(apart.lin_entry) == 1


def test_with_the_first_shot_taken_back_the_moment_is_the_earlier_one_again(apart: Scene) -> None:
    shot = apart.log()
    record.undo_shot(shot, by=apart.cast.bo)
    record.undo_shot(shot, by=apart.cast.bo)
    assert wanted(apart.lin_entry) == 2


def test_a_typed_game_begins_the_scoring_as_well(apart: Scene) -> None:
    line = type_line(apart, "X")
    assert wanted(apart.lin_entry) == 1
    record.undo_line(line)
    assert wanted(apart.lin_entry) == 2


def test_official_practice_moves_the_event_on_and_a_warm_up_does_not(apart: Scene) -> None:
    practise(apart, "warm_up")
    assert wanted(apart.lin_entry) == 0
    practise(apart, "official_practice")
    assert wanted(apart.lin_entry) == 1
    practise(apart, "official_practice")
    assert wanted(apart.lin_entry) == 1


def test_a_shot_that_is_refused_owes_nobody(apart: Scene) -> None:
    with pytest.raises(ValidationError):
        apart.log(ball=apart.cast.lin_ball)
    assert not OwedAdvice.objects.exists()


def test_a_later_block_gives_everybody_a_time_between_rounds(apart: Scene) -> None:
    uid = uuid.uuid4()
    for _ in range(2):
        later = Block(
            uuid=uid,
            event=apart.event,
            name="Squad B",
            starts_at=timezone.now(),
            pattern_version=apart.version,
        )
        record.save_block(later, by=apart.cast.coach)
        assert wanted(apart.lin_entry) == 1, "the same submission again is no other block"


# --- the field --------------------------------------------------------------------------------------


def test_half_a_game_of_the_team_wears_every_pair_of_the_house_for_everyone(apart: Scene) -> None:
    apart.log_strikes(4)
    assert wanted(apart.lin_entry) == 1, "the moment alone"
    apart.log()
    assert wanted(apart.lin_entry) == 2
    apart.log_strikes(4)
    assert wanted(apart.lin_entry) == 2
    apart.log()
    assert wanted(apart.lin_entry) == 3


def test_whoever_comes_to_the_half_later_adds_nothing(apart: Scene) -> None:
    apart.log_strikes(5)
    before = wanted(apart.entry)
    for _ in range(5):
        facts = record.ShotFacts(ball=apart.cast.lin_ball, pins_left=[])
        record.log_shot(apart.lin_entry, facts, by=apart.cast.lin, uid=uuid.uuid4())
    assert wanted(apart.entry) == before


def test_a_mark_that_is_taken_back_is_taken_back_for_everyone(apart: Scene) -> None:
    apart.log_strikes(4)
    fifth = apart.log()
    before = wanted(apart.lin_entry)
    record.undo_shot(fifth, by=apart.cast.bo)
    assert wanted(apart.lin_entry) == before + 1


def test_a_typed_game_brings_both_halves_at_once(apart: Scene) -> None:
    apart.log()
    record.undo_shot(apart.entry.shots.get(), by=apart.cast.bo)
    before = wanted(apart.lin_entry)
    type_line(apart, "X X X X X X X X X X X X")
    assert wanted(apart.lin_entry) == before + 1


def test_without_others_beside_the_team_no_pair_wears_from_afar(apart: Scene) -> None:
    apart.event.others_per_pair = 0
    apart.event.save()
    apart.entry.refresh_from_db()
    apart.log_strikes(6)
    assert wanted(apart.lin_entry) == 1, "the moment alone"


def test_another_field_beside_the_team_concerns_every_event_of_the_house(apart: Scene) -> None:
    """The lanes carry what every event in the house has brought; the house of another team is another."""
    events = {"team": apart.cast.team, "house": apart.house, "starts_on": apart.event.starts_on}
    second = Event.objects.create(name="Otter League", ends_on=apart.event.ends_on, **events)
    Block.objects.filter(pk=apart.block.pk).update(event=second)
    apart.event.others_per_pair = 9
    record.save_event(apart.event, None, by=apart.cast.coach, expected_version=1)
    assert (wanted(apart.entry), wanted(apart.lin_entry), wanted(apart.other_entry)) == (1, 1, 0)


# --- once, in order ---------------------------------------------------------------------------------


def test_moving_a_game_owes_each_bowler_once_and_in_the_order_of_all_writers(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene.log()
    raised: list[tuple[int, int]] = []
    really = jobs._raise_wanted

    def noted(entry_id: int, left: int, right: int) -> int:
        raised.append((entry_id, left))
        return really(entry_id, left, right)

    monkeypatch.setattr(jobs, "_raise_wanted", noted)
    record.set_pair(scene.entry, 1, lane=scene.lane(9), starts_on_left=True)
    assert len(raised) >= 3
    assert raised == sorted(set(raised))


def test_the_cost_of_a_shot_does_not_grow_with_the_shots(scene: Scene) -> None:
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            scene.log()
        return len(queries)

    scene.log_strikes(2)
    few = cost()
    scene.log_strikes(4)
    assert cost() <= few
