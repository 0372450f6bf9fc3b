"""Events, houses, blocks, bags, pairs, typed games and practice through their pages."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from sessions.models import (
    Block,
    BlockEntry,
    Dressing,
    Event,
    GameLine,
    House,
    NotDressed,
    PracticeWindow,
    Shot,
)
from tests.conftest import make_ball
from tests.sessions.conftest import Scene


@pytest.fixture
def bo(scene: Scene) -> Client:
    return scene.cast.client(scene.cast.bo)


def event_data(scene: Scene, **more: Any) -> dict[str, Any]:
    return {
        "uuid": str(uuid.uuid4()),
        "name": "Otter Cup",
        "house": scene.house.pk,
        "starts_on": "2026-07-01",
        "ends_on": "2026-07-02",
        "time_zone": "Europe/Berlin",
        "max_balls": "6",
        "others_per_pair": "4",
        "right_handed_share": "0,88",
        "before_event_allowed": "yes",
        "before_event_by_hand": "on",
        "before_event_where": "pro shop",
        "official_practice_allowed": "no",
        **more,
    }


def test_an_event_is_made_with_its_own_rules_and_unset_stays_unset(scene: Scene, bo: Client) -> None:
    data = event_data(scene)
    answer = bo.post(reverse("event-new"), data)
    event = Event.objects.get(name="Otter Cup")
    assert answer.status_code == 302 and answer.url == reverse("event", args=[event.uuid])
    rules = {w.kind: (w.allowed, w.by_hand, w.by_machine, w.where) for w in event.windows.all()}
    assert rules == {
        "before_event": (True, True, False, "pro shop"),
        "official_practice": (False, False, False, ""),
    }
    assert bo.post(reverse("event-new"), data).url == answer.url, "sent twice is stored once"
    html = bo.get(answer.url).content.decode()
    assert html.count("unset") == 2 and "Ask the tournament director" in html


@pytest.mark.parametrize("kind", ["success", "error"])
def test_what_a_page_says_after_an_action_has_one_look(scene: Scene, bo: Client, kind: str) -> None:
    address = reverse("block-state", args=[scene.block.uuid])
    state = {"success": "finished", "error": "melted"}[kind]
    html = bo.post(address, {"state": state}, follow=True).content.decode()
    look = {"success": '<p class="note good" role="status">', "error": '<p class="note bad" role="alert">'}
    assert look[kind] in html


def test_forms_say_save_and_never_store(scene: Scene, bo: Client) -> None:
    for name, key in (("house", scene.house), ("entry-edit", scene.entry), ("block-edit", scene.block)):
        html = bo.get(reverse(name, args=[key.uuid])).content.decode()
        assert ">Save<" in html and "Store" not in html, name
    line = bo.get(reverse("game-line", args=[scene.entry.uuid, 1])).content.decode()
    assert ">Save the game<" in line and "Store" not in line


def test_wrong_fields_of_an_event_are_named_and_nothing_typed_is_lost(scene: Scene, bo: Client) -> None:
    data = event_data(scene, max_balls="lots", ends_on="2026-06-01", starts_on="someday")
    answer = bo.post(reverse("event-new"), data)
    html = answer.content.decode()
    assert answer.status_code == 400
    assert "Balls allowed “lots” is not a number: 1 to 40, whole numbers." in html
    assert "First day “someday” is not a day such as" in html
    assert "Otter Cup" in html and "pro shop" in html
    assert not Event.objects.filter(name="Otter Cup").exists()


def test_a_stale_edit_of_an_event_shows_both_and_a_second_save_decides(scene: Scene, bo: Client) -> None:
    url = reverse("event-edit", args=[scene.event.uuid])
    coach = scene.cast.client(scene.cast.coach)
    assert coach.post(url, event_data(scene, version="1", name="Coach's Cup")).status_code == 302
    late = bo.post(url, event_data(scene, version="1", name="Bo's Cup"))
    html = late.content.decode()
    assert late.status_code == 409 and "Ada changed this event" in html
    assert "Coach&#x27;s Cup" in html and "Bo&#x27;s Cup" in html
    assert bo.post(url, event_data(scene, version="2", name="Bo's Cup")).status_code == 302
    scene.event.refresh_from_db()
    assert scene.event.name == "Bo's Cup"


def test_a_house_gets_its_lanes(scene: Scene, bo: Client) -> None:
    data = {"uuid": str(uuid.uuid4()), "name": "Long Room", "lanes": "24"}
    bo.post(reverse("house-new"), data)
    assert House.objects.get(name="Long Room").lanes.count() == 24
    odd = bo.post(reverse("house-new"), data | {"uuid": str(uuid.uuid4()), "lanes": "7"})
    assert odd.status_code == 400
    assert "Number of lanes 7 is not allowed: an even number" in odd.content.decode()


def dress(bo: Client, scene: Scene, **more: Any) -> Any:
    data = {
        "uuid": str(uuid.uuid4()),
        "what": "dressed",
        "before_block": str(scene.block.uuid),
        "done_at": (timezone.now() - timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M"),
        "lanes": ["5", "6"],
        **more,
    }
    return bo.post(reverse("house-dress", args=[scene.house.uuid]), data)


def test_lanes_are_dressed_with_the_blocks_sheet_or_left_as_they_are(scene: Scene, bo: Client) -> None:
    assert dress(bo, scene).status_code == 302
    assert dress(bo, scene, what="not dressed", lanes=["7", "8"]).status_code == 302
    assert {d.lane.number: d.pattern_version for d in Dressing.objects.all()} == {
        5: scene.version,
        6: scene.version,
    }
    assert {row.lane.number for row in NotDressed.objects.all()} == {7, 8}
    html = bo.get(reverse("block", args=[scene.block.uuid])).content.decode()
    assert "Lanes 5–6" in html and "Lanes 7–8" in html and "Lanes 9–10" in html
    assert html.count(">not dressed again<") == 1 and html.count("dressing not known") == 1


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"lanes": []}, "Lanes are missing"),
        ({"lanes": ["99"]}, "Lane 99 is not allowed"),
        ({"done_at": "noon"}, "When “noon” is not a date and time"),
        ({"done_at": "2999-01-01T10:00"}, "is not allowed: now or earlier"),
        ({"before_block": ""}, "Pattern is missing"),
        ({"what": "not dressed", "before_block": ""}, "Block is missing"),
    ],
)
def test_a_wrong_dressing_says_why(scene: Scene, bo: Client, more: dict[str, Any], text: str) -> None:
    answer = dress(bo, scene, **more)
    assert answer.status_code == 400 and text in answer.content.decode()
    assert not Dressing.objects.exists()


def test_a_block_is_made_changed_begun_and_finished(scene: Scene, bo: Client) -> None:
    data = {
        "uuid": str(uuid.uuid4()),
        "name": "Squad B",
        "squad": "B",
        "format": "singles",
        "games_planned": "4",
        "starts_at": "2026-06-06T14:00",
        "pattern_version": scene.version.pk,
        "state": "planned",
    }
    bo.post(reverse("block-new", args=[scene.event.uuid]), data)
    block = Block.objects.get(name="Squad B")
    wrong = bo.post(reverse("block-edit", args=[block.uuid]), data | {"version": "1", "games_planned": "0"})
    assert "Number of games 0 is not allowed: 1 to 50, whole numbers." in wrong.content.decode()
    for state in ("open", "finished"):
        bo.post(reverse("block-state", args=[block.uuid]), {"state": state})
        block.refresh_from_db()
        assert block.state == state
    bo.post(reverse("block-state", args=[block.uuid]), {"state": "melted"})
    block.refresh_from_db()
    assert block.state == "finished"


def test_a_bowler_enters_with_the_balls_in_use_up_to_the_limit(scene: Scene, bo: Client) -> None:
    scene.entry.delete()
    make_ball(scene.cast.bo_bowler, "Third")
    Event.objects.filter(pk=scene.event.pk).update(max_balls=2)
    data = {"uuid": str(uuid.uuid4()), "bowler": str(scene.cast.bo_bowler.uuid), "objective": "score"}
    answers = [bo.post(reverse("entry-new", args=[scene.block.uuid]), data) for _ in range(2)]
    entry = BlockEntry.objects.get(bowler=scene.cast.bo_bowler)
    assert [answer.url for answer in answers] == [reverse("entry-edit", args=[entry.uuid])] * 2
    assert entry.bag.count() == 2 and entry.objective == "score"


def test_a_player_enters_only_themselves_and_a_coach_anyone(scene: Scene, bo: Client) -> None:
    scene.lin_entry.delete()
    url = reverse("entry-new", args=[scene.block.uuid])
    data = {"uuid": str(uuid.uuid4()), "bowler": str(scene.cast.lin_bowler.uuid), "objective": "floor"}
    refused = bo.post(url, data)
    assert refused.status_code == 400 and "Bowler is not allowed" in refused.content.decode()
    assert scene.cast.client(scene.cast.coach).post(url, data).status_code == 302
    assert BlockEntry.objects.filter(bowler=scene.cast.lin_bowler).exists()


def test_the_bag_is_changed_and_a_ball_put_away(scene: Scene, bo: Client) -> None:
    url = reverse("entry-edit", args=[scene.entry.uuid])
    data = {"version": "1", "objective": "score", "balls": [str(scene.cast.bo_ball.uuid)]}
    assert bo.post(url, data).status_code == 302
    assert [place.ball for place in scene.entry.bag.all()] == [scene.cast.bo_ball]
    late = bo.post(url, data | {"balls": [str(scene.spare_ball.uuid)]})
    html = late.content.decode()
    assert late.status_code == 409 and "Bo changed this" in html
    # What is saved stands beside what was chosen, and saving again decides.
    assert "Saved now: Go for score; bag: Grey Kettle." in html
    assert f'value="{scene.spare_ball.uuid}" checked' in html
    away = {"ball": str(scene.cast.bo_ball.uuid), "away": "yes"}
    bo.post(reverse("ball-put-away", args=[scene.entry.uuid]), away)
    assert scene.entry.bag.get().put_away
    assert "Take out again" in bo.get(url).content.decode()
    missing = bo.post(reverse("ball-put-away", args=[scene.entry.uuid]), {"ball": "x"})
    assert missing.status_code == 404


def test_pairs_are_planned_as_a_pattern_and_corrected_one_by_one(scene: Scene, bo: Client) -> None:
    plan = {"lane": "2", "move_pairs": "2", "first_lane": "1", "last_lane": "12"}
    assert bo.post(reverse("entry-plan", args=[scene.entry.uuid]), plan).status_code == 302
    bo.post(reverse("game-pair", args=[scene.entry.uuid, 2]), {"lane": "11", "planning": "yes"})
    visits = [(v.left_lane.number, v.starts_on_left) for v in scene.entry.visits.order_by("game_number")]
    assert visits == [(1, False), (11, True), (9, False)]
    wrong = bo.post(reverse("entry-plan", args=[scene.entry.uuid]), plan | {"move_pairs": "many"})
    assert wrong.status_code == 400
    assert "Pairs to move “many” is not a number" in wrong.content.decode()


def line_form(scene: Scene, **more: Any) -> dict[str, Any]:
    return {
        "uuid": str(uuid.uuid4()),
        "notation": "X 9/ 81 7- (8)1 X X 9/ X XX9",
        "stretch_1_first_frame": "1",
        "stretch_1_last_frame": "10",
        "stretch_1_ball": str(scene.cast.bo_ball.uuid),
        "stretch_1_laydown_board": "20",
        "stretch_1_target_board": "12",
        **more,
    }


def test_a_game_is_typed_by_the_coach_and_shown_with_its_score(scene: Scene) -> None:
    coach = scene.cast.client(scene.cast.coach)
    url = reverse("game-line", args=[scene.entry.uuid, 1])
    assert coach.post(url, line_form(scene)).status_code == 302
    html = coach.get(url).content.decode()
    assert "191" in html and "Typed by Ada" in html and "Frames 1–10: Grey Kettle" in html
    line = GameLine.objects.get()
    coach.post(reverse("line-undo", args=[line.uuid]))
    line.refresh_from_db()
    assert line.undone_at is not None


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"notation": "X Q"}, "Frame 2 “Q” is not allowed"),
        ({"stretch_1_last_frame": "11"}, "Last frame 11 is not allowed: 1 to 10, whole numbers."),
        ({"stretch_1_last_frame": ""}, "Last frame is missing"),
        ({"stretch_1_last_frame": "4"}, "Frame 5 has no ball"),
        ({"stretch_1_laydown_board": "99"}, "Laydown board 99 is not allowed: 1 to 39."),
        ({"bowled_at": "2999-01-01T10:00"}, "is not allowed: now or earlier"),
    ],
)
def test_a_wrong_line_says_why_and_keeps_what_was_typed(
    scene: Scene, bo: Client, more: dict[str, str], text: str
) -> None:
    answer = bo.post(reverse("game-line", args=[scene.entry.uuid, 1]), line_form(scene, **more))
    html = answer.content.decode()
    assert answer.status_code == 400 and text in html
    assert more.get("notation", "X 9/ 81 7- (8)1 X X 9/ X XX9") in html
    assert not GameLine.objects.exists()


def test_a_line_over_shots_offers_to_take_their_place(scene: Scene, bo: Client) -> None:
    scene.log([10])
    url = reverse("game-line", args=[scene.entry.uuid, 1])
    refused = bo.post(url, line_form(scene)).content.decode()
    assert "say that this line takes their place" in refused and "instead_of_shots" in refused
    assert bo.post(url, line_form(scene, instead_of_shots="on")).status_code == 302
    assert not Shot.objects.filter(undone_at=None).exists()


def test_a_line_for_a_game_the_block_has_not_is_a_404(scene: Scene, bo: Client) -> None:
    assert bo.get(reverse("game-line", args=[scene.entry.uuid, 4])).status_code == 404


def test_practice_is_begun_and_logged_on_its_own_page(scene: Scene, bo: Client) -> None:
    data = {"uuid": str(uuid.uuid4()), "kind": "official_practice", "lane": "6"}
    begun = bo.post(reverse("practice-new", args=[scene.entry.uuid]), data)
    practice = PracticeWindow.objects.get()
    assert begun.url == reverse("practice", args=[practice.uuid])
    shot = {"ball": str(scene.cast.bo_ball.uuid), "lane": "6", "outcome": "leave", "left": ["3", "10"]}
    url = reverse("practice-log", args=[practice.uuid])
    bo.post(url, shot | {"uuid": str(uuid.uuid4())})
    html = bo.get(begun.url, {"at_left": ""}).content.decode()
    assert html.count('name="left"') == 2
    cleared = {"at_pins_left": "True", "outcome": "clear", "left": []}
    answer = bo.post(url, shot | cleared | {"uuid": str(uuid.uuid4())}, headers={"HX-Request": "true"})
    assert "Logged practice 2: cleared, Grey Kettle." in answer.content.decode()
    assert Shot.objects.filter(practice=practice, game=None).count() == 2
    newest = Shot.objects.latest("pk")
    assert bo.post(reverse("shot-undo", args=[newest.uuid])).url == begun.url


def test_pages_take_no_more_queries_for_more_rows(
    scene: Scene, bo: Client, django_assert_max_num_queries: Any
) -> None:
    scene.log_strikes(12)
    for address in ("block", "event", "house"):
        target = {"block": scene.block, "event": scene.event, "house": scene.house}[address]
        # A block reads the history of its lanes besides, in a number of queries of its own.
        with django_assert_max_num_queries(30 if address == "block" else 22):
            bo.get(reverse(address, args=[target.uuid]))
    with django_assert_max_num_queries(8):
        bo.get(reverse("events"))


def test_a_line_of_part_of_a_game_says_that_the_game_is_not_finished(scene: Scene, bo: Client) -> None:
    url = reverse("game-line", args=[scene.entry.uuid, 1])
    saved = bo.post(url, line_form(scene, notation="X X X"), follow=True).content.decode()
    assert "X X X. 3 frames: game not finished." in saved
    html = bo.get(url).content.decode()
    assert "Frames 1–3: Grey Kettle" in html and "Frames 1–10: " not in html and "game not finished" in html
    whole = bo.post(url, line_form(scene), follow=True).content.decode()
    assert "game not finished" not in whole
