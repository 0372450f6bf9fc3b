# ruff: noqa: F811  (a fixture is imported by name)
"""What changes in a bag owes advice to whoever reads what these balls did to the lanes."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from arsenal.models import Layout, SurfaceEntry
from sessions.models import Block, BlockEntry, Dressing, GameLine, LineStretch, OwedAdvice
from tests.conftest import make_ball
from tests.sessions.block import MINUTE, START, OpenBlock, opened  # noqa: F401  (a fixture)


def sand(opened: OpenBlock) -> None:
    SurfaceEntry.objects.create(
        ball=opened.cast.bo_ball, kind="sanded", grits=[2000], done_at=datetime(2026, 6, 5, tzinfo=UTC)
    )


def change_ball(opened: OpenBlock) -> None:
    opened.cast.bo_ball.rg_in = 2.49
    opened.cast.bo_ball.save()


def change_layout(opened: OpenBlock) -> None:
    Layout.objects.create(ball=opened.cast.bo_ball, pin_to_pap_in=4.5)


def change_release(opened: OpenBlock) -> None:
    opened.cast.bo_bowler.releases.get(kind="strike").save()


def change_bowler(opened: OpenBlock) -> None:
    opened.cast.bo_bowler.gap_boards = 7.0
    opened.cast.bo_bowler.save()


CHANGES = [sand, change_ball, change_layout, change_release, change_bowler]
every_change = pytest.mark.parametrize("change", CHANGES)


def owed_to() -> set[BlockEntry]:
    return {row.entry for row in OwedAdvice.objects.select_related("entry")}


@every_change
def test_a_change_owes_advice_to_that_bowler_alone_while_nothing_was_thrown(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    change(opened)
    assert owed_to() == {opened.bo}


@every_change
def test_a_change_owes_advice_to_a_team_mate_whose_lanes_carry_these_balls(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin)
    change(opened)
    assert owed_to() == {opened.bo, opened.lin}


@every_change
def test_a_typed_game_is_traffic_too(opened: OpenBlock, change: Callable[[OpenBlock], None]) -> None:
    game = opened.game(opened.bo)
    line = GameLine.objects.create(game=game, notation="X X", bowled_at=START + 10 * MINUTE)
    LineStretch.objects.create(line=line, first_frame=1, last_frame=10, ball=opened.cast.bo_ball)
    change(opened)
    assert owed_to() == {opened.bo, opened.lin}


@every_change
def test_a_team_mate_who_left_these_lanes_before_reads_them_still(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin)
    opened.shot(opened.lin, game=2, left=9)
    change(opened)
    assert {(row.entry, row.left_lane.number) for row in OwedAdvice.objects.all()} == {
        (opened.bo, 7),
        (opened.lin, 9),
    }


@every_change
def test_a_team_mate_on_other_lanes_is_owed_nothing(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin, left=11)
    change(opened)
    assert owed_to() == {opened.bo}


@every_change
def test_balls_thrown_before_the_lane_was_dressed_again_concern_nobody_else(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin)
    for number in (7, 8):
        Dressing.objects.create(
            lane=opened.lanes[number],
            done_at=START + timedelta(hours=5),
            pattern_version=opened.version,
        )
    change(opened)
    assert owed_to() == {opened.bo}


def test_a_ball_that_was_not_thrown_concerns_its_bowler_alone(opened: OpenBlock) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin)
    make_ball(opened.cast.bo_bowler, "Rust Lamp").save()
    assert owed_to() == {opened.bo}


@every_change
def test_nothing_is_owed_when_no_block_is_open(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin)
    Block.objects.update(state=Block.State.PLANNED)
    change(opened)
    assert not OwedAdvice.objects.exists()


def test_the_cost_of_a_change_does_not_grow_with_the_shots(opened: OpenBlock) -> None:
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            sand(opened)
        return len(queries)

    opened.shot(opened.bo)
    opened.shot(opened.lin)
    sand(opened)
    few = cost()
    for frame in range(2, 10):
        opened.shot(opened.bo, frame)
        opened.shot(opened.lin, frame)
    assert cost() <= few
