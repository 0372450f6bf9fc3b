"""Who reaches which page and which part of the API: an outsider nothing, as if it were not there."""

import re
import uuid
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.models import Person
from sessions import record
from sessions.models import Dressing, GameLine, PracticeWindow, Shot
from tests.conftest import make_ball
from tests.sessions.conftest import Scene

Address = Callable[[Scene], str]

PAGES: dict[str, Address] = {
    "house": lambda s: reverse("house", args=[s.house.uuid]),
    "event": lambda s: reverse("event", args=[s.event.uuid]),
    "block": lambda s: reverse("block", args=[s.block.uuid]),
    "lane-side": lambda s: reverse("lane-side", args=[s.entry.uuid]),
    "game-line": lambda s: reverse("game-line", args=[s.entry.uuid, 2]),
    "practice": lambda s: reverse("practice", args=[practice_of(s).uuid]),
}
EDITS: dict[str, Address] = {
    "house-edit": lambda s: reverse("house-edit", args=[s.house.uuid]),
    "event-edit": lambda s: reverse("event-edit", args=[s.event.uuid]),
    "block-new": lambda s: reverse("block-new", args=[s.event.uuid]),
    "block-edit": lambda s: reverse("block-edit", args=[s.block.uuid]),
    "entry-new": lambda s: reverse("entry-new", args=[s.block.uuid]),
    "entry-edit": lambda s: reverse("entry-edit", args=[s.entry.uuid]),
    "entry-plan": lambda s: reverse("entry-plan", args=[s.entry.uuid]),
    "practice-new": lambda s: reverse("practice-new", args=[s.entry.uuid]),
    "shot-edit": lambda s: reverse("shot-edit", args=[shot_of(s).uuid]),
}
WRITES: dict[str, Address] = {
    "house-dress": lambda s: reverse("house-dress", args=[s.house.uuid]),
    "dressing-undo": lambda s: reverse("dressing-undo", args=[dressing_of(s).uuid]),
    "block-state": lambda s: reverse("block-state", args=[s.block.uuid]),
    "ball-put-away": lambda s: reverse("ball-put-away", args=[s.entry.uuid]),
    "shot-log": lambda s: reverse("shot-log", args=[s.entry.uuid]),
    "game-pair": lambda s: reverse("game-pair", args=[s.entry.uuid, 1]),
    "game-line": lambda s: reverse("game-line", args=[s.entry.uuid, 2]),
    "line-undo": lambda s: reverse("line-undo", args=[line_of(s).uuid]),
    "shot-undo": lambda s: reverse("shot-undo", args=[shot_of(s).uuid]),
    "practice-log": lambda s: reverse("practice-log", args=[practice_of(s).uuid]),
}
# Any player of the team keeps events, blocks and houses; an entry is its bowler's and the coach's.
OF_THE_TEAM = {"house-edit", "event-edit", "block-new", "block-edit", "entry-new"}
WRITES_OF_THE_TEAM = {"house-dress", "dressing-undo", "block-state"}
API = ("houses", "dressings", "events", "blocks", "entries", "games", "practices", "shots", "game-lines")


def shot_of(scene: Scene) -> Shot:
    return Shot.objects.filter(entry=scene.entry).first() or scene.log([10])


def practice_of(scene: Scene) -> PracticeWindow:
    lane = scene.lane(5)
    return record.open_practice(scene.entry, kind="warm_up", lane=lane, started_at=None, uid=uuid.uuid4())[0]


def line_of(scene: Scene) -> GameLine:
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    given = {"stretches": [row], "bowled_at": None, "by": scene.cast.bo, "uid": uuid.uuid4()}
    return record.log_line(scene.entry, 3, notation="X", **given).line  # type: ignore[arg-type]


def dressing_of(scene: Scene) -> Dressing:
    return record.dress_lane(
        scene.lane(5),
        scene.version,
        done_at=timezone.now(),
        before_block=scene.block,
        by=scene.cast.bo,
        uid=uuid.uuid4(),
    )[0]


def as_(scene: Scene, person: Person) -> Client:
    return scene.cast.client(person)


@pytest.mark.parametrize("name", [*PAGES, *EDITS])
def test_an_outsider_gets_the_404_of_a_thing_that_is_not_there(scene: Scene, name: str) -> None:
    address = (PAGES | EDITS)[name](scene)
    theirs = as_(scene, scene.cast.outsider).get(address)
    missing = as_(scene, scene.cast.outsider).get(address.replace(address.split("/")[2], str(uuid.uuid4())))
    assert theirs.status_code == missing.status_code == 404
    assert theirs.content == missing.content


@pytest.mark.parametrize("name", WRITES)
def test_an_outsider_writes_nothing(scene: Scene, name: str) -> None:
    assert as_(scene, scene.cast.outsider).post(WRITES[name](scene)).status_code == 404


@pytest.mark.parametrize("name", [*PAGES, *EDITS])
def test_nobody_signed_in_is_sent_to_sign_in(scene: Scene, name: str) -> None:
    answer = Client().get((PAGES | EDITS)[name](scene))
    assert answer.status_code == 302 and answer.url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", PAGES)
def test_the_team_reads(scene: Scene, name: str) -> None:
    for person in (scene.cast.coach, scene.cast.bo, scene.cast.lin):
        assert as_(scene, person).get(PAGES[name](scene)).status_code == 200


@pytest.mark.parametrize("name", EDITS)
def test_the_bowler_and_the_coach_edit_and_a_teammate_only_what_is_the_teams(scene: Scene, name: str) -> None:
    for person in (scene.cast.coach, scene.cast.bo):
        assert as_(scene, person).get(EDITS[name](scene)).status_code == 200
    expected = 200 if name in OF_THE_TEAM else 403
    assert as_(scene, scene.cast.lin).get(EDITS[name](scene)).status_code == expected


@pytest.mark.parametrize("name", [name for name in WRITES if name not in WRITES_OF_THE_TEAM])
def test_a_teammate_does_not_write_into_another_bowlers_game(scene: Scene, name: str) -> None:
    assert as_(scene, scene.cast.lin).post(WRITES[name](scene)).status_code == 403


@pytest.mark.parametrize("name", [*EDITS, *WRITES])
def test_a_guest_writes_nothing(scene: Scene, name: str) -> None:
    client = as_(scene, scene.cast.guest)
    answer = client.post((EDITS | WRITES)[name](scene), {"state": "finished"})
    # A house is not shared, so for a guest it is not there.
    assert answer.status_code in (403, 404)


def test_a_guest_reads_a_shared_event_and_no_other(scene: Scene) -> None:
    client = as_(scene, scene.cast.guest)
    assert client.get(PAGES["lane-side"](scene)).status_code == 200
    scene.event.shared_with_guests = False
    scene.event.save()
    for name in ("event", "block", "lane-side"):
        assert client.get(PAGES[name](scene)).status_code == 404


def test_lists_hold_the_own_team_only(scene: Scene) -> None:
    html = as_(scene, scene.cast.outsider).get(reverse("events")).content.decode()
    assert "Farhaven Herons Open" in html and "Longwick" not in html
    html = as_(scene, scene.cast.outsider).get(reverse("houses")).content.decode()
    assert "Farhaven Herons Bowl" in html and "Longwick" not in html


@pytest.mark.parametrize("kind", API)
def test_the_api_lists_and_shows_an_outsider_nothing_of_the_team(scene: Scene, kind: str) -> None:
    for make in (shot_of, dressing_of, practice_of, line_of):
        make(scene)
    own = as_(scene, scene.cast.bo).get(f"/api/{kind}/").json()["results"]
    assert own
    client = as_(scene, scene.cast.outsider)
    theirs = {row["uuid"] for row in client.get(f"/api/{kind}/").json()["results"]}
    assert not theirs & {row["uuid"] for row in own}
    for row in own:
        assert client.get(f"/api/{kind}/{row['uuid']}/").status_code == 404
    assert Client().get(f"/api/{kind}/").status_code == 403


@pytest.mark.parametrize("kind", ["shots", "game-lines"])
@pytest.mark.parametrize("who", ["lin", "guest", "outsider"])
def test_the_api_undoes_for_the_bowler_and_the_coach_alone(scene: Scene, kind: str, who: str) -> None:
    row = shot_of(scene) if kind == "shots" else line_of(scene)
    client = as_(scene, getattr(scene.cast, who))
    answer = client.post(f"/api/{kind}/{row.uuid}/undo/", content_type="application/json")
    assert answer.status_code == (404 if who == "outsider" else 403)
    row.refresh_from_db()
    assert row.undone_at is None


def test_a_guest_of_a_shared_event_learns_nothing_of_a_bag_that_is_not_shared(scene: Scene) -> None:
    hidden = make_ball(scene.cast.bo_bowler, "Hidden Keel")
    scene.entry.bag.create(ball=hidden)
    shot_of(scene)
    block, entry = scene.block.uuid, scene.entry.uuid
    addresses = [PAGES[name](scene) for name in PAGES if name != "house"]
    addresses += [reverse("review", args=[block]), reverse("desk"), f"/api/entries/{entry}/", "/api/shots/"]
    client = as_(scene, scene.cast.guest)
    followed = {reverse("sign-out")}
    for address in addresses:
        answer = client.get(address)
        assert answer.status_code == 200, address
        html = answer.content.decode()
        assert hidden.name not in html, address
        # Nor is anything offered that would answer with a 404 or a 403.
        for link in set(re.findall(r'href="(/[^"?#]*)', html)) - followed:
            followed.add(link)
            # Drawing paths takes the engine seconds, and its address is tested elsewhere.
            if "/static/" not in link and "/paths/" not in link:
                assert client.get(link).status_code in (200, 302), (address, link)
