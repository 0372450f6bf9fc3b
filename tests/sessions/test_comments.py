# ruff: noqa: F811  (a fixture is imported by name)
"""Comments: a coach on everything of the team, a player on their own, a guest reads what is shared."""

import uuid
from itertools import product

import pytest
from django.test import Client
from django.urls import reverse

from arsenal.access import changeable, visible
from arsenal.models import Ball, Person
from sessions.models import Comment, Event
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


def test_comments_are_read_through_the_one_place_that_decides(opened: OpenBlock) -> None:
    cast, shot = opened.cast, opened.shot(opened.bo)
    on_ball = Comment.objects.create(ball=cast.bo_ball, written_by=cast.coach, text="b")
    on_shot = Comment.objects.create(shot=shot, written_by=cast.coach, text="s")
    for event_shared, ball_shared in product((False, True), repeat=2):
        Event.objects.filter(pk=opened.event.pk).update(shared_with_guests=event_shared)
        Ball.objects.filter(pk=cast.bo_ball.pk).update(shared_with_guests=ball_shared)
        read = {on_ball: ball_shared, on_shot: event_shared}
        assert set(visible(cast.guest, Comment)) == {comment for comment, shared in read.items() if shared}
    for person in (cast.coach, cast.bo, cast.lin):
        assert list(visible(person, Comment).order_by("pk")) == [on_ball, on_shot]
    assert not visible(cast.outsider, Comment).exists() and not changeable(cast.outsider, Comment).exists()
    assert not changeable(cast.lin, Comment).exists()


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


# --- the API ----------------------------------------------------------------------------------------


def send(client: Client, **data: object):
    return client.post("/api/comments/", data, content_type="application/json")


def test_the_api_stores_a_comment_once_and_lists_it_by_what_it_is_on(opened: OpenBlock) -> None:
    cast, shot = opened.cast, opened.shot(opened.bo)
    coach, key = cast.client(cast.coach), str(uuid.uuid4())
    first, again = (send(coach, uuid=key, shot=str(shot.uuid), text="Good speed.") for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    shown = {name: first.json()[name] for name in ("uuid", "ball", "game", "shot", "text", "written_by")}
    assert shown == {
        "uuid": key,
        "ball": None,
        "game": None,
        "shot": str(shot.uuid),
        "text": "Good speed.",
        "written_by": "Ada",
    }
    send(coach, ball=str(cast.bo_ball.uuid), text="On the ball")
    reader = cast.client(cast.lin)
    assert [row["text"] for row in reader.get("/api/comments/").json()["results"]] == [
        "Good speed.",
        "On the ball",
    ]
    (only,) = reader.get("/api/comments/", {"shot": str(shot.uuid)}).json()["results"]
    assert only["uuid"] == key
    assert reader.get(f"/api/comments/{key}/").json() == only


def test_the_api_lets_those_write_who_may_change_the_thing(opened: OpenBlock) -> None:
    cast = opened.cast
    cast.bo_ball.shared_with_guests = True
    cast.bo_ball.save()
    missing = send(cast.client(cast.bo), ball=str(uuid.uuid4()), text="Quiet word").json()
    for person in (cast.lin, cast.guest, cast.outsider):
        answer = send(cast.client(person), ball=str(cast.bo_ball.uuid), text="Quiet word")
        assert answer.status_code == 400
        assert list(answer.json()) == list(missing) == ["ball"]
    assert send(Client(), ball=str(cast.bo_ball.uuid), text="Quiet word").status_code == 403
    assert not Comment.objects.exists()


def test_the_api_shows_a_guest_what_is_on_shared_things_and_an_outsider_nothing(opened: OpenBlock) -> None:
    cast = opened.cast
    on_ball = Comment.objects.create(ball=cast.bo_ball, text="Quiet word", written_by=cast.coach)
    on_game = Comment.objects.create(game=opened.game(opened.bo), text="Long day", written_by=cast.coach)

    def seen(person: Person) -> list[str]:
        return [row["text"] for row in cast.client(person).get("/api/comments/").json()["results"]]

    assert (seen(cast.bo), seen(cast.guest)) == (["Quiet word", "Long day"], [])
    cast.bo_ball.shared_with_guests = True
    cast.bo_ball.save()
    assert seen(cast.guest) == ["Quiet word"]
    opened.event.shared_with_guests = True
    opened.event.save()
    assert seen(cast.guest) == ["Quiet word", "Long day"]
    assert seen(cast.outsider) == []
    for comment in (on_ball, on_game):
        assert cast.client(cast.outsider).get(f"/api/comments/{comment.uuid}/").status_code == 404


def test_the_api_refuses_somebody_elses_uuid_like_a_missing_thing(cast: Cast) -> None:
    key = str(uuid.uuid4())
    assert send(cast.client(cast.coach), uuid=key, ball=str(cast.lin_ball.uuid), text="A").status_code == 201
    for person, ball in (
        (cast.bo, cast.bo_ball),
        (cast.lin, cast.lin_ball),
        (cast.outsider, cast.outsider_ball),
    ):
        assert send(cast.client(person), uuid=key, ball=str(ball.uuid), text="B").status_code == 404
    assert Comment.objects.get().text == "A"


@pytest.mark.parametrize(
    ("data", "field", "message"),
    [
        ({"text": "  "}, "text", "may not be blank"),
        ({"text": "x" * 1001}, "text", "Comment of 1001 characters is too long: 1 to 1000 characters."),
        ({"ball": None}, "ball", "A comment on nothing is not allowed: one of ball, game, shot."),
        ({"game": True}, "ball", "A comment on ball and game is not allowed"),
        ({"ball": "mine"}, "ball", "Ball “mine” is not allowed"),
    ],
)
def test_the_api_names_what_is_wrong_with_a_comment(
    opened: OpenBlock, data: dict[str, object], field: str, message: str
) -> None:
    cast = opened.cast
    if "game" in data:
        data = {"game": str(opened.game(opened.bo).uuid)}
    answer = send(cast.client(cast.bo), **{"ball": str(cast.bo_ball.uuid), "text": "Fine", **data})
    assert answer.status_code == 400
    assert message in " ".join(answer.json()[field])
    assert not Comment.objects.exists()
