"""Who may open and change what: every arsenal page, for everyone in the cast."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal import access
from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from tests.conftest import Cast

READERS = ("coach", "bo", "lin", "guest", "outsider", "anonymous")


def client_of(cast: Cast, who: str) -> Client:
    return Client() if who == "anonymous" else cast.client(getattr(cast, who))


def entry_of(cast: Cast) -> SurfaceEntry:
    return SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="sanded", grits=[1000], done_at=timezone.now(), entered_by=cast.bo
    )


def pages(cast: Cast) -> dict[str, str]:
    """Every page about Bo and his ball."""
    bowler, ball = [cast.bo_bowler.uuid], [cast.bo_ball.uuid]
    release = Release.objects.get(bowler=cast.bo_bowler, kind="strike")
    return {
        "bag": reverse("bag", args=bowler),
        "ball": reverse("ball", args=ball),
        "bowler-edit": reverse("bowler-edit", args=bowler),
        "release-new": reverse("release-new", args=bowler),
        "release-edit": reverse("release-edit", args=[release.uuid]),
        "ball-new": reverse("ball-new", args=bowler),
        "ball-edit": reverse("ball-edit", args=ball),
        "layout-edit": reverse("layout-edit", args=ball),
        "surface-new": reverse("surface-new", args=ball),
        "surface-correct": reverse("surface-correct", args=[entry_of(cast).uuid]),
    }


READING = ("bag", "ball")
ANSWERS = {
    # who: (reading a page, changing something)
    "coach": (200, 200),
    "bo": (200, 200),
    "lin": (200, 403),
    "guest": (404, 404),
    "outsider": (404, 404),
    "anonymous": (302, 302),
}


@pytest.mark.parametrize("who", READERS)
def test_each_page_about_a_player_answers_each_reader_as_the_roles_say(cast: Cast, who: str) -> None:
    client = client_of(cast, who)
    for name, url in pages(cast).items():
        expected = ANSWERS[who][0 if name in READING else 1]
        assert client.get(url).status_code == expected, (who, name)
        if name not in READING and expected != 200:
            assert client.post(url, {"name": "Mine now"}).status_code == expected, (who, name)


@pytest.mark.parametrize("name", ["bag", "ball", "bowler-edit", "ball-edit", "layout-edit", "surface-new"])
def test_anothers_object_and_no_object_give_the_same_answer(cast: Cast, name: str) -> None:
    theirs = cast.outsider_bowler.uuid if name in ("bag", "bowler-edit") else cast.outsider_ball.uuid
    nothing = "00000000-0000-4000-8000-000000000000"
    client = cast.client(cast.coach)
    foreign, missing = (client.get(reverse(name, args=[key])) for key in (theirs, nothing))
    assert foreign.status_code == missing.status_code == 404
    assert foreign.content == missing.content


def test_a_guest_reads_a_shared_card_and_ball_and_changes_neither(cast: Cast) -> None:
    Bowler.objects.filter(pk=cast.bo_bowler.pk).update(shared_with_guests=True)
    Ball.objects.filter(pk=cast.bo_ball.pk).update(shared_with_guests=True)
    guest = cast.client(cast.guest)
    for name, url in pages(cast).items():
        assert guest.get(url).status_code == (200 if name in READING else 403), name


def test_a_shared_card_does_not_show_a_guest_the_balls_that_are_not_shared(cast: Cast) -> None:
    Bowler.objects.filter(pk=cast.bo_bowler.pk).update(shared_with_guests=True)
    page = cast.client(cast.guest).get(reverse("bag", args=[cast.bo_bowler.uuid])).content.decode()
    assert cast.bo_bowler.name in page
    assert cast.bo_ball.name not in page


def test_a_shared_ball_of_an_unshared_bowler_links_to_no_card(cast: Cast) -> None:
    Ball.objects.filter(pk=cast.bo_ball.pk).update(shared_with_guests=True)
    page = cast.client(cast.guest).get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    assert reverse("bag", args=[cast.bo_bowler.uuid]) not in page


@pytest.mark.parametrize("who", ["coach", "bo", "lin", "guest", "outsider"])
def test_no_page_of_lists_names_another_team(cast: Cast, who: str) -> None:
    client = client_of(cast, who)
    own, other = ("Farhaven", "Longwick") if who == "outsider" else ("Longwick", "Farhaven")
    team = client.get(reverse("team")).content.decode()
    bags = client.get(reverse("bags")).content.decode()
    assert own in team and other not in team
    foreign = cast.bo_bowler.name if who == "outsider" else cast.outsider_bowler.name
    assert foreign not in bags + team


def test_bags_show_a_player_their_own_card_first_and_a_guest_none(cast: Cast) -> None:
    lin = cast.client(cast.lin).get(reverse("bags")).content.decode()
    assert lin.index("Lin Teasel") < lin.index("Bo Aldwin")
    guest = cast.client(cast.guest).get(reverse("bags")).content.decode()
    assert "Lin Teasel" not in guest and "Bo Aldwin" not in guest


def test_a_person_who_left_the_team_loses_even_their_own_bag(cast: Cast) -> None:
    cast.bo.memberships.all().delete()
    assert cast.client(cast.bo).get(reverse("bag", args=[cast.bo_bowler.uuid])).status_code == 404


def test_a_guest_who_owns_a_card_may_not_change_it(cast: Cast) -> None:
    cast.bo.memberships.update(role="guest")
    assert not access.may_change(cast.bo, cast.bo_bowler)


def test_a_player_makes_their_own_card_once_and_a_coach_makes_any(cast: Cast) -> None:
    bo, coach, guest = (cast.client(person) for person in (cast.bo, cast.coach, cast.guest))
    assert bo.get(reverse("bowler-new")).status_code == 403, "Bo has a card"
    assert guest.get(reverse("bowler-new")).status_code == 403
    assert coach.get(reverse("bowler-new")).status_code == 200
    cast.bo_bowler.person = None
    cast.bo_bowler.save()
    card = {"name": "Bo again", "hand": "right", "hands_used": "1", "gap_boards": "6", "drift_boards": "0"}
    answer = bo.post(reverse("bowler-new"), {**card, "laydown_ft": "0.5", "person": cast.lin.pk})
    made = Bowler.objects.get(name="Bo again")
    assert answer.status_code == 302
    assert made.person == cast.bo, "whose card it is, is not the player's to say"


def test_a_player_cannot_give_their_card_to_somebody_else(cast: Cast) -> None:
    url = reverse("bowler-edit", args=[cast.bo_bowler.uuid])
    sent = {
        "version": "1",
        "name": "Bo Aldwin",
        "hand": "right",
        "hands_used": "1",
        "gap_boards": "7",
        "drift_boards": "0",
        "laydown_ft": "0.5",
        "person": cast.lin.pk,
    }
    assert cast.client(cast.bo).post(url, sent).status_code == 302
    cast.bo_bowler.refresh_from_db()
    assert (cast.bo_bowler.person, cast.bo_bowler.gap_boards) == (cast.bo, 7.0)


def test_a_coach_gives_a_card_only_to_people_of_the_team(cast: Cast) -> None:
    url = reverse("bowler-edit", args=[cast.bo_bowler.uuid])
    page = cast.client(cast.coach).get(url).content.decode()
    assert "Lin" in page and "Orla" not in page and "Gus" not in page


def test_every_arsenal_model_has_a_rule() -> None:
    assert {Bowler, Release, Ball, Layout, SurfaceEntry} <= set(access.RULES)
