# ruff: noqa: F811  (a fixture is imported by name)
"""What a new coach and a new player are told to do: complete, linked to its page, ticked from the data."""

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.models import Bowler, Invitation, Membership, Person, Team
from arsenal.models.people import Role
from sessions.first_steps import Step, first_steps
from sessions.models import Block, BlockEntry, Dressing, Event, House, Lane
from tests.conftest import Cast, make_ball, make_bowler, make_person
from tests.sessions.block import START, OpenBlock, make_version, opened  # noqa: F401  (a fixture)

COACH = [
    "Invite your players",
    "Add a bowler",
    "Add a strike release",
    "Put balls in the bag",
    "Type in a pattern sheet",
    "Add the house",
    "Enter an event",
    "Plan a block in it",
    "Enter bowlers in the block",
    "Dress the lanes",
    "Open the block",
]
PLAYER = [
    "Make your card",
    "Add a strike release",
    "Put your balls in the bag",
    "Log each ball's surface",
    "Enter a block",
    "Log your first shot",
]


def steps_of(person: Person) -> list[Step]:
    return first_steps(person, Membership.objects.get(person=person))


def done(person: Person) -> list[str]:
    return [step.title for step in steps_of(person) if step.done]


def follow(person: Person) -> None:
    """Every step leads to a page that is there for this person."""
    client = Client()
    client.force_login(person)
    for step in steps_of(person):
        assert client.get(step.url).status_code == 200, (step.title, step.url)


def new_team() -> tuple[Team, Person]:
    team = Team.objects.create(name="New Wicks")
    return team, make_person("nia", team, Role.COACH)


def test_a_new_coach_gets_every_step_to_the_first_open_block_and_each_is_ticked_in_turn(db: None) -> None:
    team, coach = new_team()
    assert [step.title for step in steps_of(coach)] == COACH
    assert done(coach) == []
    follow(coach)
    make_person("pim", team, Role.PLAYER)
    bowler = make_bowler(team, None, "Pim Sedge")
    assert done(coach) == COACH[:3]
    make_ball(bowler, "Clay Cup")
    pattern = team.patterns.create(name="Heather")
    house = House.objects.create(team=team, name="Short Room")
    lane = Lane.objects.create(house=house, number=1)
    assert done(coach) == COACH[:6]
    follow(coach)
    event = Event.objects.create(
        team=team, house=house, name="Plate", starts_on=START.date(), ends_on=START.date()
    )
    version = make_version(pattern)
    block = Block.objects.create(event=event, name="One", starts_at=START, pattern_version=version)
    assert done(coach) == COACH[:8]
    follow(coach)
    BlockEntry.objects.create(block=block, bowler=bowler)
    Dressing.objects.create(lane=lane, done_at=START, pattern_version=version)
    assert done(coach) == COACH[:10]
    follow(coach)
    Block.objects.update(state=Block.State.OPEN)
    assert steps_of(coach) == [], "nothing is left to do"


def test_an_invitation_nobody_used_is_no_player_yet(db: None) -> None:
    team, coach = new_team()
    Invitation.issue(team, Role.PLAYER, coach)
    assert "Invite your players" not in done(coach)


def test_a_coach_who_bowls_alone_is_not_told_to_invite_for_ever(opened: OpenBlock) -> None:
    Membership.objects.exclude(person=opened.cast.coach).filter(team=opened.cast.team).delete()
    assert steps_of(opened.cast.coach) == []


def test_a_new_player_gets_steps_about_their_own_bag_and_no_others(opened: OpenBlock) -> None:
    team = opened.cast.team
    una = make_person("una", team, Role.PLAYER)
    assert [step.title for step in steps_of(una)] == PLAYER
    assert done(una) == [], "what team mates entered ticks nothing of hers"
    follow(una)
    own = Bowler.objects.create(team=team, person=una, name="Una Reed", hand="left")
    assert done(una) == PLAYER[:1]
    follow(una)
    own.releases.create(kind="strike", speed_mph=17, rev_rate_rpm=300, axis_rotation_deg=45)
    ball = make_ball(own, "Ferry Bell")
    ball.surface_entries.create(kind="cleaned", done_at=timezone.now())
    assert done(una) == PLAYER[:4]
    (enter,) = [step for step in steps_of(una) if step.title == "Enter a block"]
    assert enter.url == reverse("entry-new", args=[opened.block.uuid])
    entry = BlockEntry.objects.create(block=opened.block, bowler=own)
    assert done(una) == PLAYER[:5]
    follow(una)
    opened.shot(entry)
    assert steps_of(una) == []


def test_a_guest_gets_none_and_an_outsiders_steps_know_nothing_of_this_team(opened: OpenBlock) -> None:
    assert steps_of(opened.cast.guest) == []
    outsider = opened.cast.outsider
    assert done(outsider) == ["Add a bowler", "Add a strike release", "Put balls in the bag"]
    mine = {str(opened.house.uuid), str(opened.event.uuid), str(opened.block.uuid)}
    assert not [step for step in steps_of(outsider) if any(key in step.url for key in mine)]


def test_the_desk_shows_them_with_their_links(cast: Cast) -> None:
    text = cast.client(cast.coach).get(reverse("desk")).content.decode()
    assert "First steps" in text and f'href="{reverse("house-new")}"' in text
    text = cast.client(cast.bo).get(reverse("desk")).content.decode()
    assert "Next steps" in text and "Add the house" not in text


def test_whoever_joins_lands_on_the_desk_with_what_comes_next(cast: Cast) -> None:
    new = {"first_name": "Una", "username": "una", "password1": "nine-boards-4", "password2": "nine-boards-4"}
    _, token = Invitation.issue(cast.team, Role.PLAYER, cast.coach)
    client = Client()
    page = client.post(reverse("join", args=[token]), new, follow=True)
    assert page.redirect_chain == [(reverse("desk"), 302)]
    text = page.content.decode()
    assert "You joined Longwick Otters as player." in text
    assert "Make your card" in text and reverse("bowler-new") in text
    _, token = Invitation.issue(cast.team, Role.GUEST, cast.coach)
    page = cast.client(cast.outsider).post(reverse("join", args=[token]), follow=True)
    text = page.content.decode()
    assert page.redirect_chain == [(reverse("desk"), 302)]
    assert "You joined Longwick Otters as guest." in text and "you read what it shares" in text
    assert "Next steps" not in text and "First steps" not in text
