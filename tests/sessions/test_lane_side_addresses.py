# ruff: noqa: F811  (a fixture is imported by name)
"""What an address or a hand-made request may ask of the pages beside the lane, and advice taken over."""

import uuid
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import reverse

from sessions import record
from sessions.advice_cards import LaneCard
from sessions.models import Advice, Shot
from tests.sessions.answers import a_result, answered
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)
from tests.sessions.conftest import Scene
from tests.sessions.test_lane_side import HTMX, fields_of, form_of, page


@pytest.fixture
def bo(scene: Scene) -> Client:
    return scene.cast.client(scene.cast.bo)


@pytest.mark.parametrize("asked", ["50", "4", "0", "-1", "two", "", "9" * 5000, "²"])
def test_a_game_the_block_has_not_is_a_404(scene: Scene, bo: Client, asked: str) -> None:
    assert scene.block.games_planned == 3
    assert bo.get(page(scene), {"game": asked}).status_code == 404
    assert bo.get(page(scene), {"game": "3"}).status_code == 200


@pytest.mark.parametrize("asked", ["50", "9" * 5000, "two"])
def test_a_shot_for_a_game_the_block_has_not_is_refused_by_name(scene: Scene, bo: Client, asked: str) -> None:
    data = form_of(bo, scene) | {"outcome": "clear", "game_number": asked}
    answer = bo.post(reverse("shot-log", args=[scene.entry.uuid]), data)
    html = answer.content.decode()
    assert answer.status_code == 400 and "Game " in html and "1 to " in html
    assert "Where is game" not in html
    assert not Shot.objects.exists()


@pytest.mark.parametrize("number", ["50", "9" * 5000])
def test_a_pair_for_a_game_the_block_has_not_is_a_404(scene: Scene, bo: Client, number: str) -> None:
    address = reverse("game-pair", args=[scene.entry.uuid, 1]).replace("/1/", f"/{number}/")
    assert bo.post(address, {"lane": 5}).status_code == 404


def correction(scene: Scene, shot: Shot, **changes: Any) -> dict[str, Any]:
    """What the correction page would send, with the pins all down."""
    html = scene.cast.client(scene.cast.bo).get(reverse("shot-edit", args=[shot.uuid])).content.decode()
    return fields_of(html) | {"outcome": "clear"} | changes


def test_a_corrected_word_brings_its_own_number(scene: Scene, bo: Client) -> None:
    shot = scene.log(hit_word="light")
    data = correction(scene, shot)
    assert data["hit_word"] == "light" and data["offset_boards"] == ""
    assert bo.post(reverse("shot-edit", args=[shot.uuid]), data | {"hit_word": "high"}).status_code == 302
    corrected = Shot.objects.get(undone_at=None)
    assert (corrected.hit_word, corrected.offset_boards) == ("high", None)


def test_a_number_read_for_one_word_is_not_kept_with_another_unseen(scene: Scene, bo: Client) -> None:
    shot = scene.log(hit_word="light", offset_boards=3.8)
    url, data = reverse("shot-edit", args=[shot.uuid]), correction(scene, shot, hit_word="high")
    assert data["offset_boards"] == "3.8"
    refused = bo.post(url, data)
    html = refused.content.decode()
    assert refused.status_code == 400 and "Offset 3.8 boards was read for “light”" in html
    assert '<details class="more" open>' in html
    assert bo.post(url, data | {"offset_boards": "1.2"}).status_code == 302
    corrected = Shot.objects.get(undone_at=None)
    assert (corrected.hit_word, corrected.offset_boards) == ("high", 1.2)


def test_a_number_read_stays_with_its_word(scene: Scene, bo: Client) -> None:
    shot = scene.log(hit_word="light", offset_boards=3.8)
    data = correction(scene, shot, note="fast")
    assert bo.post(reverse("shot-edit", args=[shot.uuid]), data).status_code == 302
    corrected = Shot.objects.get(undone_at=None)
    assert (corrected.hit_word, corrected.offset_boards, corrected.note) == ("light", 3.8, "fast")


def test_an_undo_that_is_refused_says_so_in_the_panel(scene: Scene, bo: Client) -> None:
    older = scene.log()
    scene.log()
    answer = bo.post(reverse("shot-undo", args=[older.uuid]), headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 400 and "Undo the newest first" in html and "<html" not in html
    assert Shot.objects.filter(undone_at=None).count() == 2


def test_undo_in_practice_answers_with_the_panel_of_practice(scene: Scene, bo: Client) -> None:
    practice, _ = record.open_practice(
        scene.entry, kind="warm_up", lane=scene.lane(5), started_at=None, uid=uuid.uuid4()
    )
    facts = record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[10])
    shot = record.log_practice_shot(practice, facts, by=scene.cast.bo, uid=uuid.uuid4()).shot
    answer = bo.post(reverse("shot-undo", args=[shot.uuid]), headers=HTMX)
    html = answer.content.decode()
    assert answer.status_code == 200 and "<html" not in html
    assert "Taken back practice 1" in html and reverse("practice-log", args=[practice.uuid]) in html


def test_advice_leads_to_the_page_beside_the_lane_with_its_ball_and_line(opened: OpenBlock) -> None:
    ball = opened.cast.bo_ball
    owed = answered(opened, ball_id=str(ball.uuid))
    client = opened.cast.client(opened.cast.bo)
    advice = reverse("advice", args=[opened.bo.uuid, owed.left_lane.number])
    address = reverse("lane-side", args=[opened.bo.uuid])
    html = client.get(advice, headers=HTMX).content.decode()
    card = LaneCard(Advice.objects.filter(owed=owed).first())  # type: ignore[arg-type]
    assert f'href="{address}?{card.take_over.replace("&", "&amp;")}"' in html
    assert parse_qs(card.take_over) == {
        "ball": [str(ball.uuid)],
        "laydown_board": ["24"],
        "target_board": ["15"],
        "target_ft": ["15"],
    }
    fields = fields_of(client.get(f"{address}?{card.take_over}").content.decode())
    assert {name: [fields[name]] for name in parse_qs(card.take_over)} == parse_qs(card.take_over)
    # A coach takes it over for the bowler too; whoever only reads is offered nothing.
    assert "take-over" in opened.cast.client(opened.cast.coach).get(advice, headers=HTMX).content.decode()
    for reader in (opened.cast.lin, opened.cast.guest):
        assert "take-over" not in opened.cast.client(reader).get(advice, headers=HTMX).content.decode()


def test_an_answer_without_a_line_is_not_taken_over(opened: OpenBlock) -> None:
    owed = answered(opened, action="unknown", ball_id=None, line=None)
    card = LaneCard(Advice.objects.filter(owed=owed).first())  # type: ignore[arg-type]
    assert card.take_over == ""
    assert urlsplit(card.take_over).query == "" and a_result(owed.left_lane)["line"]
