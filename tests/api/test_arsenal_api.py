"""The API of bowlers, balls and the surface log: access, one row per uuid, stale edits, plain errors."""

import json
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from tests.conftest import Cast, make_ball

NOTHING = "00000000-0000-4000-8000-000000000000"
RELEASE = {"kind": "flatter", "speed_mph": 18, "rev_rate_rpm": 300, "axis_rotation_deg": 20}


def send(client: Client, method: str, path: str, data: Any = None) -> Any:
    body = json.dumps(data) if data is not None else ""
    return getattr(client, method)(f"/api/{path}", body, content_type="application/json")


def ball_of(bowler: Bowler, /, **changed: Any) -> dict[str, Any]:
    fields = {"name": "Tin Lantern", "cover": "reactive_pearl", "weight_lb": 15, "rg_in": 2.5}
    return {"bowler": str(bowler.uuid)} | fields | changed


def entry_of(ball: Ball, **changed: Any) -> dict[str, Any]:
    fields = {"kind": "sanded", "grits": [500, 1000], "done_at": "2026-03-05T10:00:00Z"}
    return {"ball": str(ball.uuid), **fields, **changed}


def own_rows(cast: Cast) -> dict[str, str]:
    """One row of Bo's for every collection."""
    layout = Layout.objects.create(ball=cast.bo_ball, pin_to_pap_in=4)
    entry = SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="sanded", grits=[1000], done_at=timezone.now(), entered_by=cast.bo
    )
    release = Release.objects.get(bowler=cast.bo_bowler, kind="strike")
    return {
        "bowlers": str(cast.bo_bowler.uuid),
        "releases": str(release.uuid),
        "balls": str(cast.bo_ball.uuid),
        "layouts": str(layout.uuid),
        "surface-entries": str(entry.uuid),
    }


@pytest.mark.parametrize(
    ("who", "seen", "edit"),
    [("coach", 200, 200), ("bo", 200, 200), ("lin", 200, 403), ("guest", 404, 404), ("outsider", 404, 404)],
)
def test_each_row_answers_each_reader_as_the_roles_say(cast: Cast, who: str, seen: int, edit: int) -> None:
    client = cast.client(getattr(cast, who))
    for collection, key in own_rows(cast).items():
        listed = [row["uuid"] for row in client.get(f"/api/{collection}/").json()["results"]]
        assert (key in listed) == (seen == 200), collection
        assert client.get(f"/api/{collection}/{key}/").status_code == seen
        if collection != "surface-entries":
            answer = send(client, "patch", f"{collection}/{key}/", {"version": 1})
            assert answer.status_code == edit, (collection, answer.content)


def test_nobody_signed_out_gets_anything(cast: Cast) -> None:
    for collection, key in own_rows(cast).items():
        for path in (f"{collection}/", f"{collection}/{key}/"):
            answer = Client().get(f"/api/{path}")
            assert answer.status_code == 403
            assert key not in answer.content.decode()
    for path in ("me/", "schema/", "teams/"):
        assert Client().get(f"/api/{path}").status_code == 403


def test_a_guest_reads_what_is_shared_and_changes_nothing(cast: Cast) -> None:
    rows = own_rows(cast)
    Bowler.objects.filter(pk=cast.bo_bowler.pk).update(shared_with_guests=True)
    Ball.objects.filter(pk=cast.bo_ball.pk).update(shared_with_guests=True)
    guest = cast.client(cast.guest)
    for collection, key in rows.items():
        assert guest.get(f"/api/{collection}/{key}/").status_code == 200
        assert len(guest.get(f"/api/{collection}/").json()["results"]) <= 2
        if collection != "surface-entries":
            assert send(guest, "patch", f"{collection}/{key}/", {"version": 1}).status_code == 403


def test_a_foreign_row_and_no_row_give_the_same_answer(cast: Cast) -> None:
    client = cast.client(cast.coach)
    for collection, theirs in (("bowlers", cast.outsider_bowler.uuid), ("balls", cast.outsider_ball.uuid)):
        foreign = client.get(f"/api/{collection}/{theirs}/")
        missing = client.get(f"/api/{collection}/{NOTHING}/")
        assert (foreign.status_code, foreign.content) == (404, missing.content)


def test_nothing_is_hung_on_a_row_of_somebody_else(cast: Cast) -> None:
    bo = cast.client(cast.bo)
    theirs = (cast.outsider_bowler, cast.lin_bowler)
    for bowler in theirs:
        answers = [
            send(bo, "post", "balls/", ball_of(bowler)),
            send(bo, "post", "releases/", {"bowler": str(bowler.uuid), **RELEASE}),
        ]
        assert [answer.status_code for answer in answers] == [400, 400]
    for ball in (cast.outsider_ball, cast.lin_ball):
        assert send(bo, "post", "surface-entries/", entry_of(ball)).status_code == 400
        assert send(bo, "post", "layouts/", {"ball": str(ball.uuid)}).status_code == 400
    foreign = send(bo, "post", "surface-entries/", entry_of(cast.outsider_ball)).json()
    missing = send(bo, "post", "surface-entries/", {**entry_of(cast.bo_ball), "ball": NOTHING}).json()
    key = str(cast.outsider_ball.uuid)
    assert foreign["ball"][0].replace(key, "") == missing["ball"][0].replace(NOTHING, "")


def test_a_correction_names_only_entries_of_ones_own(cast: Cast) -> None:
    theirs = SurfaceEntry.objects.create(ball=cast.lin_ball, kind="cleaned", done_at=timezone.now())
    answer = send(
        cast.client(cast.bo), "post", "surface-entries/", entry_of(cast.bo_ball, corrects=str(theirs.uuid))
    )
    assert answer.status_code == 400
    other = send(
        cast.client(cast.coach), "post", "surface-entries/", entry_of(cast.bo_ball, corrects=str(theirs.uuid))
    )
    assert "another ball" in other.json()["corrects"][0]


def test_a_player_makes_one_card_of_their_own_and_no_guest_any(cast: Cast) -> None:
    card = {"team": str(cast.team.uuid), "name": "Second", "hand": "left"}
    assert send(cast.client(cast.bo), "post", "bowlers/", card).status_code == 403
    assert send(cast.client(cast.guest), "post", "bowlers/", card).status_code == 403
    assert send(cast.client(cast.outsider), "post", "bowlers/", card).status_code == 400
    cast.bo_bowler.person = None
    cast.bo_bowler.save()
    assert send(cast.client(cast.bo), "post", "bowlers/", card).status_code == 201
    assert Bowler.objects.get(name="Second").person == cast.bo


def test_the_same_uuid_again_answers_with_the_row_it_made(cast: Cast) -> None:
    client = cast.client(cast.bo)
    for collection, data in (
        ("balls", ball_of(cast.bo_bowler)),
        ("releases", {"bowler": str(cast.bo_bowler.uuid), **RELEASE}),
        ("surface-entries", entry_of(cast.bo_ball)),
        ("layouts", {"ball": str(cast.bo_ball.uuid), "pin_to_pap_in": 4.5}),
    ):
        key = str(uuid.uuid4())
        first = send(client, "post", f"{collection}/", {**data, "uuid": key})
        again = send(client, "post", f"{collection}/", {**data, "uuid": key})
        assert (first.status_code, again.status_code) == (201, 200), (first.content, again.content)
        assert first.json() == again.json()
        assert first.json()["uuid"] == key


def test_a_uuid_of_somebody_else_answers_like_nothing(cast: Cast) -> None:
    for theirs in (cast.outsider_ball.uuid, cast.lin_ball.uuid):
        answer = send(cast.client(cast.bo), "post", "balls/", ball_of(cast.bo_bowler, uuid=str(theirs)))
        assert answer.status_code == 404
    assert not Ball.objects.filter(name="Tin Lantern").exists()


def test_a_stale_edit_is_refused_and_says_who_was_faster(cast: Cast) -> None:
    path = f"balls/{cast.bo_ball.uuid}/"
    assert (
        send(cast.client(cast.coach), "patch", path, {"version": 1, "weight_lb": 14}).json()["version"] == 2
    )
    answer = send(cast.client(cast.bo), "patch", path, {"version": 1, "name": "Mine"})
    assert answer.status_code == 409
    assert "Ada changed this ball" in answer.json()["version"][0]
    missing = send(cast.client(cast.bo), "patch", path, {"name": "Mine"})
    assert missing.status_code == 400
    assert "version" in missing.json()
    assert Ball.objects.get(pk=cast.bo_ball.pk).name == "Grey Kettle"


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"weight_lb": 16.3}, "weight_lb", "Weight 16.3 lb is not allowed: 6 to 16 lb."),
        ({"weight_lb": "heavy"}, "weight_lb", "Weight “heavy” is not a number: 6 to 16 lb."),
        ({"weight_lb": True}, "weight_lb", "Weight “True” is not a number: 6 to 16 lb."),
        ({"rg_in": 3.4}, "rg_in", "Radius of gyration 3.4 in is not allowed: 2.43 to 2.8 in."),
        (
            {"intermediate_differential_in": 0.01},
            "intermediate_differential_in",
            "0 to the differential, here 0",
        ),
        ({"drilled_on": "2999-01-01"}, "drilled_on", "Date drilled 2999-01-01 is not allowed"),
        ({"drilled_on": "soon"}, "drilled_on", "drilled_on 'soon'"),
        ({"cover": "glass"}, "cover", "Allowed: plastic, urethane, reactive_solid"),
        ({"name": ""}, "name", "name ''"),
        ({"name": "x" * 81}, "name", "80 characters"),
        ({"uuid": "7"}, "uuid", "uuid '7'"),
        ({"bowler": 7}, "bowler", "Bowler “7” is not allowed: the uuid of a bowler of yours."),
    ],
)
def test_wrong_values_name_field_value_and_range(
    cast: Cast, changed: dict[str, Any], field: str, message: str
) -> None:
    answer = send(cast.client(cast.bo), "post", "balls/", ball_of(cast.bo_bowler, **changed))
    assert answer.status_code == 400
    assert message in answer.json()[field][0], answer.json()
    if message.endswith("."):
        assert answer.json()[field][0] == message, "said once"
    assert not Ball.objects.filter(cover="reactive_pearl").exists()


@pytest.mark.parametrize(
    ("changed", "field", "message"),
    [
        ({"grits": [0]}, "grits", "Grit 0 is not allowed: 120 to 5000, whole numbers."),
        ({"grits": [500, 99999]}, "grits", "Grit 99999 is not allowed: 120 to 5000, whole numbers."),
        ({"grits": [500.5]}, "grits", "Grit 500.5 is not allowed"),
        ({"grits": "500"}, "grits", "grits '500'"),
        ({"grits": []}, "grits", "Pad list is missing"),
        ({"kind": "scanner"}, "grits", "does not go with"),
        ({"done_at": (timezone.now() + timedelta(days=1)).isoformat()}, "done_at", "up to now"),
        ({"done_at": "0001-01-01T00:00:00Z"}, "done_at", "from 1990-01-01"),
        ({"done_at": "9999-12-31T23:59:59Z"}, "done_at", "up to now"),
        ({"minutes": 1e308}, "minutes", "0.1 to 120 minutes"),
    ],
)
def test_wrong_surface_entries_name_field_value_and_range(
    cast: Cast, changed: dict[str, Any], field: str, message: str
) -> None:
    answer = send(cast.client(cast.bo), "post", "surface-entries/", entry_of(cast.bo_ball, **changed))
    assert answer.status_code == 400
    assert message in answer.json()[field][0], answer.json()
    assert not SurfaceEntry.objects.exists()


@pytest.mark.parametrize(
    "matrix",
    [
        [[1]],
        "identity",
        [["1", 0, 0, 0, 0]] + [[0, 1, 0, 0, 0]] * 4,
        [[True] * 5] * 5,
        [[2 if i == j else 0 for j in range(5)] for i in range(5)],
        [[1, 0, 0, 0], [0, 1, 0, 0, 0]],
        {},
    ],
)
def test_a_correlation_that_is_none_is_refused(cast: Cast, matrix: Any) -> None:
    data = {"bowler": str(cast.bo_bowler.uuid), **RELEASE, "scatter_correlation": matrix}
    answer = send(cast.client(cast.bo), "post", "releases/", data)
    assert answer.status_code == 400
    assert "is not allowed" in answer.json()["scatter_correlation"][0]


def test_a_second_release_of_a_kind_and_a_second_layout_are_refused(cast: Cast) -> None:
    client = cast.client(cast.bo)
    data = {"bowler": str(cast.bo_bowler.uuid), **RELEASE, "kind": "strike"}
    assert "there already" in send(client, "post", "releases/", data).json()["kind"][0]
    Layout.objects.create(ball=cast.bo_ball)
    answer = send(client, "post", "layouts/", {"ball": str(cast.bo_ball.uuid)})
    assert (answer.status_code, "has a layout already" in answer.json()["ball"][0]) == (400, True)


@pytest.mark.parametrize("body", ["", "null", "[]", "7", '"x"', "{", "[1,2]", '{"uuid": []}', '{"uuid": {}}'])
def test_a_body_that_is_no_object_is_refused_in_words(cast: Cast, body: str) -> None:
    for path in ("balls/", "surface-entries/", "bowlers/"):
        answer: HttpResponse = cast.client(cast.bo).post(
            f"/api/{path}", body, content_type="application/json"
        )
        assert answer.status_code == 400, (path, answer.content)


def test_a_row_stays_where_it_was_made(cast: Cast) -> None:
    path = f"balls/{cast.bo_ball.uuid}/"
    answer = send(cast.client(cast.coach), "patch", path, {"version": 1, "bowler": str(cast.lin_bowler.uuid)})
    assert answer.status_code == 400
    assert "not allowed to change" in answer.json()["bowler"][0]


def test_the_surface_log_only_grows(cast: Cast) -> None:
    client = cast.client(cast.bo)
    first = send(client, "post", "surface-entries/", entry_of(cast.bo_ball)).json()
    path = f"surface-entries/{first['uuid']}/"
    for method in ("put", "patch", "delete"):
        assert send(client, method, path, {"version": 1, "note": "rewritten"}).status_code == 405
    withdrawal = {"kind": "withdrawn", "grits": [], "corrects": first["uuid"]}
    answer = send(client, "post", "surface-entries/", entry_of(cast.bo_ball, **withdrawal))
    assert answer.status_code == 201
    assert client.get(f"/api/{path}").json()["corrected_by"] == answer.json()["uuid"]
    again = send(client, "post", "surface-entries/", entry_of(cast.bo_ball, **withdrawal))
    assert "corrected already" in again.json()["corrects"][0]


def test_nothing_is_deleted_by_the_api(cast: Cast) -> None:
    for collection, key in own_rows(cast).items():
        assert cast.client(cast.coach).delete(f"/api/{collection}/{key}/").status_code == 405


def test_a_ball_tells_its_derived_surface(cast: Cast) -> None:
    send(cast.client(cast.bo), "post", "surface-entries/", entry_of(cast.bo_ball))
    surface = cast.client(cast.bo).get(f"/api/balls/{cast.bo_ball.uuid}/").json()["surface"]
    assert surface["games_since_sanded"] == 0
    assert surface["sd_um"] > 0
    written = send(
        cast.client(cast.bo),
        "patch",
        f"balls/{cast.bo_ball.uuid}/",
        {"version": 1, "surface": {"roughness_um": 9}},
    )
    assert written.json()["surface"]["roughness_um"] == pytest.approx(surface["roughness_um"]), "never typed"


def test_lists_are_filtered_paged_and_constant_in_queries(cast: Cast) -> None:
    client = cast.client(cast.coach)
    counts = []
    for _ in range(2):
        for number in range(4):
            make_ball(cast.lin_bowler, f"Ball {number}")
        with CaptureQueriesContext(connection) as seen:
            found = client.get(f"/api/balls/?bowler={cast.lin_bowler.uuid}").json()["results"]
        assert {row["bowler"] for row in found} == {str(cast.lin_bowler.uuid)}
        counts.append(len(seen))
    assert counts[0] == counts[1]
    assert len(client.get("/api/balls/?limit=2").json()["results"]) == 2
    assert client.get("/api/balls/?bowler=nobody").status_code == 400
    assert client.get(f"/api/balls/?bowler={cast.outsider_bowler.uuid}").json()["results"] == []
    assert client.get(f"/api/balls/?limit={10**30}&offset={10**30}").status_code == 200


def test_me_and_teams_tell_only_ones_own(cast: Cast) -> None:
    me = cast.client(cast.bo).get("/api/me/").json()
    assert me["username"] == "bo"
    assert [(m["team"]["name"], m["role"]) for m in me["memberships"]] == [("Longwick Otters", "player")]
    for person in (cast.bo, cast.guest):
        teams = cast.client(person).get("/api/teams/").json()["results"]
        assert [team["name"] for team in teams] == ["Longwick Otters"]


def test_a_write_without_the_page_token_is_refused(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.bo)
    assert send(client, "post", "balls/", ball_of(cast.bo_bowler)).status_code == 403
