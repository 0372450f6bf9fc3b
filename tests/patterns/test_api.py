"""Patterns over the API: the same rules as on the page, and errors by field."""

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from arsenal.models import Membership
from arsenal.models.people import Role
from patterns.models import Pattern, PatternVersion
from patterns.record import Details, create_pattern
from patterns.sheet_parser import parse_sheet
from patterns.sheet_types import RawRow, RawSheet, RawTable
from tests.conftest import Cast

ROWS = [
    {"boards": "1R-7R", "oil": [6, 3]},
    {"boards": "8R-8L", "oil": [20, "12,5"]},
    {"boards": "7L-1L", "oil": [6, 3]},
]


def body(**changes: Any) -> dict[str, Any]:
    good = {"name": "Willow Bend", "length_ft": 40, "distances_ft": [8, 30], "rows": ROWS}
    return {name: value for name, value in (good | changes).items() if value is not ...}


def make(cast: Cast, shared: bool = False) -> Pattern:
    raw = RawSheet(length_ft="40", table=RawTable(["8"], [RawRow("1-39", ["5"])]))
    details = Details("Willow Bend", shared_with_guests=shared)
    return create_pattern(cast.team, cast.coach, uuid.uuid4(), details, parse_sheet(raw))[0]


def send(client: Client, method: str, address: str, data: Any) -> Any:
    return getattr(client, method)(address, data, content_type="application/json")


@pytest.fixture
def bo(cast: Cast) -> Client:
    return cast.client(cast.bo)


def test_a_sheet_is_created_and_read_back(bo: Client) -> None:
    made = send(bo, "post", "/api/patterns/", body())
    assert made.status_code == 201
    answer = bo.get(f"/api/patterns/{made.json()['uuid']}/").json()
    assert answer["sheet"]["oil"][1] == [3.0] * 7 + [12.5] * 25 + [3.0] * 7
    assert answer["sheet"]["number"] == 1 and answer["version"] == 1
    assert [row["name"] for row in bo.get("/api/patterns/").json()["results"]] == ["Willow Bend"]


def test_the_worked_ratio_comes_with_its_boards(bo: Client) -> None:
    """Worked check of the fact sheet: (60,62,64,62,60) over (14..18) is 61.6 / 16.0 = 3.85."""
    outside = [14, 15, 16, 17, 18]
    oil = [10, 10, *outside, *[30] * 10, 60, 62, 64, 62, 60, *[30] * 10, *reversed(outside), 10, 10]
    sheet = send(bo, "post", "/api/patterns/", body(rows=..., distances_ft=[22], oil=[oil])).json()["sheet"]
    ratio = next(row for row in sheet["ratios"] if row["distance_ft"] == 22)
    assert ratio["left"] == pytest.approx(3.85) and ratio["right"] == pytest.approx(3.85)
    assert ratio["boards"] == "18L-18R over 3L-7L and 3R-7R"


def test_a_dry_outside_has_no_ratio(bo: Client) -> None:
    rows = [{"boards": "1R-7R", "oil": [0]}, {"boards": "8R-1L", "oil": [9]}]
    sheet = send(bo, "post", "/api/patterns/", body(rows=rows, distances_ft=[0])).json()["sheet"]
    assert {row["right"] for row in sheet["ratios"]} == {None}
    assert {row["left"] for row in sheet["ratios"]} == {1.0}


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        (
            {"rows": ..., "oil": [[5] * 38, [5] * 39]},
            "oil",
            "oil at “8” ft: 38 boards given, exactly 39 needed.",
        ),
        (
            {"rows": ..., "oil": [[5] * 39]},
            "oil",
            "oil: 1 rows given, one for each of the 2 distances needed.",
        ),
        ({"rows": [{"boards": "1-39", "oil": [5, -1]}]}, "oil", "Boards 1-39 at 30 ft: “-1” is not allowed"),
        (
            {"rows": [{"boards": "1-39", "oil": [5, "oil"]}]},
            "oil",
            "“oil” is not a number, 0 to 200 units allowed",
        ),
        (
            {"rows": [{"boards": "1-39", "oil": [5, None]}]},
            "rows",
            "rows 1 oil 2: This field may not be null.",
        ),
        ({"length_ft": 29}, "oil", "lies beyond the stated length of 29 ft, only 0 allowed"),
        ({"length_ft": 99}, "length_ft", "Length: “99” is not allowed, 20 to 60 ft allowed."),
        ({"length_ft": True}, "length_ft", "“True” is not a number"),
        ({"distances_ft": [30, 8]}, "distances_ft", "Distance 2: 8 ft follows 30 ft"),
        ({"entry": "summary"}, "ratio", "Ratio is empty: 1 to 30 allowed."),
        ({"entry": "guess"}, "entry", "“guess” is not allowed, only table, passes, summary."),
        ({"name": ""}, "name", "may not be blank"),
        ({"text": "a;b"}, "text", "no row of oil below it"),
        ({"viscosity_cp": 501}, "viscosity_cp", "Viscosity: “501” is not allowed, 1 to 500 cP allowed."),
    ],
)
def test_slips_are_named_by_field(bo: Client, changes: dict[str, Any], field: str, words: str) -> None:
    response = send(bo, "post", "/api/patterns/", body(**changes))
    assert response.status_code == 400
    assert words in " ".join(response.json()[field])
    assert not Pattern.objects.exists()


def test_page_and_api_say_the_same_about_a_slip(bo: Client) -> None:
    response = send(bo, "post", "/api/patterns/", body(rows=[{"boards": "1-39", "oil": ["1,500", 3]}]))
    assert response.json() == {
        "oil": ["Boards 1-39 at 8 ft: “1,500” may mean 1.500 or 1500; write the one meant."]
    }


def test_pasted_text_and_passes_are_taken(bo: Client) -> None:
    text = "board\t0\t20\n1-39\t5,5\t3"
    made = send(bo, "post", "/api/patterns/", body(rows=..., distances_ft=..., text=text)).json()
    assert made["sheet"]["oil"][0] == [5.5] * 39
    line = {"boards": "2L-2R", "loads": 2, "volume_ul": 40, "from_ft": 0, "to_ft": 38}
    changes = {"rows": ..., "distances_ft": ..., "entry": "passes", "passes": [line]}
    made = send(bo, "post", "/api/patterns/", body(**changes)).json()["sheet"]
    assert made["is_reconstructed"] and made["volume_ml"] == pytest.approx(37 * 80 / 1000)
    assert made["film_scale_sd"] > 0.1


def test_the_same_uuid_again_answers_with_the_first_row(bo: Client) -> None:
    data = body(uuid=str(uuid.uuid4()))
    assert send(bo, "post", "/api/patterns/", data).status_code == 201
    again = send(bo, "post", "/api/patterns/", data)
    assert again.status_code == 200 and again.json()["uuid"] == data["uuid"]
    assert PatternVersion.objects.count() == 1


def test_an_update_makes_the_next_version_and_a_stale_one_is_refused(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    address = f"/api/patterns/{pattern.uuid}/"
    assert send(bo, "put", address, body(version=1)).json()["sheet"]["number"] == 2
    stale = send(bo, "patch", address, {"version": 1, "length_ft": 41})
    assert stale.status_code == 409 and "Bo changed this pattern" in stale.json()["version"][0]
    assert send(bo, "patch", address, {"length_ft": 41}).status_code == 400
    patched = send(bo, "patch", address, {"version": 2, "length_ft": 41}).json()
    assert patched["sheet"]["number"] == 3 and patched["sheet"]["length_ft"] == 41
    assert patched["sheet"]["distances_ft"] == [8.0, 30.0]
    renamed = send(bo, "patch", address, {"version": 3, "name": "Weir"}).json()
    assert renamed["sheet"]["number"] == 3 and renamed["name"] == "Weir"
    versions = bo.get(f"{address}versions/").json()["results"]
    assert [row["number"] for row in versions] == [1, 2, 3]
    assert bo.get(f"{address}versions/1/").json()["distances_ft"] == [8.0]
    assert bo.get(f"{address}versions/9/").status_code == 404


def test_another_team_gets_what_a_missing_pattern_gets(cast: Cast) -> None:
    pattern, none = make(cast), uuid.uuid4()
    for person in (cast.outsider, cast.guest):
        client = cast.client(person)
        assert client.get("/api/patterns/").json()["results"] == []
        for tail in ("", "versions/", "versions/1/"):
            answers = [client.get(f"/api/patterns/{key}/{tail}") for key in (pattern.uuid, none)]
            assert [a.status_code for a in answers] == [404, 404]
            assert answers[0].json() == answers[1].json()
        answers = [
            send(client, "put", f"/api/patterns/{key}/", body(version=1)) for key in (pattern.uuid, none)
        ]
        assert [a.status_code for a in answers] == [404, 404] and answers[0].json() == answers[1].json()
    taken = send(cast.client(cast.outsider), "post", "/api/patterns/", body(uuid=str(pattern.uuid)))
    assert taken.status_code == 404 and "Willow" not in taken.content.decode()
    assert Client().get("/api/patterns/").status_code == 403


def joined(cast: Cast, role: Role) -> None:
    """Bo, a player at home, in the other team too; pages go on showing the team joined first."""
    Membership.objects.create(team=cast.other_team, person=cast.bo, role=role)


def test_a_pattern_is_made_for_the_team_that_is_named(bo: Client, cast: Cast) -> None:
    joined(cast, Role.PLAYER)
    made = send(bo, "post", "/api/patterns/", body(team=str(cast.other_team.uuid))).json()
    home = send(bo, "post", "/api/patterns/", body(name="At home")).json()
    assert (made["team"], home["team"]) == (str(cast.other_team.uuid), str(cast.team.uuid))
    for team, name in ((cast.team, "At home"), (cast.other_team, "Willow Bend")):
        rows = bo.get("/api/patterns/", {"team": str(team.uuid)}).json()["results"]
        assert [row["name"] for row in rows] == [name]
    assert bo.get("/api/patterns/", {"team": "x"}).status_code == 400
    moved = body(version=1, team=str(cast.team.uuid))
    answer = send(bo, "put", f"/api/patterns/{made['uuid']}/", moved)
    assert answer.status_code == 400 and "team" in answer.json()


def test_a_team_one_only_visits_or_does_not_know_gets_no_pattern(bo: Client, cast: Cast) -> None:
    for_them = body(team=str(cast.other_team.uuid))
    stranger = send(bo, "post", "/api/patterns/", for_them)
    missing = send(bo, "post", "/api/patterns/", body(team=str(uuid.uuid4())))
    assert stranger.status_code == missing.status_code == 400
    assert stranger.json().keys() == missing.json().keys() == {"team"}
    assert cast.other_team.name not in stranger.content.decode()
    joined(cast, Role.GUEST)
    assert send(bo, "post", "/api/patterns/", for_them).status_code == 403
    assert not Pattern.objects.exists()


def test_page_and_api_let_the_same_patterns_be_changed(cast: Cast) -> None:
    """Whoever looks at one team may change what they may in another of theirs, by either way."""
    pattern = make(cast)
    Membership.objects.filter(person=cast.bo).delete()
    Membership.objects.create(team=cast.other_team, person=cast.bo, role=Role.GUEST)
    bo = cast.client(cast.bo)
    edit, api = reverse("pattern-edit", args=[pattern.uuid]), f"/api/patterns/{pattern.uuid}/"
    change = {"version": 1, "note": "dried early"}
    assert (bo.get(edit).status_code, send(bo, "patch", api, change).status_code) == (404, 404)
    assert bo.post(reverse("pattern-parse"), {"action": "check"}).status_code == 403
    membership = Membership.objects.create(team=cast.team, person=cast.bo, role=Role.GUEST)
    Pattern.objects.filter(pk=pattern.pk).update(shared_with_guests=True)
    assert (bo.get(edit).status_code, send(bo, "patch", api, change).status_code) == (403, 403)
    Membership.objects.filter(pk=membership.pk).update(role=Role.PLAYER)
    assert bo.get(edit).status_code == 200
    assert bo.post(reverse("pattern-parse"), {"action": "check"}).status_code == 200
    assert send(bo, "patch", api, change).status_code == 200


def test_a_guest_reads_what_is_shared_and_writes_nothing(cast: Cast) -> None:
    pattern = make(cast, shared=True)
    guest = cast.client(cast.guest)
    address = f"/api/patterns/{pattern.uuid}/"
    assert guest.get(address).json()["name"] == "Willow Bend"
    assert guest.get(f"{address}versions/1/").status_code == 200
    assert send(guest, "patch", address, {"version": 1, "name": "Mine"}).status_code == 403
    assert send(guest, "post", "/api/patterns/", body()).status_code == 403
    pattern.refresh_from_db()
    assert pattern.name == "Willow Bend" and Pattern.objects.count() == 1
