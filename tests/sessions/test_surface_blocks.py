"""A surface entry can name the block it was made for; only blocks of that bowler are offered."""

from datetime import timedelta

import pytest
from django.utils import timezone

from arsenal.models import SurfaceEntry
from sessions import surface_blocks
from sessions.models import SurfaceWork
from tests.conftest import Cast
from tests.sessions.conftest import Scene

pytestmark = pytest.mark.django_db


def test_only_blocks_of_the_balls_bowler_are_offered(cast: Cast, scene: Scene) -> None:
    offered = surface_blocks.choices(cast.bo_ball, cast.bo)
    assert [key for key, _ in offered] == [str(scene.block.uuid)]
    others = surface_blocks.choices(cast.outsider_ball, cast.outsider)
    assert [key for key, _ in others] == [str(scene.other_block.uuid)]
    assert surface_blocks.choices(cast.bo_ball, cast.outsider) == []


def test_the_link_is_stored_once(cast: Cast, scene: Scene) -> None:
    entry = SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="sanded", grits=[2000], done_at=timezone.now() - timedelta(days=1)
    )
    for _ in range(2):
        surface_blocks.link(entry, str(scene.block.uuid))
    assert SurfaceWork.objects.get().before_block == scene.block
