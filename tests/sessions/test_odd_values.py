"""What nobody would type, on every page and in every field of the logbook: a reason, and never a crash."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction
from django.urls import reverse

from tests.api.test_odd_values import ODD, send
from tests.sessions.conftest import Scene
from tests.sessions.test_logbook_access import practice_of, shot_of

TYPED = ["", "NaN", "-1", "9" * 400, "1e308", "\x00", "x" * 5000]
MOMENTS = ["0001-01-01T00:00", "9999-12-31T23:59", "2999-01-01T00:00"]
FORMS: dict[str, tuple[Callable[[Scene], str], str]] = {
    "house-new": (lambda s: reverse("house-new"), "uuid version name note lane_count"),
    "house-edit": (lambda s: reverse("house-edit", args=[s.house.uuid]), "version name note lane_count"),
    "house-dress": (
        lambda s: reverse("house-dress", args=[s.house.uuid]),
        "uuid what lanes pattern_version done_at before_block note",
    ),
    "event-new": (
        lambda s: reverse("event-new"),
        "uuid name house starts_on ends_on time_zone max_balls rules_confirmed_by rules_confirmed_on"
        " rules_note others_per_pair right_handed_share before_event_allowed before_event_where",
    ),
    "event-edit": (lambda s: reverse("event-edit", args=[s.event.uuid]), "version name time_zone max_balls"),
    "block-new": (
        lambda s: reverse("block-new", args=[s.event.uuid]),
        "uuid name squad format games_planned starts_at pattern_version state",
    ),
    "block-state": (lambda s: reverse("block-state", args=[s.block.uuid]), "state"),
    "entry-new": (lambda s: reverse("entry-new", args=[s.block.uuid]), "uuid bowler objective"),
    "entry-edit": (lambda s: reverse("entry-edit", args=[s.entry.uuid]), "version objective balls"),
    "entry-plan": (
        lambda s: reverse("entry-plan", args=[s.entry.uuid]),
        "lane move_pairs first_lane last_lane",
    ),
    "ball-put-away": (lambda s: reverse("ball-put-away", args=[s.entry.uuid]), "ball away"),
    "shot-log": (
        lambda s: reverse("shot-log", args=[s.entry.uuid]),
        "uuid game_number frame_number throw_number outcome left ball release lane laydown_board target_board"
        " target_ft breakpoint_board breakpoint_ft offset_boards speed_mph speed_read hit_word foul note",
    ),
    "shot-edit": (lambda s: reverse("shot-edit", args=[shot_of(s).uuid]), "uuid outcome left ball lane note"),
    "game-pair": (lambda s: reverse("game-pair", args=[s.entry.uuid, 2]), "lane"),
    "game-line": (
        lambda s: reverse("game-line", args=[s.entry.uuid, 2]),
        "uuid notation bowled_at instead_of_shots stretch_1_first_frame stretch_1_last_frame stretch_1_ball"
        " stretch_1_laydown_board stretch_1_release",
    ),
    "practice-new": (lambda s: reverse("practice-new", args=[s.entry.uuid]), "uuid kind lane started_at"),
    "practice-log": (
        lambda s: reverse("practice-log", args=[practice_of(s).uuid]),
        "uuid outcome left ball lane at_pins_left",
    ),
    "comments": (lambda s: reverse("comments", args=["shot", shot_of(s).uuid]), "uuid text"),
}


def good_values(scene: Scene) -> dict[str, Any]:
    """Values that every form takes, so that the one odd field is what is judged."""
    return {
        "uuid": str(uuid.uuid4()),
        "version": "1",
        "name": "Odd One",
        "lane_count": "12",
        "what": "dressed",
        "lanes": ["5", "6"],
        "pattern_version": str(scene.version.pk),
        "done_at": "2026-06-06T08:00",
        "house": str(scene.house.pk),
        "starts_on": "2026-06-06",
        "ends_on": "2026-06-07",
        "time_zone": "UTC",
        "others_per_pair": "4",
        "right_handed_share": "0.9",
        "games_planned": "3",
        "starts_at": "2026-06-06T09:00",
        "state": "open",
        "bowler": str(scene.cast.bo_bowler.uuid),
        "objective": "floor",
        "balls": [str(scene.cast.bo_ball.uuid)],
        "lane": "5",
        "move_pairs": "1",
        "first_lane": "1",
        "last_lane": "12",
        "ball": str(scene.cast.bo_ball.uuid),
        "outcome": "clear",
        "notation": "X",
        "stretch_1_first_frame": "1",
        "stretch_1_last_frame": "10",
        "stretch_1_ball": str(scene.cast.bo_ball.uuid),
        "kind": "warm_up",
        "text": "Good speed.",
    }


@pytest.mark.long
@pytest.mark.parametrize("name", FORMS)
def test_nothing_typed_into_a_form_is_a_crash(scene: Scene, name: str) -> None:
    address, fields = FORMS[name]
    client, url = scene.cast.client(scene.cast.coach), address(scene)
    for field in fields.split():
        for typed in TYPED:
            with undone():
                answer = client.post(url, {**good_values(scene), field: typed})
            assert answer.status_code in (200, 302, 400, 404, 409), (field, typed[:20])


@pytest.mark.parametrize("zone", ["America/New_York", "Asia/Tokyo"])
@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("house-dress", "done_at"),
        ("block-new", "starts_at"),
        ("game-line", "bowled_at"),
        ("practice-new", "started_at"),
    ],
)
def test_a_moment_far_from_now_is_refused_whatever_the_readers_time_zone(
    scene: Scene, name: str, field: str, zone: str
) -> None:
    scene.cast.coach.time_zone = zone
    scene.cast.coach.save()
    client = scene.cast.client(scene.cast.coach)
    for typed in MOMENTS:
        answer = client.post(FORMS[name][0](scene), {**good_values(scene), field: typed})
        assert answer.status_code == 400, typed
        assert typed[:4] in answer.content.decode()


class undone(transaction.Atomic):
    """What one try stored must not be what the next one meets."""

    def __init__(self) -> None:
        super().__init__(using=None, savepoint=True, durable=False)

    def __exit__(self, *problem: Any) -> None:
        transaction.set_rollback(True)
        super().__exit__(*problem)


@pytest.mark.parametrize("number", ["0", "51", "65537", "9" * 30])
@pytest.mark.parametrize("name", ["game-line", "game-pair", "advice", "advice-ask"])
def test_a_number_in_an_address_that_nothing_has_is_not_found(scene: Scene, name: str, number: str) -> None:
    address = reverse(name, args=[scene.entry.uuid, 7]).replace("/7/", f"/{number}/")
    client = scene.cast.client(scene.cast.bo)
    answers = {client.get(address).status_code, client.post(address, {"lane": "5"}).status_code}
    assert answers <= {400, 404, 405}


# --- the API ----------------------------------------------------------------------------------------

FIELDS = {
    "houses": "uuid team name note lane_count version",
    "dressings": "uuid house lane_number done_at pattern pattern_version before_block note",
    "events": "uuid team house name starts_on ends_on time_zone max_balls others_per_pair right_handed_share"
    " windows rules_confirmed_by rules_confirmed_on rules_note shared_with_guests version",
    "blocks": "uuid event name squad format games_planned starts_at pattern pattern_version state version",
    "entries": "uuid block bowler objective balls version",
    "practices": "uuid entry kind lane_number started_at",
    "shots": "uuid entry practice game_number frame_number throw_number lane_number ball release pins_left"
    " pins_down at_pins_left foul hit_word offset_boards laydown_board speed_mph speed_read note thrown_at",
    "game-lines": "uuid entry game_number notation bowled_at stretches instead_of_shots",
    "comments": "uuid ball game shot text",
}
ACTIONS = {"entries/{}/pair": "game_number lane_number", "entries/{}/put-away": "ball put_away"}


def good_rows(scene: Scene) -> dict[str, dict[str, Any]]:
    team, ball = str(scene.cast.team.uuid), str(scene.cast.bo_ball.uuid)
    entry, pattern = str(scene.entry.uuid), str(scene.version.pattern.uuid)
    sheet = {"pattern": pattern, "pattern_version": 1}
    stretch = {"first_frame": 1, "last_frame": 10, "ball": ball}
    return {
        "houses": {"team": team, "name": "Odd House", "lane_count": 4},
        "dressings": {
            "house": str(scene.house.uuid),
            "lane_number": 5,
            "done_at": "2026-06-06T08:00Z",
            **sheet,
        },
        "events": {
            "team": team,
            "house": str(scene.house.uuid),
            "name": "Odd Cup",
            "starts_on": "2026-06-06",
            "ends_on": "2026-06-06",
        },
        "blocks": {
            "event": str(scene.event.uuid),
            "name": "Odd Block",
            "starts_at": "2026-06-06T09:00Z",
            **sheet,
        },
        "entries": {"block": str(scene.block.uuid), "bowler": str(scene.cast.bo_bowler.uuid)},
        "practices": {"entry": entry, "lane_number": 5},
        "shots": {"entry": entry, "ball": ball, "pins_left": [10]},
        "game-lines": {"entry": entry, "game_number": 2, "notation": "X", "stretches": [stretch]},
        "comments": {"ball": ball, "text": "Good speed."},
    }


@pytest.mark.long
@pytest.mark.parametrize("kind", FIELDS)
def test_nothing_sent_to_the_api_is_a_crash(scene: Scene, kind: str) -> None:
    client, good = scene.cast.client(scene.cast.coach), good_rows(scene)[kind]
    for field in FIELDS[kind].split():
        for odd in ODD:
            with undone():
                answer = send(client, "POST", f"/api/{kind}/", {**good, field: odd})
            assert answer.status_code in (200, 201, 400, 409), (field, str(odd)[:20])


@pytest.mark.parametrize("path", ACTIONS)
def test_nothing_sent_to_an_action_is_a_crash(scene: Scene, path: str) -> None:
    client, ball = scene.cast.client(scene.cast.bo), str(scene.cast.bo_ball.uuid)
    good = {"game_number": 2, "lane_number": 5, "ball": ball, "put_away": True}
    for field in ACTIONS[path].split():
        for odd in ODD:
            with undone():
                address = f"/api/{path.format(scene.entry.uuid)}/"
                answer = send(client, "POST", address, {**good, field: odd})
            assert answer.status_code in (200, 400), (field, str(odd)[:20])
