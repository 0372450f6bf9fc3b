# ruff: noqa: F811  (a fixture is imported by name)
"""What a block says of its lanes: its own dressing, not the newest, and another sheet in plain sight."""

from datetime import datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from patterns.models import Pattern, PatternVersion
from sessions.lane_films import films_of_block
from sessions.models import Block, Dressing, OwedAdvice
from tests.sessions.answers import INPUTS, answered
from tests.sessions.block import START, OpenBlock, make_version, opened  # noqa: F401  (a fixture)

HOUR = timedelta(hours=1)


def dress(opened: OpenBlock, at: datetime, version: PatternVersion | None = None) -> Dressing:
    made = [
        Dressing.objects.create(lane=lane, pattern_version=version or opened.version, done_at=at)
        for lane in (opened.lanes[7], opened.lanes[8])
    ]
    return made[0]


@pytest.fixture
def bare(opened: OpenBlock) -> OpenBlock:
    Dressing.objects.all().delete()
    return opened


@pytest.fixture
def thistle(opened: OpenBlock) -> PatternVersion:
    return make_version(Pattern.objects.create(team=opened.cast.team, name="Thistle"))


def shown(opened: OpenBlock) -> list[datetime | None]:
    entries = opened.block.entries.prefetch_related("visits__left_lane", "visits__right_lane")
    block = Block.objects.get(pk=opened.block.pk)
    return [film.dressing and film.dressing.done_at for film in films_of_block(block, list(entries))]


@pytest.mark.parametrize("state", [Block.State.OPEN, Block.State.FINISHED])
def test_a_block_of_an_earlier_day_does_not_take_what_was_dressed_after_its_last_ball(
    bare: OpenBlock, state: str
) -> None:
    dress(bare, START - HOUR)
    bare.shot(bare.bo)
    dress(bare, START + 5 * HOUR)
    dress(bare, timezone.now() - HOUR)
    Block.objects.filter(pk=bare.block.pk).update(state=state)
    assert START - HOUR in shown(bare) and START + 5 * HOUR not in shown(bare)
    assert all(at is None or at <= START for at in shown(bare))


def test_a_block_going_on_today_takes_a_dressing_since_it_began(bare: OpenBlock) -> None:
    now = timezone.now()
    Block.objects.filter(pk=bare.block.pk).update(starts_at=now, state=Block.State.OPEN)
    dress(bare, now)
    assert now in shown(bare)


def test_a_dressing_of_the_day_before_is_not_this_blocks(bare: OpenBlock) -> None:
    dress(bare, START - 24 * HOUR)
    Block.objects.filter(pk=bare.block.pk).update(state=Block.State.FINISHED)
    assert set(shown(bare)) == {None}


def test_a_planned_block_on_another_sheet_warns_before_it_begins(
    bare: OpenBlock, thistle: PatternVersion
) -> None:
    dress(bare, START - HOUR, thistle)
    Block.objects.filter(pk=bare.block.pk).update(state=Block.State.PLANNED)
    client = bare.cast.client(bare.cast.bo)
    page = reverse("block", args=[bare.block.uuid])
    html = client.get(page).content.decode()
    assert "dressed with Thistle v1" in html and "this block’s sheet is Heather v1" in html
    assert "Begin all the same" in html and html.count('value="open"') == 1
    client.post(reverse("block-state", args=[bare.block.uuid]), {"state": "open"})
    assert "Begin all the same" not in client.get(page).content.decode()
    Dressing.objects.all().update(pattern_version=bare.version)
    Block.objects.filter(pk=bare.block.pk).update(state=Block.State.PLANNED)
    html = client.get(page).content.decode()
    assert "all the same" not in html and html.count('value="open"') == 1


@pytest.mark.parametrize("is_other", [True, False])
def test_advice_beside_the_lane_says_that_another_sheet_was_dressed(
    opened: OpenBlock, thistle: PatternVersion, is_other: bool
) -> None:
    owed: OwedAdvice = answered(opened)
    lies = thistle if is_other else opened.version
    inputs = INPUTS | {"pattern": lies.pattern.name, "pattern_uuid": str(lies.pattern.uuid)}
    owed.answers.update(inputs=inputs)
    url = reverse("advice", args=[opened.bo.uuid, 7])
    html = opened.cast.client(opened.cast.bo).get(url, HTTP_HX_REQUEST="true").content.decode()
    assert html.count("Dressed with Thistle v1; this block’s sheet is Heather v1.") == 2 * is_other
