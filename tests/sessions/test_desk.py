# ruff: noqa: F811  (a fixture is imported by name)
"""The desk: who bowls where, what was advised, which balls want work, first steps, and whose team it is."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from arsenal.models import Membership, Person, SurfaceEntry, Team
from arsenal.models.people import Role
from sessions import jobs
from sessions.models import Advice, Block, Heartbeat
from tests.conftest import Cast, make_person
from tests.sessions.answers import answered
from tests.sessions.block import START, OpenBlock, opened  # noqa: F401  (a fixture)

HTMX = {"HTTP_HX_REQUEST": "true"}


def desk(client: Client, **headers: str) -> str:
    answer = client.get(reverse("desk"), **headers)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_open_blocks_show_who_bowls_where_and_how_they_stand(opened: OpenBlock) -> None:
    for frame in range(1, 10):
        opened.shot(opened.bo, frame=frame, pins_left=0)
    for throw in (1, 2, 3):
        opened.shot(opened.bo, frame=10, throw_number=throw, pins_left=0)
    text = desk(opened.cast.client(opened.cast.coach))
    assert "Bo Aldwin" in text
    assert "Game 2 on 9–10" in text  # his game is over, the next is on another pair
    assert "<strong>+100</strong>" in text
    assert "300 in 1 game" in text
    assert "Lin Teasel" in text
    assert "Game 1 on 7–8" in text


def test_the_newest_advice_of_each_lane_stands_beside_its_bowler(opened: OpenBlock) -> None:
    answered(opened)
    text = desk(opened.cast.client(opened.cast.coach))
    # the same on both lanes, so said once
    assert '<span class="quiet">7–8</span> <strong>Move</strong></a> feet 2 left, target 1 left' in text
    Advice.objects.filter(lane=opened.lanes[8]).update(action="stay")
    text = desk(opened.cast.client(opened.cast.coach))
    assert '<span class="quiet">7</span> <strong>Move</strong></a> feet 2 left' in text
    assert '<span class="quiet">8</span> <strong>Stay</strong>' in text
    assert "Stale" not in text
    assert "Waiting" not in text
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    assert "Waiting" in desk(opened.cast.client(opened.cast.coach))


def test_it_looks_for_news_by_itself_and_gets_the_blocks_alone(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    assert "data-look" in desk(client)
    part = desk(client, **HTMX)
    assert "<main" not in part
    assert "Bo Aldwin" in part


def test_it_says_when_nobody_works_in_the_background(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    assert "No sign of life yet" in desk(client)
    jobs.beat("worker", "scheduler")
    assert "No sign of life" not in desk(client)
    Heartbeat.objects.update(beat_at=timezone.now() - timedelta(minutes=5))
    assert "No sign of life for 5 min" in desk(client)


@pytest.mark.parametrize(
    ("games", "shown", "mark"), [(5.0, False, ""), (9.0, True, "warn"), (20.0, True, "burn")]
)
def test_a_ball_is_due_once_its_finish_has_bowled_its_games(
    cast: Cast, games: float, shown: bool, mark: str
) -> None:
    SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="sanded", grits=[2000], done_at=START - timedelta(days=9)
    )
    SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="games_elsewhere", games=games, done_at=START - timedelta(days=2)
    )
    text = desk(cast.client(cast.coach))
    assert ("Grey Kettle" in text) is shown
    if shown:
        assert f'class="mark {mark}">{games:.0f} games' in text
    assert "common practice, no published source" in text


def test_a_new_team_is_taught_its_first_steps(db: None) -> None:
    team = Team.objects.create(name="New Wicks")
    coach = make_person("nia", team, Role.COACH)
    client = Client()
    client.force_login(coach)
    text = desk(client)
    for step in ("Add a bowler", "Put balls in the bag", "Type in a pattern sheet", "Enter an event"):
        assert step in text
    assert "done</span>" not in text
    assert "No block is being bowled now." in text
    assert "No block is planned." in text


def test_the_steps_taken_are_marked_and_gone_when_all_are(cast: Cast) -> None:
    # of the cast: players who joined, a bowler, a strike release and a ball
    assert desk(cast.client(cast.coach)).count("done</span>") == 4


def test_no_steps_once_everything_is_there(opened: OpenBlock) -> None:
    assert "First steps" not in desk(opened.cast.client(opened.cast.coach))


def test_planned_and_finished_blocks_are_listed(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    Block.objects.update(state=Block.State.PLANNED)
    assert reverse("block", args=[opened.block.uuid]) in desk(client)
    Block.objects.update(state=Block.State.FINISHED)
    text = desk(client)
    assert "To look back on" in text
    assert reverse("review", args=[opened.block.uuid]) in text


def test_a_guest_sees_only_what_is_shared(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.guest)
    text = desk(client)
    assert "Bo Aldwin" not in text
    assert "First steps" not in text
    opened.event.shared_with_guests = True
    opened.event.save()
    assert "Bo Aldwin" in desk(client)


def test_an_outsider_sees_their_own_team_and_nothing_of_this_one(opened: OpenBlock) -> None:
    answered(opened)
    text = desk(opened.cast.client(opened.cast.outsider))
    assert "Farhaven Herons" in text
    for secret in ("Longwick", "Bo Aldwin", "Grey Kettle", "Spring Plate", "Block 1", "Heather"):
        assert secret not in text


def test_somebody_on_two_teams_sees_the_chosen_one(opened: OpenBlock) -> None:
    cast = opened.cast
    Membership.objects.create(team=cast.team, person=cast.outsider, role=Role.COACH)
    text = desk(cast.client(cast.outsider))
    assert "Farhaven Herons" in text
    assert "Bo Aldwin" not in text


def test_somebody_on_no_team_is_told_how_to_join(db: None) -> None:
    client = Client()
    client.force_login(Person.objects.create_user("solo"))
    assert "Ask your coach for an invitation link" in desk(client)


def test_a_stranger_is_sent_to_sign_in(db: None) -> None:
    assert Client().get(reverse("desk")).status_code == 302


def test_the_number_of_queries_does_not_grow_with_shots(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.coach)

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("desk"))
        return len(queries)

    opened.shot(opened.bo, frame=1)
    opened.shot(opened.lin, frame=1)
    answered(opened)
    few = count()
    for frame in range(2, 11):
        opened.shot(opened.bo, frame=frame)
        opened.shot(opened.lin, frame=frame)
    answered(opened)
    answered(opened, opened.lin)
    assert count() <= few + 1
