"""Where a bowler is: every page and every write asks the same function, whatever was undone or typed."""

import uuid
from typing import Any

from django.urls import reverse

from sessions import record
from sessions.desk import open_blocks
from sessions.lane_side import LaneSide
from sessions.models import BlockEntry, Game, GameLine, OwedAdvice, Shot
from sessions.surface_windows import moment_now
from sessions.whereabouts import where_is, whereabouts
from tests.sessions.conftest import Scene


def typed(scene: Scene, notation: str, number: int = 1, **more: Any) -> GameLine:
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    given = {"stretches": [row], "bowled_at": None, "by": scene.cast.bo, "uid": uuid.uuid4(), **more}
    return record.log_line(scene.entry, number, notation=notation, **given).line


def left_lanes(scene: Scene) -> list[int]:
    numbers = {lane.pk: lane.number for lane in scene.house.lanes.all()}
    return [numbers[left] for left, _ in where_is(scene.entry).pairs]


def undo_newest(scene: Scene) -> None:
    newest = LaneSide(scene.entry).newest
    assert newest is not None
    record.undo_shot(newest, by=scene.cast.bo)


def test_undone_into_the_game_before_every_place_means_that_game(scene: Scene) -> None:
    scene.log_strikes(13)
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (2, [7])
    undo_newest(scene)
    # Game 1 is over and game 2 not begun: its pair comes first, the one just left still counts.
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (2, [7, 5])
    undo_newest(scene)
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (1, [5])
    assert Game.objects.count() == 2
    (shown,) = (row for block in open_blocks(scene.cast.bo, scene.cast.team) for row in block.entries[:1])
    assert (shown.game_number, shown.pair and shown.pair[0].number) == (1, 5)
    side = LaneSide(scene.entry)
    assert (side.number, str(side.place)) == (1, "frame 10, throw 3")
    assert scene.log().game == scene.game(1)


def test_a_tenth_frame_begun_is_not_a_game_over(scene: Scene) -> None:
    scene.log_strikes(11)
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (1, [5])
    scene.log()
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (2, [7, 5])


def test_a_line_of_a_few_frames_leaves_the_bowler_in_that_game(scene: Scene) -> None:
    typed(scene, "X 9/ 81")
    where = where_is(scene.entry)
    assert (where.game_number, where.frames_bowled, left_lanes(scene)) == (1, 3, [5])
    page = (
        scene.cast.client(scene.cast.bo).get(reverse("lane-side", args=[scene.entry.uuid])).content.decode()
    )
    assert "Type the next frames" in page
    assert "On to the game being bowled" not in page
    typed(scene, "X X X X X X X X X XXX")
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (2, [7, 5])


def test_with_everything_undone_scoring_has_not_begun(scene: Scene) -> None:
    scene.log()
    assert moment_now(scene.entry) == "in competition"
    undo_newest(scene)
    assert (where_is(scene.entry).game_number, left_lanes(scene)) == (1, [5])
    assert moment_now(scene.entry) == "before the event"


def test_the_desk_names_no_game_that_the_block_does_not_have(scene: Scene) -> None:
    typed(scene, "X X X X X X X X X XXX", number=3)
    assert where_is(scene.entry).game_number == 4
    (block,) = open_blocks(scene.cast.bo, scene.cast.team)
    assert block.entries[0].game_number == 3


def test_it_takes_a_few_queries_however_many_bowlers_and_shots(
    scene: Scene, django_assert_num_queries: Any
) -> None:
    scene.log_strikes(13)
    with django_assert_num_queries(7):
        whereabouts(BlockEntry.objects.filter(block=scene.block))


def test_advice_is_owed_where_the_bowler_is_after_an_undo(scene: Scene) -> None:
    scene.log_strikes(13)
    OwedAdvice.objects.all().delete()
    undo_newest(scene)
    undo_newest(scene)
    assert Shot.objects.filter(undone_at=None).count() == 11
    owed = OwedAdvice.objects.filter(entry=scene.entry, left_lane__number=5)
    assert owed.exists()
