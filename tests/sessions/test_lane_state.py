# ruff: noqa: F811  (a fixture is imported by name)
"""Which dressing a lane goes by: the one logged for the block, an assumed one, or one it runs on from."""

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from patterns.models import Pattern, PatternVersion
from sessions import record
from sessions.gather import gather
from sessions.lane_state import DressedLane, dressed_lanes
from sessions.models import Block, BlockEntry, Dressing, Game, NotDressed, OwedAdvice, PairVisit
from tests.sessions.block import MINUTE, START, OpenBlock, make_version, opened  # noqa: F401  (a fixture)

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


@pytest.fixture
def bare(opened: OpenBlock) -> OpenBlock:
    """Nothing is logged of any dressing."""
    Dressing.objects.all().delete()
    return opened


@pytest.fixture
def thistle(opened: OpenBlock) -> PatternVersion:
    return make_version(Pattern.objects.create(team=opened.cast.team, name="Thistle"), 38.0)


def dress(
    opened: OpenBlock, at: datetime, sheet: PatternVersion | None = None, block: Block | None = None
) -> Dressing:
    return Dressing.objects.create(
        lane=opened.lanes[7], done_at=at, pattern_version=sheet or opened.version, before_block=block
    )


def earlier_block(opened: OpenBlock, starts_at: datetime, sheet: PatternVersion | None = None) -> Block:
    """A block in which Bo bowled on lanes 7 and 8 before."""
    block = Block.objects.create(
        event=opened.event,
        name="Block 0",
        starts_at=starts_at,
        pattern_version=sheet or opened.version,
        state=Block.State.FINISHED,
    )
    entry = BlockEntry.objects.create(block=block, bowler=opened.cast.bo_bowler)
    Game.objects.create(
        entry=entry, number=1, left_lane=opened.lanes[7], right_lane=opened.lanes[8], started_at=starts_at
    )
    return block


def throw_in(block: Block, opened: OpenBlock) -> None:
    game = Game.objects.get(entry__block=block)
    opened.shot(game.entry, thrown_at=game.started_at + MINUTE)


def seven(opened: OpenBlock) -> DressedLane:
    lane = opened.lanes[7]
    return dressed_lanes([lane], opened.block)[lane.pk]


def test_a_dressing_on_the_day_of_the_block_is_taken_without_a_word(bare: OpenBlock) -> None:
    dressing = dress(bare, START - HOUR)
    found = seven(bare)
    assert (found.dressing, found.since, found.note) == (dressing, START - HOUR, "")


def test_a_dressing_that_names_the_block_is_taken_however_old(bare: OpenBlock) -> None:
    dressing = dress(bare, START - 2 * DAY, block=bare.block)
    assert (seven(bare).dressing, seven(bare).note) == (dressing, "")


def test_an_older_dressing_gives_way_to_the_blocks_own_sheet_and_it_is_said(
    bare: OpenBlock, thistle: PatternVersion
) -> None:
    dress(bare, START - 6 * DAY, thistle)
    found = seven(bare)
    assert (found.dressing, found.version, found.since) == (None, bare.version, START)
    assert found.note == (
        "The last dressing logged for this lane, Thistle v1 at 2026-05-31 10:00, was not for this block, and "
        "nobody said that the lane was left as it was: it is taken as dressed with Heather v1 just before "
        "the block began."
    )


def test_the_day_is_that_of_the_place_where_it_is_bowled(bare: OpenBlock) -> None:
    """10:00 UTC is 20:00 in Brisbane, so the day there began twenty hours before the block."""
    bare.event.time_zone = "Australia/Brisbane"
    bare.event.save()
    dressing = dress(bare, START - 19 * HOUR)
    assert seven(bare).dressing == dressing
    Dressing.objects.filter(pk=dressing.pk).update(done_at=START - 21 * HOUR)
    assert seven(bare).dressing is None


def test_a_dressing_before_another_block_is_not_this_blocks(bare: OpenBlock, thistle: PatternVersion) -> None:
    morning = earlier_block(bare, START - 3 * HOUR, thistle)
    throw_in(morning, bare)
    dress(bare, START - 4 * HOUR, thistle, morning)
    found = seven(bare)
    assert (found.dressing, found.version, found.since) == (None, bare.version, START)


def test_a_lane_dressed_with_another_sheet_for_the_block_is_taken_as_logged_and_it_is_said(
    bare: OpenBlock, thistle: PatternVersion
) -> None:
    dressing = dress(bare, START - HOUR, thistle, bare.block)
    found = seven(bare)
    assert (found.dressing, found.version) == (dressing, thistle)
    assert found.note == (
        "Logged as dressed with Thistle v1, while the block names Heather v1: what is logged is taken."
    )


def test_nothing_logged_is_said_too(bare: OpenBlock) -> None:
    found = seven(bare)
    assert (found.dressing, found.since) == (None, START)
    assert found.note.startswith(
        "No dressing is logged for this lane: it is taken as dressed with Heather v1"
    )


def test_a_lane_dressed_while_the_block_is_bowled_starts_anew(bare: OpenBlock) -> None:
    dress(bare, START - HOUR, block=bare.block)
    again = dress(bare, START + HOUR)
    assert (seven(bare).dressing, seven(bare).since) == (again, START + HOUR)


def test_known_not_dressed_runs_on_from_the_last_dressing_over_the_blocks_between(
    bare: OpenBlock, thistle: PatternVersion
) -> None:
    """model.md, section 6: traffic counts from the last dressing event, or runs on where there was none."""
    morning = earlier_block(bare, START - 3 * HOUR, thistle)
    dressing = dress(bare, START - 4 * HOUR, thistle, morning)
    throw_in(morning, bare)
    NotDressed.objects.create(lane=bare.lanes[7], before_block=bare.block)
    found = seven(bare)
    assert (found.dressing, found.version, found.since) == (dressing, thistle, START - 4 * HOUR)
    assert found.note == (
        "The lane is known not to have been dressed again before this block: its traffic runs on since it "
        "was dressed with Thistle v1 at 2026-06-06 06:00."
    )
    gathered = gather(OwedAdvice(entry=bare.bo, left_lane=bare.lanes[7], right_lane=bare.lanes[8]))
    assert gathered.records["7"]["balls_on_lane"] == 1
    assert gathered.records["7"]["dressing_note"] == found.note
    assert gathered.records["8"]["balls_on_lane"] == 0


def test_known_not_dressed_runs_on_from_a_dressing_that_is_itself_assumed(
    bare: OpenBlock, thistle: PatternVersion
) -> None:
    morning = earlier_block(bare, START - 3 * HOUR, thistle)
    throw_in(morning, bare)
    NotDressed.objects.create(lane=bare.lanes[7], before_block=bare.block)
    found = seven(bare)
    assert (found.dressing, found.version, found.since) == (None, thistle, START - 3 * HOUR)
    assert "since it was taken as dressed with Thistle v1 at 2026-06-06 07:00" in found.note


def test_known_not_dressed_without_any_dressing_says_that_the_wear_is_not_known(bare: OpenBlock) -> None:
    NotDressed.objects.create(lane=bare.lanes[7], before_block=bare.block)
    assert seven(bare).since == START
    assert "worn more than is assumed" in seven(bare).note


def test_known_not_dressed_before_another_block_says_nothing_of_this_one(bare: OpenBlock) -> None:
    morning = earlier_block(bare, START - 3 * HOUR)
    throw_in(morning, bare)
    NotDressed.objects.create(lane=bare.lanes[7], before_block=morning)
    assert seven(bare).since == START


def test_what_was_thrown_before_the_planned_time_counts(bare: OpenBlock) -> None:
    Game.objects.create(
        entry=bare.bo,
        number=1,
        left_lane=bare.lanes[7],
        right_lane=bare.lanes[8],
        started_at=START - 10 * MINUTE,
    )
    assert seven(bare).since == START - 10 * MINUTE


def test_leaving_lanes_undressed_owes_advice_once(bare: OpenBlock) -> None:
    record.leave_undressed([bare.lanes[7]], bare.block, by=bare.cast.bo)
    record.leave_undressed([bare.lanes[7]], bare.block, by=bare.cast.bo)
    assert sorted(row.entry_id for row in OwedAdvice.objects.all()) == [bare.bo.pk, bare.lin.pk]
    assert {row.wanted for row in OwedAdvice.objects.all()} == {1}


def test_a_dressing_owes_advice_to_who_bowled_on_the_lane_before(opened: OpenBlock) -> None:
    opened.shot(opened.lin)
    opened.shot(opened.lin, game=2, left=9)
    PairVisit.objects.filter(entry=opened.bo).delete()
    record.dress_lane(
        opened.lanes[7],
        opened.version,
        done_at=START + HOUR,
        before_block=None,
        by=opened.cast.bo,
        uid=opened.block.uuid,
    )
    assert [(row.entry, row.left_lane.number) for row in OwedAdvice.objects.all()] == [(opened.lin, 9)]


def test_queries_do_not_grow_with_lanes_and_blocks(opened: OpenBlock) -> None:
    def count(numbers: list[int]) -> int:
        with CaptureQueriesContext(connection) as queries:
            dressed_lanes([opened.lanes[number] for number in numbers], opened.block)
        return len(queries)

    earlier_block(opened, START - 7 * DAY)
    few = count([7])
    for day in range(1, 6):
        earlier_block(opened, START - day * DAY)
    assert count(list(range(1, 13))) == few
