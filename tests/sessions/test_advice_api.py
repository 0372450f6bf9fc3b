# ruff: noqa: F811  (a fixture is imported by name)
"""The API of advice: state and answers as plain data, and nothing for those who may not see them."""

import uuid

from django.test import Client
from django.urls import reverse

from arsenal.models import Person
from sessions import jobs
from sessions.models import Advice, OwedAdvice
from tests.conftest import make_ball
from tests.sessions.answers import answered
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)


def url_of(opened: OpenBlock, left: int = 7) -> str:
    return reverse("api-advice", args=[opened.bo.uuid, left])


def test_it_gives_the_state_and_both_lanes_as_plain_data(opened: OpenBlock) -> None:
    answered(opened)
    data = opened.cast.client(opened.cast.bo).get(url_of(opened)).json()
    assert (data["status"], data["stale"], data["behind"]) == ("fresh", False, 0)
    assert [lane["lane"] for lane in data["lanes"]] == [7, 8]
    assert data["lanes"][0]["action"] == "move"
    assert data["lanes"][0]["result"]["feet_move_boards"] == 2.0
    assert data["lanes"][0]["inputs"]["pattern"] == "Heather"


def test_it_tells_working_and_stale_apart_from_fresh(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    assert client.get(url_of(opened)).json()["status"] == "none"
    answered(opened)
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    data = client.get(url_of(opened)).json()
    assert (data["status"], data["stale"], data["behind"]) == ("waiting", True, 1)
    jobs.keep(jobs.claim(OwedAdvice.objects.get().pk), 0.25)
    data = client.get(url_of(opened)).json()
    assert (data["status"], data["progress"]) == ("working", 0.25)


def test_outsiders_guests_and_strangers_get_nothing(opened: OpenBlock) -> None:
    answered(opened)
    cast = opened.cast
    missing = cast.client(cast.outsider).get(reverse("api-advice", args=[uuid.uuid4(), 7]))
    for person in (cast.outsider, cast.guest):
        answer = cast.client(person).get(url_of(opened))
        assert (answer.status_code, answer.content) == (404, missing.content)
    assert Client().get(url_of(opened)).status_code == 403
    assert cast.client(cast.lin).get(url_of(opened)).status_code == 200


def test_a_guest_of_a_shared_event_reads_the_advice_without_the_rest_of_the_bag(opened: OpenBlock) -> None:
    cast, event = opened.cast, opened.event
    event.shared_with_guests = True
    event.save()
    cast.lin_ball.shared_with_guests = True
    cast.lin_ball.save()
    shared, hidden = str(cast.lin_ball.uuid), str(make_ball(cast.lin_bowler, "Hidden Keel").uuid)
    answered(opened, opened.lin, alternatives=[{"ball_id": key, "gain": 0.1} for key in (shared, hidden)])
    for row in Advice.objects.all():
        row.inputs = {**row.inputs, "balls": [{"uuid": key, "roughness_um": 0.5} for key in (shared, hidden)]}
        row.save()

    def seen(person: Person) -> list[str]:
        address = reverse("api-advice", args=[opened.lin.uuid, 7])
        lane = cast.client(person).get(address).json()["lanes"][0]
        rows = [row["ball_id"] for row in lane["result"]["alternatives"]]
        return rows + [row["uuid"] for row in lane["inputs"]["balls"]]

    assert seen(cast.guest) == [shared, shared]
    assert seen(cast.bo) == [shared, hidden, shared, hidden]


def test_a_pair_that_is_not_there_is_not_found(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    assert [client.get(url_of(opened, left)).status_code for left in (8, 13)] == [404, 404]


def test_work_status_says_who_was_seen(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.guest)
    assert client.get(reverse("api-work-status")).json()["worker_seen_seconds_ago"] is None
    jobs.beat("worker", "scheduler")
    assert client.get(reverse("api-work-status")).json()["is_well"] is True
    assert Client().get(reverse("api-work-status")).status_code == 403
