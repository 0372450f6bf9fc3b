# ruff: noqa: F811  (a fixture is imported by name)
"""What changes in the bag owes advice to the bowler it belongs to, while they are bowling."""

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from arsenal.models import Layout, SurfaceEntry
from sessions.models import Block, OwedAdvice
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)


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


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_owes_advice_to_that_bowler_alone(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    change(opened)
    assert [row.entry for row in OwedAdvice.objects.all()] == [opened.bo]


@pytest.mark.parametrize("change", CHANGES)
def test_nothing_is_owed_when_no_block_is_open(
    opened: OpenBlock, change: Callable[[OpenBlock], None]
) -> None:
    Block.objects.update(state=Block.State.PLANNED)
    change(opened)
    assert not OwedAdvice.objects.exists()
