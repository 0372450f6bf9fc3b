"""Joining by a link that is shown once, works once and expires; roles, and switching between teams."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal import joining
from arsenal.forms.people import NewPersonForm
from arsenal.models import Invitation, Membership, Person, Team
from arsenal.models.people import Role
from tests.conftest import PASSWORD, Cast, make_person

NEW = {
    "first_name": "Una",
    "username": "una",
    "password1": "nine-boards-inside-4",
    "password2": "nine-boards-inside-4",
}


def invite(cast: Cast, role: str = Role.PLAYER) -> tuple[Invitation, str]:
    return Invitation.issue(cast.team, role, cast.coach, note="for Una")


def test_the_link_is_in_the_answer_to_its_making_and_nowhere_after(cast: Cast) -> None:
    coach = cast.client(cast.coach)
    answer = coach.post(reverse("invitation-new"), {"role": "player", "note": "Una"})
    invitation = Invitation.objects.get()
    link = answer.context["link"]
    token = link.rstrip("/").rsplit("/", 1)[1]
    assert link in answer.content.decode()
    assert answer.headers["Cache-Control"].find("no-store") >= 0
    assert token not in coach.get(reverse("team")).content.decode()
    assert token not in str(vars(invitation)), "the database keeps a digest only"


def test_the_link_is_shown_whole_with_a_button_that_copies_it(cast: Cast) -> None:
    html = cast.client(cast.coach).post(reverse("invitation-new"), {"role": "player"}).content.decode()
    field = html.split('id="invitation-link"')[1]
    assert field.split(">")[0].startswith(' class="digits whole-link"'), "a field of several rows"
    assert field.split(">")[1].split("<")[0].startswith("http://testserver/join/")
    assert 'data-copy="invitation-link" hidden' in html, "without script there is no button that does nothing"
    assert "js/copy.js" in html


@pytest.mark.parametrize("role", Role.values)
def test_a_new_person_joins_in_the_invited_role(cast: Cast, role: str) -> None:
    invitation, token = invite(cast, role)
    client = Client()
    assert "Longwick Otters" in client.get(reverse("join", args=[token])).content.decode()
    answer = client.post(reverse("join", args=[token]), {**NEW, "role": "coach", "is_staff": "on"})
    una = Person.objects.get(username="una")
    assert answer.status_code == 302
    assert [(m.team, m.role) for m in una.memberships.all()] == [(cast.team, role)]
    assert not una.is_staff
    assert client.get(reverse("team")).status_code == 200, "joining signs in"
    invitation.refresh_from_db()
    assert invitation.used_by == una


def test_a_signed_in_person_joins_a_second_team_and_switches_between_them(cast: Cast) -> None:
    _, token = invite(cast)
    client = cast.client(cast.outsider)
    assert client.post(reverse("join", args=[token])).status_code == 302
    assert "Longwick Otters" in client.get(reverse("bags")).wsgi_request.membership.team.name
    switched = client.post(reverse("team-switch"), {"team": str(cast.other_team.uuid)})
    assert switched.status_code == 302
    bags = client.get(reverse("bags")).content.decode()
    assert "Orla Vance" in bags and "Bo Aldwin" not in bags


def test_nobody_switches_to_a_team_they_are_not_on(cast: Cast) -> None:
    client = cast.client(cast.bo)
    for team in (str(cast.other_team.uuid), "no-uuid", "", "00000000-0000-4000-8000-000000000000"):
        assert client.post(reverse("team-switch"), {"team": team}).status_code == 404


def test_used_expired_and_unknown_links_give_one_and_the_same_answer(cast: Cast) -> None:
    _, used_token = invite(cast)
    assert joining.join_team(used_token, make_person("una", cast.other_team, Role.PLAYER)) is not None
    expired, expired_token = invite(cast)
    Invitation.objects.filter(pk=expired.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    answers = []
    for token in (used_token, expired_token, "never-made"):
        for send in (Client().get, Client().post):
            answer = send(reverse("join", args=[token]), NEW)
            assert answer.status_code == 404
            answers.append(answer.content.decode().split("<main")[1])
    assert len(set(answers)) == 1
    assert "unknown, used or expired" in answers[0]
    assert Person.objects.filter(username="una").count() == 1
    assert not Membership.objects.filter(team=cast.team, person__username="nobody").exists()


def test_a_link_lets_exactly_one_person_in(cast: Cast) -> None:
    _, token = invite(cast)
    assert Client().post(reverse("join", args=[token]), NEW).status_code == 302
    second = Client().post(reverse("join", args=[token]), {**NEW, "username": "second"})
    assert second.status_code == 404
    assert not Person.objects.filter(username="second").exists(), "no account is left behind"


def test_a_link_spent_between_page_and_sending_leaves_no_account_behind(cast: Cast) -> None:
    from arsenal.forms.people import NewPersonForm

    _, token = invite(cast)
    form = NewPersonForm(NEW)
    assert form.is_valid()
    joining.join_team(token, cast.outsider)
    assert joining.join_as_new_person(token, form) is None
    assert not Person.objects.filter(username="una").exists()


def test_a_name_taken_between_check_and_saving_is_said_at_the_field(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two people choose one name in the same moment: both were told it is free."""
    invitation, token = invite(cast)
    make_person("una", cast.other_team, Role.PLAYER)
    for check in ("clean_username", "validate_unique"):
        monkeypatch.setattr(NewPersonForm, check, lambda form: form.cleaned_data["username"])
    answer = Client().post(reverse("join", args=[token]), NEW)
    assert answer.status_code == 400
    assert "Somebody took this name a moment ago" in answer.content.decode()
    invitation.refresh_from_db()
    assert invitation.is_open


def test_a_name_that_differs_by_capitals_alone_is_taken(cast: Cast) -> None:
    _, token = invite(cast)
    answer = Client().post(reverse("join", args=[token]), {**NEW, "username": "ADA"})
    assert answer.status_code == 400
    assert not Person.objects.filter(username="ADA").exists()


def test_wrong_input_keeps_the_link_open_and_what_was_typed(cast: Cast) -> None:
    _, token = invite(cast)
    answer = Client().post(reverse("join", args=[token]), {**NEW, "password2": "another"})
    assert answer.status_code == 400
    assert 'value="una"' in answer.content.decode()
    assert joining.open_invitation(token) is not None


def test_a_member_who_opens_the_link_does_not_use_it_up(cast: Cast) -> None:
    _, token = invite(cast, Role.COACH)
    client = cast.client(cast.bo)
    client.post(reverse("join", args=[token]))
    assert joining.open_invitation(token) is not None
    assert Membership.objects.get(person=cast.bo).role == Role.PLAYER


def test_only_coaches_invite_revoke_and_see_open_invitations(cast: Cast) -> None:
    invitation, _ = invite(cast)
    for person, status in ((cast.bo, 403), (cast.guest, 403)):
        assert cast.client(person).post(reverse("invitation-new"), {"role": "coach"}).status_code == status
    for person in (cast.bo, cast.guest, cast.outsider):
        client = cast.client(person)
        assert client.post(reverse("invitation-revoke", args=[invitation.pk])).status_code == 404
        assert "for Una" not in client.get(reverse("team")).content.decode()
    assert Client().post(reverse("invitation-new"), {"role": "coach"}).status_code == 302
    assert Invitation.objects.count() == 1


def test_a_revoked_link_opens_nothing(cast: Cast) -> None:
    invitation, token = invite(cast)
    assert cast.client(cast.coach).post(reverse("invitation-revoke", args=[invitation.pk])).status_code == 302
    assert Client().get(reverse("join", args=[token])).status_code == 404


def test_an_invitation_to_no_role_is_refused(cast: Cast) -> None:
    answer = cast.client(cast.coach).post(reverse("invitation-new"), {"role": "owner"})
    assert answer.status_code == 400
    assert "owner" in answer.content.decode()
    assert not Invitation.objects.exists()


def test_a_coach_changes_roles_and_removes_members_but_never_the_last_coach(cast: Cast) -> None:
    coach = cast.client(cast.coach)
    bo, ada = (Membership.objects.get(person=person) for person in (cast.bo, cast.coach))
    for role in ("guest", "remove"):
        coach.post(reverse("member", args=[ada.pk]), {"role": role})
        ada.refresh_from_db()
        assert ada.role == Role.COACH
    coach.post(reverse("member", args=[bo.pk]), {"role": "coach"})
    coach.post(reverse("member", args=[ada.pk]), {"role": "player"})
    assert set(Membership.objects.filter(team=cast.team, role="coach")) == {bo}


def test_nobody_else_changes_a_members_role(cast: Cast) -> None:
    lin = Membership.objects.get(person=cast.lin)
    url = reverse("member", args=[lin.pk])
    for person, status in ((cast.bo, 403), (cast.lin, 403), (cast.guest, 404), (cast.outsider, 404)):
        assert cast.client(person).post(url, {"role": "coach"}).status_code == status
    lin.refresh_from_db()
    assert lin.role == Role.PLAYER


def test_sign_in_and_out(cast: Cast) -> None:
    client = Client()
    wrong = client.post(reverse("sign-in"), {"username": "bo", "password": "guess"})
    unknown = client.post(reverse("sign-in"), {"username": "nobody", "password": "guess"})
    assert wrong.status_code == unknown.status_code == 200
    error = wrong.context["form"].non_field_errors()
    assert error == unknown.context["form"].non_field_errors(), "a guess learns no name"
    assert client.post(
        reverse("sign-in") + "?next=https://elsewhere.example/",
        {"username": "bo", "password": "slow-lane-42-boards"},
    ).headers["Location"] == reverse("desk")
    assert client.post(reverse("sign-out")).headers["Location"] == reverse("sign-in")
    assert client.get(reverse("bags")).status_code == 302


@pytest.mark.parametrize(
    "onward",
    ["https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example", "javascript:alert(1)"],
)
def test_signing_in_leads_to_no_other_site(cast: Cast, onward: str) -> None:
    sent = {"username": "bo", "password": PASSWORD, "next": onward}
    answer = Client().post(reverse("sign-in"), sent)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/")


def test_a_page_from_before_a_sign_in_says_what_to_do(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.bo)
    answer = client.post(reverse("account"), {"part": "settings"})
    assert answer.status_code == 403
    assert "Go back, reload the page and send it again" in answer.content.decode()


@pytest.mark.parametrize(
    ("username", "team", "words"),
    [
        ("ada", "Herons", "already exists"),
        ("a b", "Herons", "valid username"),
        ("una", " ", "blank"),
        ("u" * 151, "H", "150"),
    ],
)
def test_a_first_coach_needs_a_name_that_can_be_one(cast: Cast, username: str, team: str, words: str) -> None:
    before = Team.objects.count()
    with pytest.raises(CommandError, match=words):
        call_command("first_coach", username, team)
    assert Team.objects.count() == before


def test_units_and_time_zone_are_kept_and_used(cast: Cast) -> None:
    client = cast.client(cast.bo)
    sent = {"part": "settings", "first_name": "Bo", "units": "metric", "time_zone": "Europe/Vienna"}
    assert client.post(reverse("account"), sent).status_code == 302
    bag = client.get(reverse("bag", args=[cast.bo_bowler.uuid])).content.decode()
    assert "28.2 km/h" in bag, "17.5 mph x 1.609344"
    assert "6.80 kg" in bag, "15 lb x 0.45359237"
    bad = client.post(reverse("account"), {**sent, "time_zone": "Moon/Base"})
    assert bad.status_code == 400
    assert "Moon/Base" in bad.content.decode()


def test_a_new_password_replaces_the_old_one_and_keeps_the_person_signed_in(cast: Cast) -> None:
    client = cast.client(cast.bo)
    sent = {
        "part": "password",
        "old_password": "slow-lane-42-boards",
        "new_password1": "eleven-arrows-7",
        "new_password2": "eleven-arrows-7",
    }
    assert client.post(reverse("account"), {**sent, "old_password": "no"}).status_code == 400
    assert client.post(reverse("account"), sent).status_code == 302
    assert client.get(reverse("account")).status_code == 200
    cast.bo.refresh_from_db()
    assert cast.bo.check_password("eleven-arrows-7")
