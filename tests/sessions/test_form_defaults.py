"""What the logbook's forms begin with, and what they keep folded away until it is needed."""

import re
import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.models import SurfaceEntry
from sessions import record
from sessions.forms_event import BlockForm, EventForm, next_full_hour
from sessions.forms_house import DressForm
from sessions.models import Block, Event, House, PairVisit
from tests.conftest import Cast
from tests.sessions.conftest import Scene


def dressing_of(scene: Scene) -> tuple[Any, list[int]]:
    form = DressForm(scene.house)
    return form["before_block"].value(), sorted(int(number) for number in form["lanes"].value() or ())


def dress(scene: Scene, *numbers: int) -> None:
    lanes = list(scene.house.lanes.filter(number__in=numbers))
    by = scene.cast.bo
    record.dress_lanes(
        scene.house,
        lanes,
        scene.version,
        done_at=timezone.now(),
        before_block=scene.block,
        note="",
        by=by,
        uid=uuid.uuid4(),
    )


def test_dressing_begins_with_the_next_block_and_the_lanes_of_its_pairs(scene: Scene) -> None:
    assert dressing_of(scene) == (scene.block.uuid, [5, 6, 7, 8, 9, 10])
    html = scene.cast.client(scene.cast.bo).get(reverse("house", args=[scene.house.uuid])).content.decode()
    assert f'value="{scene.block.uuid}" selected' in html
    assert re.findall(r'name="lanes" value="(\d+)" checked', html) == ["5", "6", "7", "8", "9", "10"]


def test_lanes_already_dressed_for_the_block_are_not_chosen_again(scene: Scene) -> None:
    dress(scene, 5, 6)
    record.leave_undressed([scene.lane(7)], scene.block, by=scene.cast.bo)
    assert dressing_of(scene) == (scene.block.uuid, [8, 9, 10])


def test_once_a_block_is_dressed_the_next_one_is_offered(scene: Scene) -> None:
    dress(scene, *range(1, 13))
    late = Block.objects.create(
        event=scene.event,
        name="Squad B",
        starts_at=scene.block.starts_at + timedelta(hours=5),
        pattern_version=scene.version,
    )
    assert dressing_of(scene) == (late.uuid, list(range(1, 13))), "no pairs are planned: the whole house"
    Block.objects.update(state=Block.State.FINISHED)
    assert dressing_of(scene) == (None, []), "nothing is ahead, so nothing is guessed"


def test_a_house_of_another_team_offers_none_of_this_teams_blocks(scene: Scene) -> None:
    other = House.objects.get(team=scene.cast.other_team)
    PairVisit.objects.filter(entry=scene.other_entry).delete()
    assert DressForm(other)["before_block"].value() == scene.other_block.uuid


@pytest.mark.parametrize(
    ("first_day", "expected"),
    [
        ("2026-06-06", "2026-06-06 17:00"),
        ("2026-06-09", "2026-06-09 17:00"),
        ("2026-06-01", "2026-06-06 17:00"),
    ],
)
def test_a_block_starts_at_the_next_full_hour_of_the_readers_day_or_of_the_events_first(
    monkeypatch: pytest.MonkeyPatch, first_day: str, expected: str
) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2026, 6, 6, 14, 20, tzinfo=UTC))
    with timezone.override(ZoneInfo("Europe/Vienna")):
        start = next_full_hour(Event(starts_on=date.fromisoformat(first_day)))
    assert f"{start:%Y-%m-%d %H:%M}" == expected, "16:20 in Vienna's summer"


def test_the_next_full_hour_may_lie_on_the_next_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: datetime(2026, 6, 6, 23, 59, tzinfo=UTC))
    start = next_full_hour(Event(starts_on=date(2026, 6, 6)))
    assert f"{start:%Y-%m-%d %H:%M}" == "2026-06-07 00:00"


def test_a_new_block_begins_as_the_last_one_of_its_event(scene: Scene) -> None:
    form = BlockForm(instance=Block(event=scene.event))
    begun = {name: form[name].value() for name in ("name", "pattern_version", "games_planned")}
    assert begun == {"name": "Block 2", "pattern_version": scene.version.pk, "games_planned": 3}
    html = (
        scene.cast.client(scene.cast.bo).get(reverse("block-new", args=[scene.event.uuid])).content.decode()
    )
    assert re.search(r'name="starts_at" value="\d{4}-\d\d-\d\dT\d\d:00"', html)


def test_a_new_event_begins_today_in_the_house_of_the_last(scene: Scene) -> None:
    form = EventForm(instance=Event(team=scene.cast.team))
    assert form["house"].value() == scene.house.pk
    assert form["starts_on"].value() == form["ends_on"].value() == timezone.localdate()
    kept = EventForm(instance=scene.event)
    assert kept["starts_on"].value() == scene.event.starts_on, "an edit changes nothing by itself"


def open_folds(html: str) -> list[str]:
    return re.findall(r'<details class="fold" open><summary>(?:<span>)?([^<]+)', html)


def folds(html: str) -> list[str]:
    return re.findall(r'<details class="fold"[^>]*><summary>(?:<span>)?([^<]+)', html)


def test_seldom_used_fields_are_folded_away_and_unfold_where_something_is_wrong(scene: Scene) -> None:
    bo = scene.cast.client(scene.cast.bo)
    html = bo.get(reverse("event-new")).content.decode()
    titles = ["When surfaces may be altered", "Time zone, guests"]
    titles += ["Limits, and who confirmed the rules", "The field beside the team"]
    assert folds(html) == titles and open_folds(html) == []
    assert "unset: before the event only" in html
    refused = bo.post(reverse("event-new"), {"name": "Cup", "max_balls": "lots"}).content.decode()
    assert "Limits, and who confirmed the rules" in open_folds(refused)
    record.save_event(
        scene.event, {"before_event": record.WindowRule(allowed=True)}, by=scene.cast.bo, expected_version=1
    )
    html = bo.get(reverse("event-edit", args=[scene.event.uuid])).content.decode()
    assert "Before the event: allowed" in html and "unset: before the event only" not in html


@pytest.mark.parametrize(
    ("name", "always", "folded"),
    [
        (
            "ball-new",
            {"name", "cover", "weight_lb", "rg_in", "differential_in", "role"},
            {"hardness_d", "note"},
        ),
        (
            "release-new",
            {"kind", "speed_mph", "rev_rate_rpm", "origin"},
            {"sd_speed_mph", "scatter_correlation"},
        ),
    ],
)
def test_a_ball_and_a_release_ask_first_for_what_is_needed(
    cast: Cast, name: str, always: set[str], folded: set[str]
) -> None:
    client = cast.client(cast.bo)
    html = client.get(reverse(name, args=[cast.bo_bowler.uuid])).content.decode()
    form = html.split('<form method="post" novalidate')[1]
    before = set(re.findall(r'name="(\w+)"', form.split("<details")[0]))
    after = set(re.findall(r'name="(\w+)"', form.split("<details", 1)[1]))
    assert always <= before and folded <= after and not before & folded
    assert open_folds(html) == []


def test_a_wrong_number_in_a_folded_group_is_not_hidden(cast: Cast) -> None:
    sent = {"name": "Tin", "cover": "plastic", "weight_lb": "15", "rg_in": "2.5", "hardness_d": "300"}
    answer = cast.client(cast.bo).post(reverse("ball-new", args=[cast.bo_bowler.uuid]), sent)
    assert answer.status_code == 400
    assert open_folds(answer.content.decode()) == ["Intermediate differential, diameter, hardness"]


def test_a_long_surface_log_shows_its_newest_entries_and_folds_the_rest(cast: Cast) -> None:
    now = timezone.now()
    for days in range(7):
        SurfaceEntry.objects.create(ball=cast.bo_ball, kind="cleaned", done_at=now - timedelta(days=days))
    html = cast.client(cast.bo).get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    assert "3 earlier entries" in html and html.count('id="entry-') == 7
    assert html.split("3 earlier entries")[0].count('id="entry-') == 4


def test_the_entry_page_says_what_each_of_its_two_lists_of_balls_is(scene: Scene) -> None:
    html = (
        scene.cast.client(scene.cast.bo).get(reverse("entry-edit", args=[scene.entry.uuid])).content.decode()
    )
    carried, in_play = html.split('id="carried-title"')[1].split('id="in-play-title"')
    assert "Tick the balls that come along to the lanes." in carried and 'name="balls"' in carried
    assert "offered no more for shots or in advice" in in_play and "Put away" in in_play


def test_without_a_bag_there_is_nothing_to_put_away(scene: Scene) -> None:
    scene.entry.bag.all().delete()
    client: Client = scene.cast.client(scene.cast.bo)
    html = client.get(reverse("entry-edit", args=[scene.entry.uuid])).content.decode()
    assert "Put away" not in html and "any of the bowler's balls may be logged" in html.replace("&#x27;", "'")
