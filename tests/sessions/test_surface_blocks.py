"""A surface entry can name the block it was made for; only blocks of that bowler are offered."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from arsenal.models import SurfaceEntry
from sessions import surface_blocks
from sessions.models import Block, SurfaceWork
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


def test_work_on_a_ball_in_play_asks_for_its_window_and_says_the_rule(cast: Cast, scene: Scene) -> None:
    client, url = cast.client(cast.bo), reverse("surface-new", args=[cast.bo_ball.uuid])
    html = client.get(url).content.decode()
    assert "in the bag of a running block (Longwick Otters Open: Squad A)" in html
    assert "out until the competition is over" in html and '<option value="" selected>Choose</option>' in html
    sent = {"kind": "sanded", "done_at": "2026-06-06T10:00", "grits": "2000"}
    refused = client.post(url, sent)
    assert refused.status_code == 400
    said = refused.content.decode()
    assert "In which kind of window is missing" in said and "Away from any event, Before the event" in said
    assert not SurfaceEntry.objects.exists()
    assert client.post(url, sent | {"window": "between_rounds"}).status_code == 302
    assert SurfaceEntry.objects.get().window == "between_rounds"
    scanned = {"kind": "scanner", "done_at": "2026-06-06T10:05", "scanner_ra_um": "0.5"}
    assert client.post(url, scanned).status_code == 302


@pytest.mark.parametrize("state", [Block.State.PLANNED, Block.State.FINISHED])
def test_away_from_a_running_block_the_window_is_away_from_any_event(
    cast: Cast, scene: Scene, state: str
) -> None:
    Block.objects.filter(pk=scene.block.pk).update(state=state)
    client, url = cast.client(cast.bo), reverse("surface-new", args=[cast.bo_ball.uuid])
    assert "running block" not in client.get(url).content.decode()
    client.post(url, {"kind": "sanded", "done_at": "2026-06-06T10:00", "grits": "2000"})
    assert SurfaceEntry.objects.get().window == "home"
