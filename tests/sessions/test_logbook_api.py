"""The logbook's API: what a client sends, gets and is refused."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from sessions.models import Block, BlockEntry, Event, GameLine, House, Shot
from tests.sessions.conftest import Scene


@pytest.fixture
def bo(scene: Scene) -> Client:
    return scene.cast.client(scene.cast.bo)


def post(client: Client, path: str, **data: Any) -> Any:
    return client.post(f"/api/{path}/", data, content_type="application/json")


def shot_data(scene: Scene, **more: Any) -> dict[str, Any]:
    ball = str(scene.cast.bo_ball.uuid)
    return {"entry": str(scene.entry.uuid), "ball": ball, "pins_left": [10], **more}


def line_data(scene: Scene, **more: Any) -> dict[str, Any]:
    stretch = {"first_frame": 1, "last_frame": 10, "ball": str(scene.cast.bo_ball.uuid)}
    given = {"entry": str(scene.entry.uuid), "game_number": 1, "notation": "X 9/ 81", "stretches": [stretch]}
    return {**given, **more}


def test_a_shot_is_created_once_per_uuid(scene: Scene, bo: Client) -> None:
    data = shot_data(scene, uuid=str(uuid.uuid4()), laydown_board=20, speed_mph=17.5, speed_read="release")
    first, again = post(bo, "shots", **data), post(bo, "shots", **data)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["uuid"] == again.json()["uuid"] == data["uuid"]
    shown = first.json()
    assert (shown["pins_left"], shown["frame_number"], shown["lane_number"]) == ([10], 1, 5)
    assert shown["entered_by"] == "Bo"
    assert Shot.objects.count() == 1


def test_a_uuid_of_another_team_is_a_404(scene: Scene, bo: Client) -> None:
    data = shot_data(scene, uuid=str(uuid.uuid4()))
    post(bo, "shots", **data)
    other = {"entry": str(scene.other_entry.uuid), "ball": str(scene.cast.outsider_ball.uuid)}
    answer = post(scene.cast.client(scene.cast.outsider), "shots", **(data | other))
    assert answer.status_code == 404 and data["uuid"] not in answer.content.decode()


@pytest.mark.parametrize(
    ("more", "field", "text"),
    [
        ({"pins_left": [11]}, "pins_left", "Pin 11 is not allowed: 1 to 10, whole numbers."),
        ({"pins_left": list(range(1, 12))}, "pins_left", "Pin 11 is not allowed: 1 to 10"),
        ({"pins_left": ["x"]}, "pins_left", "Pin “x” is not a number"),
        ({"pins_left": [7], "pins_down": [7]}, "pins_left", "Pin 7 is both down and standing"),
        ({"laydown_board": 40}, "laydown_board", "Laydown board 40 is not allowed: 1 to 39."),
        ({"laydown_board": "wide"}, "laydown_board", "Laydown board “wide” is not a number: 1 to 39."),
        ({"hit_word": "sideways"}, "hit_word", "'sideways'"),
        ({"frame_number": 11}, "frame_number", "Frame 11 is not allowed: 0 to 10"),
        ({"frame_number": 4, "throw_number": 1}, "frame_number", "is not the next one. Next is frame 1"),
        ({"game_number": 9}, "game_number", "Game 9 is not allowed: 1 to 3 here."),
        ({"lane_number": 12}, "lane", "Lane 12 is not allowed: 5 or 6."),
        ({"lane_number": 99}, "lane_number", "has lanes 1 to 12"),
        ({"ball": "mine"}, "ball", "Ball “mine” is not allowed"),
        ({"entry": None}, "entry", "entry"),
    ],
)
def test_a_wrong_shot_is_a_400_with_field_value_and_range(
    scene: Scene, bo: Client, more: dict[str, Any], field: str, text: str
) -> None:
    answer = post(bo, "shots", **shot_data(scene, **more))
    assert answer.status_code == 400
    assert text in " ".join(answer.json()[field])
    assert not Shot.objects.exists()


def test_balls_of_others_are_refused_and_a_foreign_one_is_not_named(scene: Scene, bo: Client) -> None:
    coach = scene.cast.client(scene.cast.coach)
    mate = post(coach, "shots", **shot_data(scene, ball=str(scene.cast.lin_ball.uuid)))
    assert "it is not one of Bo Aldwin's balls" in mate.json()["ball"][0]
    foreign = post(bo, "shots", **shot_data(scene, ball=str(scene.cast.outsider_ball.uuid)))
    assert foreign.status_code == 400 and "Heron" not in foreign.content.decode()


def test_an_entry_of_a_teammate_takes_no_shot(scene: Scene, bo: Client) -> None:
    answer = post(bo, "shots", **shot_data(scene, entry=str(scene.lin_entry.uuid)))
    assert answer.status_code == 400 and not Shot.objects.exists()


def test_correct_and_undo(scene: Scene, bo: Client) -> None:
    first = post(bo, "shots", **shot_data(scene)).json()
    data = {"ball": first["ball"], "pins_left": [7], "uuid": str(uuid.uuid4())}
    fixed = post(bo, f"shots/{first['uuid']}/correct", **data)
    assert fixed.status_code == 201 and fixed.json()["replaces"] == first["uuid"]
    assert post(bo, f"shots/{first['uuid']}/correct", **data).status_code == 200
    second = post(bo, "shots", **shot_data(scene, pins_left=[])).json()
    late = post(bo, f"shots/{fixed.json()['uuid']}/undo")
    assert late.status_code == 400 and "Undo the newest first" in late.json()["shot"][0]
    assert post(bo, f"shots/{second['uuid']}/undo").json()["undone_at"] is not None


def test_shots_are_listed_by_game_with_what_was_undone(scene: Scene, bo: Client) -> None:
    shot = scene.log([10])
    scene.log(game_number=2)
    listed = bo.get("/api/shots/", {"game": str(shot.game.uuid)}).json()
    assert [row["uuid"] for row in listed["results"]] == [str(shot.uuid)]
    assert bo.get("/api/shots/", {"game": "x"}).status_code == 400


def test_a_bag_is_for_the_team_and_a_guest_learns_nothing_of_it(scene: Scene) -> None:
    scene.cast.bo_ball.shared_with_guests = True
    scene.cast.bo_ball.save()
    cast, address = scene.cast, f"/api/entries/{scene.entry.uuid}/"
    for person in (cast.bo, cast.lin, cast.coach):
        bag = cast.client(person).get(address).json()["bag"]
        assert {place["ball"] for place in bag} == {str(cast.bo_ball.uuid), str(scene.spare_ball.uuid)}
    shown = cast.client(cast.guest).get(address)
    assert shown.status_code == 200 and shown.json()["bag"] == []
    listed = cast.client(cast.guest).get("/api/entries/").json()["results"]
    assert [row["bag"] for row in listed] == [[], []]
    assert cast.client(cast.outsider).get(address).status_code == 404


def test_of_two_who_log_the_same_practice_throw_one_is_told(scene: Scene, bo: Client) -> None:
    practice = post(bo, "practices", entry=str(scene.entry.uuid), lane_number=6).json()["uuid"]
    data = shot_data(scene, practice=practice, throw_number=1)
    coach = scene.cast.client(scene.cast.coach)
    assert [post(client, "shots", **data).status_code for client in (coach, bo)] == [201, 400]
    refused = post(bo, "shots", **data)
    assert refused.json() == {"throw_number": ["Throw 1 was logged meanwhile (10 pin). Next is throw 2."]}
    assert post(bo, "shots", **data | {"throw_number": 2}).status_code == 201
    assert Shot.objects.count() == 2


def test_a_practice_takes_shots_of_its_own(scene: Scene, bo: Client) -> None:
    practice = post(bo, "practices", entry=str(scene.entry.uuid), lane_number=6)
    assert practice.status_code == 201 and practice.json()["left_lane"] == 5
    data = shot_data(scene, practice=practice.json()["uuid"])
    data.pop("entry")
    first = post(bo, "shots", **data)
    assert first.json()["frame_number"] == 0 and first.json()["game"] is None
    second = post(bo, "shots", **(data | {"pins_left": [], "at_pins_left": True}))
    assert second.json()["pins_before"] == [10]


def test_a_game_line_is_created_once_and_scores_the_game(scene: Scene, bo: Client) -> None:
    data = line_data(scene, uuid=str(uuid.uuid4()))
    assert [post(bo, "game-lines", **data).status_code for _ in range(2)] == [201, 200]
    game = bo.get("/api/games/", {"entry": str(scene.entry.uuid)}).json()["results"][0]
    assert (game["score"]["total"], game["score"]["scored_from"]) == (47, "line")
    assert game["score"]["notation"] == "X 9/ 81"
    line = GameLine.objects.get()
    assert post(bo, f"game-lines/{line.uuid}/undo").json()["undone_at"] is not None


@pytest.mark.parametrize(
    ("more", "field", "text"),
    [
        ({"notation": "X 9/ 85"}, "notation", "Frame 3 “5” is not allowed"),
        ({"game_number": 4}, "game_number", "Game 4 is not allowed: 1 to 3 here."),
        ({"stretches": []}, "stretches", "empty"),
    ],
)
def test_a_wrong_line_is_a_400_at_its_field(
    scene: Scene, bo: Client, more: dict[str, Any], field: str, text: str
) -> None:
    answer = post(bo, "game-lines", **line_data(scene, **more))
    assert answer.status_code == 400 and text in " ".join(answer.json()[field])


def test_a_whole_event_is_set_up_through_the_api(scene: Scene, bo: Client) -> None:
    team = str(scene.cast.team.uuid)
    house = post(bo, "houses", team=team, name="Long Room", lane_count=8).json()
    windows = [{"kind": "before_event", "allowed": True, "by_machine": True, "where": "pro shop"}]
    event = post(
        bo,
        "events",
        team=team,
        house=house["uuid"],
        name="Otter Cup",
        starts_on="2026-07-01",
        ends_on="2026-07-02",
        windows=windows,
    ).json()
    assert event["windows"][0]["where"] == "pro shop"
    block = post(
        bo,
        "blocks",
        event=event["uuid"],
        name="Squad B",
        games_planned=4,
        starts_at="2026-07-01T09:00:00Z",
        pattern=str(scene.version.pattern.uuid),
        pattern_version=1,
    ).json()
    entry = post(
        bo,
        "entries",
        block=block["uuid"],
        bowler=str(scene.cast.bo_bowler.uuid),
        balls=[str(scene.cast.bo_ball.uuid)],
    ).json()
    crossing = {"start_lane": 2, "move_pairs": 1, "first_lane": 1, "last_lane": 8}
    planned = post(bo, f"entries/{entry['uuid']}/crossing", **crossing).json()
    assert [(pair["left_lane"], pair["starts_on_left"]) for pair in planned["pairs"]] == [
        (1, False),
        (3, False),
        (5, False),
        (7, False),
    ]
    dressing = post(
        bo,
        "dressings",
        house=house["uuid"],
        lane_number=2,
        done_at=timezone.now().isoformat(),
        pattern=str(scene.version.pattern.uuid),
        pattern_version=1,
        before_block=block["uuid"],
    )
    assert dressing.status_code == 201
    shot = post(bo, "shots", **shot_data(scene, entry=entry["uuid"]))
    assert shot.json()["lane_number"] == 2
    away = post(bo, f"entries/{entry['uuid']}/put-away", ball=str(scene.cast.bo_ball.uuid), put_away=True)
    place = {"ball": str(scene.cast.bo_ball.uuid), "ball_name": "Grey Kettle", "put_away": True}
    assert away.json()["bag"] == [place]
    moved = post(bo, f"entries/{entry['uuid']}/pair", game_number=1, lane_number=5)
    assert moved.json()["pairs"][0]["left_lane"] == 5
    assert Shot.objects.get(uuid=shot.json()["uuid"]).lane.number == 5


@pytest.mark.parametrize(("model", "kind"), [(House, "houses"), (Event, "events"), (Block, "blocks")])
def test_a_stale_edit_is_a_409_that_names_who(scene: Scene, bo: Client, model: Any, kind: str) -> None:
    row = model.objects.filter(pk=getattr(scene, kind[:-1]).pk).get()
    path, given = f"/api/{kind}/{row.uuid}/", {"content_type": "application/json"}
    coach = scene.cast.client(scene.cast.coach)
    assert coach.patch(path, {"name": "First", "version": 1}, **given).status_code == 200
    late = bo.patch(path, {"name": "Second", "version": 1}, **given)
    assert late.status_code == 409 and "Ada" in late.json()["version"][0]
    row.refresh_from_db()
    assert row.name == "First"
    assert bo.patch(path, {"name": "Third"}, **given).status_code == 400


def test_an_entry_is_changed_and_a_rival_refused(scene: Scene, bo: Client) -> None:
    path = f"/api/entries/{scene.entry.uuid}/"
    changed = bo.patch(path, {"objective": "score", "version": 1}, content_type="application/json")
    assert changed.json()["objective"] == "score" and len(changed.json()["bag"]) == 2
    rival = post(bo, "entries", block=str(scene.block.uuid), bowler=str(scene.cast.bo_bowler.uuid))
    assert rival.status_code == 400 and "already in this block" in rival.json()["bowler"][0]
    assert BlockEntry.objects.filter(block=scene.block).count() == 2


def test_a_guest_and_an_outsider_add_nothing_to_the_team(scene: Scene) -> None:
    data = {"team": str(scene.cast.team.uuid), "name": "Side Door", "lane_count": 4}
    assert post(scene.cast.client(scene.cast.guest), "houses", **data).status_code == 403
    outside = post(scene.cast.client(scene.cast.outsider), "houses", **data)
    assert outside.status_code == 400 and "Longwick" not in outside.content.decode()
    assert not House.objects.filter(name="Side Door").exists()


@pytest.mark.parametrize("kind", ["shots", "games", "entries", "game-lines"])
def test_lists_take_the_same_queries_for_one_row_as_for_many(
    scene: Scene, bo: Client, kind: str, django_assert_max_num_queries: Any
) -> None:
    scene.log_strikes(12)
    for number in (2, 3):
        post(bo, "game-lines", **line_data(scene, game_number=number))
    with django_assert_max_num_queries(14):
        assert bo.get(f"/api/{kind}/").status_code == 200
