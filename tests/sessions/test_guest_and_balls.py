# ruff: noqa: F811  (a fixture is imported by name)
"""A shared event shows a guest its shots; a ball is named only where the guest sees the ball itself."""

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from arsenal.access import BallNames
from arsenal.models import Ball, Person
from sessions import record
from sessions.models import Advice, GameLine, LineStretch
from sessions.shot_paths import ShotPath
from tests.sessions.answers import answered
from tests.sessions.block import MINUTE, OpenBlock, opened  # noqa: F401  (a fixture)

UNNAMED = "a ball of Bo Aldwin"
NAME = "Grey Kettle"


@pytest.fixture
def shared(opened: OpenBlock) -> OpenBlock:
    """Bo's first game shot by shot, his second typed, and advice to change to the same ball."""
    opened.event.shared_with_guests = True
    opened.event.save()
    opened.bo.bag.create(ball=opened.cast.bo_ball)
    opened.shot(opened.bo, frame=1)
    game = opened.game(opened.bo, 2)
    line = GameLine.objects.create(game=game, notation="X X", bowled_at=game.started_at + 9 * MINUTE)
    LineStretch.objects.create(line=line, first_frame=1, last_frame=10, ball=opened.cast.bo_ball)
    answered(
        opened,
        action="change ball",
        ball_id=str(opened.cast.bo_ball.uuid),
        headline=f"Change to {NAME}",
        reasons=[f"{NAME} finds the pocket more often.", "Your track has lost oil."],
        surface={"suggested": True, "ball_id": str(opened.cast.bo_ball.uuid), "ball_name": NAME, "why": NAME},
    )
    Advice.objects.update(ball=opened.cast.bo_ball)
    return opened


def pages(opened: OpenBlock) -> list[str]:
    return [
        reverse("desk"),
        reverse("block", args=[opened.block.uuid]),
        reverse("review", args=[opened.block.uuid]),
        reverse("game-line", args=[opened.bo.uuid, 2]),
        reverse("advice", args=[opened.bo.uuid, 7]),
    ]


def api(opened: OpenBlock) -> list[str]:
    return [
        "/api/shots/",
        "/api/game-lines/",
        f"/api/entries/{opened.bo.uuid}/",
        reverse("api-advice", args=[opened.bo.uuid, 7]),
    ]


def without_balls(opened: OpenBlock) -> list[str]:
    """A guest reads nothing of a bag."""
    return [reverse("block", args=[opened.block.uuid]), f"/api/entries/{opened.bo.uuid}/"]


def text(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, address
    return answer.content.decode()


def test_a_guest_reads_the_shots_without_the_name_of_a_ball_that_is_not_shared(shared: OpenBlock) -> None:
    guest, ball = shared.cast.client(shared.cast.guest), shared.cast.bo_ball
    for address in [*pages(shared), *api(shared)]:
        seen = text(guest, address)
        assert NAME not in seen and str(ball.uuid) not in seen, address
        if address not in without_balls(shared):
            assert UNNAMED in seen, address


def test_a_guest_reads_the_name_of_a_ball_that_is_shared(shared: OpenBlock) -> None:
    Ball.objects.filter(pk=shared.cast.bo_ball.pk).update(shared_with_guests=True)
    guest = shared.cast.client(shared.cast.guest)
    for address in [*pages(shared), *api(shared)]:
        seen = text(guest, address)
        assert UNNAMED not in seen, address
        if address not in without_balls(shared):
            assert NAME in seen, address


def test_the_team_reads_every_name_and_an_outsider_no_page_at_all(shared: OpenBlock) -> None:
    cast = shared.cast
    for person in (cast.coach, cast.bo, cast.lin):
        for address in [*pages(shared), *api(shared)]:
            assert UNNAMED not in text(cast.client(person), address), address
        assert NAME in text(cast.client(person), reverse("review", args=[shared.block.uuid]))
    outsider = cast.client(cast.outsider)
    for address in [*pages(shared)[1:], *api(shared)[2:]]:
        assert outsider.get(address).status_code == 404, address
    for address in (reverse("desk"), *api(shared)[:2]):
        seen = text(outsider, address)
        assert NAME not in seen and "Bo Aldwin" not in seen


def test_the_api_says_null_for_the_ball_and_whose_it_is(shared: OpenBlock) -> None:
    def row(person: Person, kind: str) -> Any:
        (found,) = shared.cast.client(person).get(f"/api/{kind}/").json()["results"]
        return found["stretches"][0] if kind == "game-lines" else found

    for kind in ("shots", "game-lines"):
        hidden, known = row(shared.cast.guest, kind), row(shared.cast.bo, kind)
        assert (hidden["ball"], hidden["ball_name"]) == (None, UNNAMED)
        assert (known["ball"], known["ball_name"]) == (str(shared.cast.bo_ball.uuid), NAME)


def test_a_shot_without_a_ball_is_still_refused(shared: OpenBlock) -> None:
    sent = {"entry": str(shared.bo.uuid), "game_number": 3, "ball": None, "pins_left": []}
    answer = shared.cast.client(shared.cast.bo).post("/api/shots/", sent, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json() == {"ball": ["Ball is missing: choose one of the bag."]}


def test_sentences_written_before_a_ball_was_renamed_keep_quiet_as_well(shared: OpenBlock) -> None:
    for row in Advice.objects.all():
        row.inputs = {**row.inputs, "balls": [{"uuid": str(shared.cast.bo_ball.uuid), "name": NAME}]}
        row.save()
    Ball.objects.update(name="Kettle the Second")
    guest = shared.cast.client(shared.cast.guest)
    for address in (pages(shared)[-1], api(shared)[-1]):
        assert NAME not in text(guest, address), address


def test_the_stored_answer_itself_is_not_changed_by_a_guests_reading(shared: OpenBlock) -> None:
    text(shared.cast.client(shared.cast.guest), pages(shared)[-1])
    row = Advice.objects.first()
    assert row is not None and row.result["headline"] == f"Change to {NAME}" and row.ball is not None


def test_drawn_paths_name_balls_by_the_same_rule(shared: OpenBlock, monkeypatch: pytest.MonkeyPatch) -> None:
    """The drawing asks the one rule; the engine itself is tested elsewhere."""

    class Lane:
        lane, paths, without_line = shared.lanes[7], (), 0

    asked: list[str] = []

    def paths_of(game: Any, names: BallNames) -> list[Any]:
        shot = game.shots.first()
        asked.append(
            ShotPath(1, names.of(shot.ball_id, shot.ball.name, game.entry.bowler), [], None, "").ball
        )
        return []

    monkeypatch.setattr("sessions.shot_paths.paths_of", paths_of)
    address = reverse("review-paths", args=[shared.game(shared.bo).uuid])
    for person in (shared.cast.guest, shared.cast.lin):
        text(shared.cast.client(person), address)
    assert asked == [UNNAMED, NAME]


def test_names_cost_a_guest_no_query_for_each_shot(shared: OpenBlock) -> None:
    client = shared.cast.client(shared.cast.guest)

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            for address in ("/api/shots/", reverse("review", args=[shared.block.uuid])):
                text(client, address)
        return len(queries)

    few = count()
    for frame in range(2, 9):
        shared.shot(shared.bo, frame=frame)
    assert count() == few


def test_undone_shots_are_struck_through_in_the_review_and_count_no_more(opened: OpenBlock) -> None:
    cast = opened.cast
    opened.bo.bag.create(ball=cast.bo_ball)
    for left in ([10], []):
        facts = record.ShotFacts(ball=cast.bo_ball, pins_left=left)
        record.log_shot(opened.bo, facts, by=cast.bo, uid=uuid.uuid4())
    first, second = opened.bo.shots.order_by("pk")
    record.undo_shot(second, by=cast.coach)
    record.edit_shot(first, record.ShotFacts(ball=cast.bo_ball, pins_left=[7]), by=cast.bo, uid=uuid.uuid4())
    html = " ".join(text(cast.client(cast.bo), reverse("review", args=[opened.block.uuid])).split())
    assert "Show 2 undone shots" in html
    assert f"<s>Frame 1.1, lane 7, {NAME}: 10 pin</s>" in html
    assert f"<s>Frame 1.2, lane 7, {NAME}: spare</s>" in html
    undone = html.split("Show 2 undone shots")[1]
    assert undone.index("corrected") < undone.index("undone</span>") < undone.index("Ada")
    assert html.split("Show 2 undone shots")[0].count("<td>1.1</td>") == 1, "the table of shots has one each"
    opened.event.shared_with_guests = True
    opened.event.save()
    shared = text(cast.client(cast.guest), reverse("review", args=[opened.block.uuid]))
    assert NAME not in shared and UNNAMED in shared
    assert cast.client(cast.outsider).get(reverse("review", args=[opened.block.uuid])).status_code == 404


def test_a_game_without_undone_shots_offers_none(opened: OpenBlock) -> None:
    opened.shot(opened.bo)
    assert "undone shot" not in text(
        opened.cast.client(opened.cast.bo), reverse("review", args=[opened.block.uuid])
    )


@pytest.mark.parametrize("address", ["desk", "bags", "patterns", "houses"])
def test_a_guest_is_told_that_nothing_is_shared_and_not_that_there_is_nothing(
    opened: OpenBlock, address: str
) -> None:
    guest = text(opened.cast.client(opened.cast.guest), reverse(address))
    assert "None shared with you." in guest
    for untrue in ("No bowler to show", "No pattern yet", "No house yet", "No ball in a bag"):
        assert untrue not in guest
    assert "None shared with you." not in text(opened.cast.client(opened.cast.coach), reverse(address))
