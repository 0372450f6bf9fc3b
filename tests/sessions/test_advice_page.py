# ruff: noqa: F811  (a fixture is imported by name)
"""The advice fragment: what it says in each state, how it looks for news, who may see, ask and cancel."""

import uuid
from datetime import timedelta

import pytest
from django.db.models import F
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.models import Person
from sessions import jobs
from sessions.models import Block, BlockEntry, Heartbeat, OwedAdvice
from sessions.work_state import work_state
from tests.sessions.answers import OUTLOOK, a_result, answered
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)

HTMX = {"HTTP_HX_REQUEST": "true"}


def url_of(entry: BlockEntry, left: int = 7, name: str = "advice") -> str:
    return reverse(name, args=[entry.uuid, left])


def text_of(opened: OpenBlock, person: Person, entry: BlockEntry, **query: str) -> str:
    answer = opened.cast.client(person).get(url_of(entry), query, **HTMX)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


@pytest.fixture
def alive(opened: OpenBlock) -> None:
    jobs.beat("worker", "scheduler")


# --- what it says ---------------------------------------------------------------------------------


def test_fresh_advice_says_what_to_do_on_each_lane_and_where_it_came_from(
    opened: OpenBlock, alive: None
) -> None:
    answered(opened)
    text = text_of(opened, opened.cast.bo, opened.bo)
    for expected in (
        "Up to date",
        "Lane 7",
        "Lane 8",
        "Move",
        "Grey Kettle",
        "<strong>2 left</strong>",
        "Feet on board 30.5, 2 left (away from your gutter)",
        "<strong>1 left</strong>",
        "Target board 15 at 15 ft, 1 left",
        "Breakpoint board 8 at 42 ft",
        "Pocket 41 → 58 %",
        "41 % of shots in the pocket now, 58 % as advised (80 % likely between 46 % and 68 %)",
        "lost about a third of its oil",
        "Two light hits in a row would change this.",
        "12 balls of the team on this lane",
        "by a model; not a promise",
    ):
        assert expected in text
    assert "Stale" not in text


def test_a_left_hander_reads_the_same_move_the_other_way_round(opened: OpenBlock, alive: None) -> None:
    answered(opened, opened.lin)
    text = text_of(opened, opened.cast.lin, opened.lin)
    assert "<strong>2 right</strong>" in text
    assert "Feet on board 30.5, 2 right (away from your gutter)" in text


def test_newer_shots_make_it_stale_and_say_so(opened: OpenBlock, alive: None) -> None:
    answered(opened)
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "Stale" in text
    assert "is-stale" in text
    assert "does not know of the last entry yet" in text
    assert "Waiting" in text
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    assert "does not know of the last 2 entries yet" in text_of(opened, opened.cast.bo, opened.bo)


def test_work_in_progress_shows_how_far_it_is(opened: OpenBlock, alive: None) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    jobs.keep(jobs.claim(OwedAdvice.objects.get().pk), 0.4)
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "Working</span>" in text
    assert "40 % done" in text
    assert "Cancel" in text


def test_a_failure_shows_its_reason_and_a_way_to_try_again(opened: OpenBlock, alive: None) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    jobs.fail(jobs.claim(OwedAdvice.objects.get().pk), "Bo has no ball in the bag.", hopeless=True)
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "Stopped: Bo has no ball in the bag." in text
    assert "Try again" in text


def test_work_that_never_ends_is_shown_as_stopped(opened: OpenBlock, alive: None) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    past = timezone.now() - timedelta(minutes=1)
    OwedAdvice.objects.update(attempts=jobs.MAX_ATTEMPTS, lease_until=past, lease_token=uuid.uuid4())
    assert "begun 5 times and never came to an end" in text_of(opened, opened.cast.bo, opened.bo)


def test_it_says_when_nobody_works_in_the_background(opened: OpenBlock) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    first = text_of(opened, opened.cast.bo, opened.bo)
    assert "No sign of life yet: the background worker or its scheduler" in first
    jobs.beat("worker", "scheduler")
    Heartbeat.objects.update(beat_at=timezone.now() - timedelta(seconds=31))
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "No sign of life for 31 s: the background worker or its scheduler is not running" in text
    assert "What is logged is safe" in text


def test_without_a_known_line_it_says_what_is_missing_and_offers_lines_to_begin_with(
    opened: OpenBlock, alive: None
) -> None:
    start = {
        "ball_id": str(opened.cast.bo_ball.uuid),
        "ball_name": "Grey Kettle",
        "feet_board": 28.0,
        "line": {"target_board": 13.5},
    }
    answered(
        opened,
        action="unknown",
        status="not enough known",
        reasons=["Missing: the line played (laydown and target)."],
        missing=["the line played (laydown and target)"],
        alternatives=[start],
    )
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "Not enough known" in text
    assert "Still missing: the line played (laydown and target)." in text
    assert "Missing: the line played" in text
    assert "feet 28.0, target 13.5" in text


def test_a_surface_step_names_its_window_and_cautions_and_defers_to_the_director(
    opened: OpenBlock, alive: None
) -> None:
    surface = {
        "suggested": True,
        "window": "before the next event",
        "ball_name": "Grey Kettle",
        "from_grit": "about 1,800",
        "to_grit": "3,000 pad, lightly",
        "by": "hand",
        "effect": "It would turn 1.2 ft later.",
        "why": "Worth a little.",
        "permission": "Ask the tournament director before altering a ball.",
        "cautions": ["Wear eye protection."],
    }
    answered(opened, surface=surface)
    text = text_of(opened, opened.cast.bo, opened.bo)
    for part in (
        "before the next event",
        "3,000 pad, lightly",
        "Ask the tournament director",
        "eye protection",
    ):
        assert part in text


# --- looking for news -----------------------------------------------------------------------------


def test_a_look_that_finds_nothing_new_redraws_nothing(opened: OpenBlock, alive: None) -> None:
    answered(opened)
    page = text_of(opened, opened.cast.bo, opened.bo)
    stamp = page.split('data-stamp="')[1].split('"')[0]
    client = opened.cast.client(opened.cast.bo)
    assert client.get(url_of(opened.bo), {"seen": stamp}, **HTMX).status_code == 204
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    news = client.get(url_of(opened.bo), {"seen": stamp}, **HTMX)
    assert news.status_code == 200
    assert 'hx-trigger="every' not in news.content.decode()  # only what is inside the part that looks


def test_it_looks_more_often_while_work_is_pending(opened: OpenBlock, alive: None) -> None:
    answered(opened)
    assert 'data-look-seconds="5"' in text_of(opened, opened.cast.bo, opened.bo)
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    assert 'data-look-seconds="2"' in text_of(opened, opened.cast.bo, opened.bo)


def test_the_number_of_queries_does_not_grow_with_earlier_answers(
    opened: OpenBlock, alive: None, django_assert_max_num_queries
) -> None:
    for _ in range(5):
        answered(opened)
    client = opened.cast.client(opened.cast.bo)
    with django_assert_max_num_queries(14):
        client.get(url_of(opened.bo), **HTMX)


# --- who may --------------------------------------------------------------------------------------


def test_team_mates_see_it_and_only_the_bowler_and_the_coach_may_ask_or_cancel(
    opened: OpenBlock, alive: None
) -> None:
    cast = opened.cast
    for person, allowed in ((cast.bo, True), (cast.coach, True), (cast.lin, False)):
        client = cast.client(person)
        assert client.get(url_of(opened.bo)).status_code == 200
        for action in ("advice-ask", "advice-cancel"):
            answer = client.post(url_of(opened.bo, name=action), **HTMX)
            assert answer.status_code == (200 if allowed else 403)


def test_a_guest_sees_it_only_in_a_shared_event(opened: OpenBlock, alive: None) -> None:
    answered(opened)
    guest = opened.cast.client(opened.cast.guest)
    assert guest.get(url_of(opened.bo)).status_code == 404
    opened.event.shared_with_guests = True
    opened.event.save()
    assert guest.get(url_of(opened.bo)).status_code == 200
    assert guest.post(url_of(opened.bo, name="advice-ask")).status_code == 403


def test_an_outsider_cannot_tell_it_from_a_missing_one(opened: OpenBlock, alive: None) -> None:
    owed = answered(opened)
    outsider = opened.cast.client(opened.cast.outsider)
    missing = outsider.get(reverse("advice", args=[uuid.uuid4(), 7]))
    real = outsider.get(url_of(opened.bo))
    assert (real.status_code, missing.status_code, real.content) == (404, 404, missing.content)
    for action in ("advice-ask", "advice-cancel"):
        assert outsider.post(url_of(opened.bo, name=action)).status_code == 404
    wanted = owed.wanted
    owed.refresh_from_db()
    assert (owed.wanted, owed.cancelled) == (wanted, False)


def test_a_stranger_is_sent_to_sign_in(opened: OpenBlock) -> None:
    assert Client().get(url_of(opened.bo)).status_code == 302


@pytest.mark.parametrize("left", [8, 13, 99])
def test_a_pair_that_the_house_does_not_have_is_not_found(opened: OpenBlock, left: int) -> None:
    assert opened.cast.client(opened.cast.bo).get(url_of(opened.bo, left)).status_code == 404


def test_asking_owes_advice_and_looking_does_not(opened: OpenBlock, alive: None) -> None:
    client = opened.cast.client(opened.cast.bo)
    client.get(url_of(opened.bo))
    assert not OwedAdvice.objects.exists()
    client.post(url_of(opened.bo, name="advice-ask"))
    assert OwedAdvice.objects.get().wanted == 1


def test_nobody_can_ask_once_the_block_is_finished(opened: OpenBlock, alive: None) -> None:
    Block.objects.update(state=Block.State.FINISHED)
    client = opened.cast.client(opened.cast.bo)
    client.post(url_of(opened.bo, name="advice-ask"))
    assert not OwedAdvice.objects.exists()
    assert "Work it out" not in client.get(url_of(opened.bo)).content.decode()


def test_cancelling_stops_the_work_and_the_button_starts_it_again(opened: OpenBlock, alive: None) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    client = opened.cast.client(opened.cast.bo)
    page = client.post(url_of(opened.bo, name="advice-cancel"), **HTMX).content.decode()
    assert "Cancelled" in page
    assert "Try again" in page
    owed = OwedAdvice.objects.get()
    assert jobs.claim(owed.pk) is None
    client.post(url_of(opened.bo, name="advice-ask"), **HTMX)
    assert jobs.claim(owed.pk) is not None


def test_advice_that_finds_the_pocket_less_often_says_what_it_gains(opened: OpenBlock, alive: None) -> None:
    fewer = {**OUTLOOK, "split_or_washout": 0.02, "strike": 0.33, "expected_frame": 18.6}
    answered(opened, pocket_now=0.6, pocket_advised=0.55, advised=fewer)
    said = (
        "The pocket is found less often, but: splits and washouts 6 → 2 %, strikes 30 → 33 %, "
        "a frame 18.0 → 18.6 pins."
    )
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert said in text
    assert "; but splits and washouts 6 → 2 %</p>" in text


def test_advice_that_only_loses_the_pocket_claims_no_gain(opened: OpenBlock, alive: None) -> None:
    answered(opened, pocket_now=0.6, pocket_advised=0.55)
    text = text_of(opened, opened.cast.bo, opened.bo)
    assert "The pocket is found less often; the reasons say" in text


def test_who_follows_another_bowler_reads_boards_with_their_side(opened: OpenBlock, alive: None) -> None:
    answered(opened, opened.lin)
    assert "to 30.5L" in text_of(opened, opened.cast.coach, opened.lin)
    own = text_of(opened, opened.cast.lin, opened.lin)
    assert "to 30.5" in own and "30.5L" not in own


# --- the state of background work -----------------------------------------------------------------


def test_work_status_tells_when_worker_and_scheduler_were_last_seen(opened: OpenBlock) -> None:
    client = opened.cast.client(opened.cast.bo)
    assert client.get(reverse("work-status")).json()["is_well"] is False
    jobs.beat("worker", "scheduler")
    assert client.get(reverse("work-status")).json()["is_well"] is True
    Heartbeat.objects.filter(name="scheduler").update(beat_at=F("beat_at") - timedelta(minutes=3))
    state = client.get(reverse("work-status")).json()
    assert state["is_well"] is False
    said = "work left over for 3 min: the scheduler is not running, or the worker is busy"
    assert said in state["words"]
    assert said in client.get(reverse("work-status"), **HTMX).content.decode()


def test_a_sweep_that_waits_behind_advice_is_nobodys_fault(opened: OpenBlock) -> None:
    jobs.beat("worker", "scheduler")
    Heartbeat.objects.filter(name="scheduler").update(beat_at=F("beat_at") - timedelta(seconds=60))
    assert work_state().is_well


def test_work_status_is_for_signed_in_people(db: None) -> None:
    assert Client().get(reverse("work-status")).status_code == 302


def test_a_result_with_parts_missing_still_shows(opened: OpenBlock, alive: None) -> None:
    bare = {key: None for key in a_result(opened.lanes[7]) if key not in ("hand", "status", "action")}
    answered(opened, **bare)
    assert "Lane 7" in text_of(opened, opened.cast.bo, opened.bo)


def test_the_reasons_address_the_bowler_and_tell_another_reader_of_the_bowler(
    opened: OpenBlock, alive: None
) -> None:
    reasons = ["Your track has lost about a third of its oil, so this line now arrives 2 boards high."]
    answered(opened, reasons=reasons)
    own, coach = (text_of(opened, person, opened.bo) for person in (opened.cast.bo, opened.cast.coach))
    assert reasons[0] in own and "away from your gutter" in own
    assert "The bowler’s track has lost about a third" in coach and "Your track" not in coach
    assert "away from the bowler’s gutter" in coach and "your gutter" not in coach
