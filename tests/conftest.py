"""A fixed cast for every test: one team, its coach, two players and a guest, and an outsider with a team."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest
from django.test import Client

from arsenal.models import Ball, Bowler, Membership, Person, Release, Team
from arsenal.models.people import Role

PASSWORD = "slow-lane-42-boards"


@dataclass
class Cast:
    """Ada coaches, Bo (right-handed) and Lin (left-handed) play, Gus is a guest; Orla is on another team."""

    team: Team
    coach: Person
    bo: Person
    lin: Person
    guest: Person
    bo_bowler: Bowler
    lin_bowler: Bowler
    bo_ball: Ball
    lin_ball: Ball
    other_team: Team
    outsider: Person
    outsider_bowler: Bowler
    outsider_ball: Ball

    def client(self, person: Person) -> Client:
        client = Client()
        client.force_login(person)
        return client


def make_person(username: str, team: Team, role: str) -> Person:
    person = Person.objects.create_user(username, password=PASSWORD, first_name=username.title())
    Membership.objects.create(team=team, person=person, role=role)
    return person


def make_bowler(team: Team, person: Person | None, name: str, hand: str = "right") -> Bowler:
    bowler = Bowler.objects.create(
        team=team, person=person, name=name, hand=hand, pap_over_in=5.0, pap_up_in=0.25
    )
    for kind, speed, revs, rotation in (("strike", 17.5, 340, 50), ("spare", 18.5, 200, 15)):
        Release.objects.create(
            bowler=bowler, kind=kind, speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation
        )
    return bowler


def make_ball(bowler: Bowler, name: str, cover: str = "reactive_solid") -> Ball:
    return Ball.objects.create(
        bowler=bowler,
        name=name,
        weight_lb=15.0,
        rg_in=2.52,
        differential_in=0.045,
        cover=cover,
        drilled_on=date(2026, 3, 1),
    )


def make_cast() -> Cast:
    team = Team.objects.create(name="Longwick Otters")
    other_team = Team.objects.create(name="Farhaven Herons")
    coach = make_person("ada", team, Role.COACH)
    bo = make_person("bo", team, Role.PLAYER)
    lin = make_person("lin", team, Role.PLAYER)
    guest = make_person("gus", team, Role.GUEST)
    outsider = make_person("orla", other_team, Role.COACH)
    bo_bowler = make_bowler(team, bo, "Bo Aldwin")
    lin_bowler = make_bowler(team, lin, "Lin Teasel", hand="left")
    outsider_bowler = make_bowler(other_team, outsider, "Orla Vance")
    return Cast(
        team=team,
        coach=coach,
        bo=bo,
        lin=lin,
        guest=guest,
        bo_bowler=bo_bowler,
        lin_bowler=lin_bowler,
        bo_ball=make_ball(bo_bowler, "Grey Kettle"),
        lin_ball=make_ball(lin_bowler, "Moss Bell"),
        other_team=other_team,
        outsider=outsider,
        outsider_bowler=outsider_bowler,
        outsider_ball=make_ball(outsider_bowler, "Secret Heron"),
    )


@pytest.fixture
def cast(db: None) -> Cast:
    return make_cast()


@pytest.fixture
def now() -> datetime:
    return datetime(2026, 6, 6, 10, 0, tzinfo=UTC)
