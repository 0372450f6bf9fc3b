# ruff: noqa: F811  (a fixture is imported by name)
"""Comments: a coach on everything of the team, a player on their own, a guest reads what is shared."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from arsenal.models import Person
from sessions.models import Comment
from tests.conftest import Cast
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)

HTMX = {"HTTP_HX_REQUEST": "true"}


def post(client: Client, kind: str, thing: object, text: str = "Good speed.", key: str | None = None):
    url = reverse("comments", args=[kind, thing.uuid])
    return client.post(url, {"text": text, "uuid": key or str(uuid.uuid4())}, **HTMX)


def test_a_coach_comments_on_ball_game_and_shot_and_the_player_reads_it(opened: OpenBlock) -> None:
    cast, shot = opened.cast, opened.shot(opened.bo)
    things = {"ball": cast.bo_ball, "game": shot.game, "shot": shot}
    for kind, thing in things.items():
        answer = post(cast.client(cast.coach), kind, thing, text=f"On the {kind}")
        assert answer.status_code == 200
        read = cast.client(cast.bo).get(reverse("comments", args=[kind, thing.uuid]), **HTMX)
        assert f"On the {kind}" in read.content.decode()
        assert "Ada" in read.content.decode()


def test_a_player_writes_on_their_own_and_only_reads_a_team_mates(opened: OpenBlock) -> None:
    cast = opened.cast
    assert post(cast.client(cast.bo), "ball", cast.bo_ball).status_code == 200
    assert post(cast.client(cast.bo), "ball", cast.lin_ball).status_code == 403
    page = cast.client(cast.bo).get(reverse("comments", args=["ball", cast.lin_ball.uuid]), **HTMX)
    assert page.status_code == 200
    assert "<form" not in page.content.decode()
    assert Comment.objects.get().ball == cast.bo_ball


def test_a_guest_reads_on_shared_things_only_and_never_writes(opened: OpenBlock) -> None:
    cast = opened.cast
    Comment.objects.create(ball=cast.bo_ball, text="Quiet word", written_by=cast.coach)
    guest = cast.client(cast.guest)
    url = reverse("comments", args=["ball", cast.bo_ball.uuid])
    assert guest.get(url).status_code == 404
    cast.bo_ball.shared_with_guests = True
    cast.bo_ball.save()
    assert "Quiet word" in guest.get(url).content.decode()
    assert post(guest, "ball", cast.bo_ball).status_code == 403


def test_an_outsider_cannot_tell_a_real_thing_from_a_missing_one(opened: OpenBlock) -> None:
    cast, shot = opened.cast, opened.shot(opened.bo)
    outsider = cast.client(cast.outsider)
    for kind, thing in {"ball": cast.bo_ball, "game": shot.game, "shot": shot}.items():
        real = outsider.get(reverse("comments", args=[kind, thing.uuid]))
        missing = outsider.get(reverse("comments", args=[kind, uuid.uuid4()]))
        assert (real.status_code, missing.status_code) == (404, 404)
        assert real.content == missing.content
        assert post(outsider, kind, thing).status_code == 404
    assert not Comment.objects.exists()


def test_a_stranger_is_sent_to_sign_in(cast: Cast) -> None:
    answer = Client().get(reverse("comments", args=["ball", cast.bo_ball.uuid]))
    assert answer.status_code == 302
    assert reverse("sign-in") in answer["Location"]


def test_an_unknown_kind_is_not_found(cast: Cast) -> None:
    for kind in ("bowler", "person", "x"):
        url = reverse("comments", args=[kind, cast.bo_bowler.uuid])
        assert cast.client(cast.coach).get(url).status_code == 404


def test_a_doubled_submission_leaves_one_comment(cast: Cast) -> None:
    key = str(uuid.uuid4())
    for _ in range(2):
        assert post(cast.client(cast.bo), "ball", cast.bo_ball, key=key).status_code == 200
    assert Comment.objects.count() == 1


def test_somebody_elses_uuid_is_refused_like_a_missing_thing(cast: Cast) -> None:
    key = str(uuid.uuid4())
    post(cast.client(cast.coach), "ball", cast.lin_ball, key=key)
    assert post(cast.client(cast.bo), "ball", cast.bo_ball, key=key).status_code == 404
    assert Comment.objects.count() == 1


@pytest.mark.parametrize(
    ("text", "message"),
    [("", "write 1 to 1000 characters"), ("x" * 1001, "Comment of 1001 characters is too long: 1 to 1000")],
)
def test_a_bad_comment_is_refused_by_name_and_what_was_typed_stays(
    cast: Cast, text: str, message: str
) -> None:
    answer = post(cast.client(cast.bo), "ball", cast.bo_ball, text=text)
    assert answer.status_code == 400
    assert message in answer.content.decode()
    assert text in answer.content.decode()
    assert not Comment.objects.exists()


def test_a_comment_is_shown_as_text_whatever_it_holds(cast: Cast) -> None:
    answer = post(cast.client(cast.bo), "ball", cast.bo_ball, text="<script>alert(1)</script>")
    assert "<script>" not in answer.content.decode()


def test_without_htmx_it_is_a_page_and_a_saved_comment_leads_back_to_it(cast: Cast) -> None:
    client, url = cast.client(cast.bo), reverse("comments", args=["ball", cast.bo_ball.uuid])
    assert "<main" in client.get(url).content.decode()
    saved = client.post(url, {"text": "Plain form", "uuid": str(uuid.uuid4())})
    assert (saved.status_code, saved["Location"]) == (302, url)


def test_a_comment_outlives_the_account_that_wrote_it(cast: Cast) -> None:
    leaver = Person.objects.create_user("lee")
    Comment.objects.create(ball=cast.bo_ball, text="Before I left", written_by=leaver)
    leaver.delete()
    page = cast.client(cast.bo).get(reverse("comments", args=["ball", cast.bo_ball.uuid]))
    assert "Somebody who has left" in page.content.decode()
