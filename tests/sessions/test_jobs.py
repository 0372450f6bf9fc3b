# ruff: noqa: F811  (a fixture is imported by name)
"""Advice owed as a row: raised, claimed once, finished once, given back, swept."""

import uuid
from datetime import timedelta
from unittest.mock import patch

import pytest
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from sessions import jobs
from sessions.dependents import on_pair
from sessions.models import Advice, Block, BlockEntry, Game, OwedAdvice, PairVisit
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)


@pytest.fixture
def owed(opened: OpenBlock) -> OwedAdvice:
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    return OwedAdvice.objects.get(entry=opened.bo)


def an_answer(opened: OpenBlock, lane: int) -> Advice:
    return Advice(lane=opened.lanes[lane], action="stay", result={}, inputs={}, seconds=0.1)


# --- owing ----------------------------------------------------------------------------------------


def test_input_is_owed_to_the_bowler_and_to_team_mates_on_the_same_pair(opened: OpenBlock) -> None:
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    owed = OwedAdvice.objects.order_by("entry")
    assert [(row.entry, row.left_lane.number, row.wanted, row.done) for row in owed] == [
        (opened.bo, 7, 1, 0),
        (opened.lin, 7, 1, 0),
    ]


def test_a_team_mate_on_another_pair_is_owed_nothing(opened: OpenBlock) -> None:
    opened.shot(opened.lin, left=11)
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    assert [row.entry for row in OwedAdvice.objects.all()] == [opened.bo]


def test_every_new_input_raises_what_is_wanted_and_forgives_earlier_failures(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    OwedAdvice.objects.update(attempts=5, failure="no", cancelled=True, not_before=timezone.now())
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    owed.refresh_from_db()
    assert (owed.wanted, owed.attempts, owed.failure, owed.cancelled, owed.not_before) == (
        2,
        0,
        "",
        False,
        None,
    )


def test_a_finished_game_owes_advice_for_the_next_pair_too(opened: OpenBlock) -> None:
    for frame in range(1, 10):
        opened.shot(opened.bo, frame)
    for throw in (1, 2):
        opened.shot(opened.bo, 10, throw_number=throw)
    assert pairs_owed(opened) == [7]
    opened.shot(opened.bo, 10, throw_number=3)
    assert pairs_owed(opened) == [7, 9]


def pairs_owed(opened: OpenBlock) -> list[int]:
    jobs.owe_advice_to(BlockEntry.objects.filter(pk=opened.bo.pk))
    owed = OwedAdvice.objects.filter(entry=opened.bo)
    return sorted(owed.values_list("left_lane__number", flat=True))


def test_a_bowler_of_a_block_that_is_not_open_is_owed_nothing(opened: OpenBlock) -> None:
    Block.objects.update(state=Block.State.FINISHED)
    jobs.owe_advice_to(BlockEntry.objects.all())
    assert not OwedAdvice.objects.exists()


def test_what_is_owed_disappears_with_the_transaction_that_owed_it(opened: OpenBlock) -> None:
    with pytest.raises(RuntimeError), transaction.atomic():
        jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
        raise RuntimeError
    assert not OwedAdvice.objects.exists()


def test_the_message_is_sent_after_commit_and_its_failure_loses_nothing(
    opened: OpenBlock, django_capture_on_commit_callbacks
) -> None:
    with patch("sessions.tasks.compute_advice.apply_async", side_effect=OSError("broker away")) as send:
        with django_capture_on_commit_callbacks(execute=True):
            jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
            assert not send.called
        assert send.call_count == 2
    assert OwedAdvice.objects.filter(jobs.claimable(timezone.now())).count() == 2


def test_owing_takes_the_same_number_of_queries_however_much_was_logged(
    opened: OpenBlock, django_assert_max_num_queries
) -> None:
    for frame in range(1, 11):
        opened.shot(opened.bo, frame=frame)
        opened.shot(opened.lin, frame=frame)
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    # four to find who is where, and a few for each row that is raised
    with django_assert_max_num_queries(20):
        jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))


# --- claiming -------------------------------------------------------------------------------------


def test_of_two_claims_one_is_granted(owed: OwedAdvice) -> None:
    first, second = jobs.claim(owed.pk), jobs.claim(owed.pk)
    assert first is not None
    assert first.answers == 1
    assert second is None


def test_a_claim_whose_worker_died_is_free_again_after_its_lease(owed: OwedAdvice) -> None:
    dead = jobs.claim(owed.pk)
    OwedAdvice.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    heir = jobs.claim(owed.pk)
    assert dead is not None
    assert heir is not None
    assert heir.token != dead.token
    assert not jobs.keep(dead)
    assert jobs.keep(heir)


def test_a_kept_lease_outlives_its_first_term(owed: OwedAdvice) -> None:
    held = jobs.claim(owed.pk)
    assert held is not None
    OwedAdvice.objects.update(lease_until=timezone.now() + timedelta(milliseconds=1))
    assert jobs.keep(held, 0.4)
    owed.refresh_from_db()
    assert owed.lease_until > timezone.now() + jobs.LEASE / 2
    assert owed.progress == 0.4


def test_nothing_owed_is_nothing_to_claim(owed: OwedAdvice) -> None:
    OwedAdvice.objects.update(done=F("wanted"))
    assert jobs.claim(owed.pk) is None


def test_a_claim_on_a_row_that_is_gone_is_refused(owed: OwedAdvice) -> None:
    OwedAdvice.objects.all().delete()
    assert jobs.claim(owed.pk) is None


# --- finishing ------------------------------------------------------------------------------------


def test_answers_and_the_paid_debt_are_stored_together(owed: OwedAdvice, opened: OpenBlock) -> None:
    held = jobs.claim(owed.pk)
    assert jobs.finish(held, [an_answer(opened, 7), an_answer(opened, 8)])
    owed.refresh_from_db()
    assert (owed.done, owed.lease_token, owed.attempts) == (1, None, 0)
    assert list(owed.answers.order_by("lane").values_list("answers", flat=True)) == [1, 1]


def test_a_worker_that_lost_its_claim_stores_nothing(owed: OwedAdvice, opened: OpenBlock) -> None:
    slow = jobs.claim(owed.pk)
    OwedAdvice.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    quick = jobs.claim(owed.pk)
    assert not jobs.finish(slow, [an_answer(opened, 7)])
    assert not Advice.objects.exists()
    assert jobs.finish(quick, [an_answer(opened, 7)])
    assert not jobs.finish(slow, [an_answer(opened, 7)])
    assert Advice.objects.count() == 1


def test_answering_the_same_input_twice_leaves_one_answer(owed: OwedAdvice, opened: OpenBlock) -> None:
    jobs.finish(jobs.claim(owed.pk), [an_answer(opened, 7)])
    OwedAdvice.objects.update(done=0)
    jobs.finish(jobs.claim(owed.pk), [an_answer(opened, 7)])
    assert Advice.objects.count() == 1


def test_input_that_came_in_meanwhile_is_still_owed(owed: OwedAdvice, opened: OpenBlock) -> None:
    held = jobs.claim(owed.pk)
    assert not jobs.is_replaced(held)
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    assert jobs.is_replaced(held)
    jobs.finish(held, [an_answer(opened, 7)])
    owed.refresh_from_db()
    assert (owed.done, owed.wanted) == (1, 2)
    again = jobs.claim(owed.pk)
    assert again is not None
    assert again.answers == 2


# --- failing, giving back, cancelling -------------------------------------------------------------


def test_a_failure_waits_longer_each_time_and_is_then_parked(owed: OwedAdvice) -> None:
    waits = []
    for _ in range(jobs.MAX_ATTEMPTS):
        held = jobs.claim(owed.pk)
        jobs.fail(held, "The lane has no sheet.")
        owed.refresh_from_db()
        waits.append(round((owed.not_before - timezone.now()).total_seconds()))
        assert jobs.claim(owed.pk) is None
        OwedAdvice.objects.update(not_before=timezone.now())
    assert waits == [2, 10, 30, 120, 120]
    assert owed.failure == "The lane has no sheet."
    assert jobs.claim(owed.pk) is None


def test_a_worker_killed_again_and_again_parks_the_row(owed: OwedAdvice) -> None:
    for _ in range(jobs.MAX_ATTEMPTS):
        assert jobs.claim(owed.pk) is not None
        OwedAdvice.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert jobs.claim(owed.pk) is None


def test_hopeless_work_waits_for_new_input(owed: OwedAdvice, opened: OpenBlock) -> None:
    jobs.fail(jobs.claim(owed.pk), "No ball in the bag.", hopeless=True)
    OwedAdvice.objects.update(not_before=None)
    assert jobs.claim(owed.pk) is None
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    assert jobs.claim(owed.pk) is not None


def test_a_failure_does_not_count_against_input_that_came_in_meanwhile(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    held = jobs.claim(owed.pk)
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    jobs.fail(held, "No ball in the bag.", hopeless=True)
    owed.refresh_from_db()
    assert owed.failure == ""
    assert jobs.claim(owed.pk) is not None


def test_given_back_work_is_free_at_once_and_its_attempt_does_not_count(owed: OwedAdvice) -> None:
    for _ in range(2 * jobs.MAX_ATTEMPTS):
        held = jobs.claim(owed.pk)
        assert held is not None
        jobs.release(held)


def test_work_given_back_for_newer_input_leaves_its_clean_slate(owed: OwedAdvice, opened: OpenBlock) -> None:
    OwedAdvice.objects.update(attempts=3)
    held = jobs.claim(owed.pk)
    assert held is not None and held.attempts == 4
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    jobs.release(held)
    owed.refresh_from_db()
    assert (owed.attempts, owed.lease_token) == (0, None)


def test_cancelled_work_stops_and_is_not_taken_up_until_somebody_asks(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    held = jobs.claim(owed.pk)
    jobs.cancel(owed)
    assert not jobs.keep(held)
    assert not jobs.finish(held, [an_answer(opened, 7)])
    assert jobs.claim(owed.pk) is None
    with patch("sessions.tasks.compute_advice.apply_async") as send:
        OwedAdvice.objects.update(wanted_at=timezone.now() - timedelta(minutes=1))
        OwedAdvice.objects.exclude(pk=owed.pk).delete()
        jobs.sweep()
    assert not send.called
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    assert jobs.claim(owed.pk) is not None


# --- sweeping -------------------------------------------------------------------------------------


def test_the_sweep_sends_what_nobody_took_up(owed: OwedAdvice) -> None:
    OwedAdvice.objects.exclude(pk=owed.pk).delete()
    with patch("sessions.tasks.compute_advice.apply_async") as send:
        jobs.sweep()
        assert not send.called  # its own message is still on the way
        OwedAdvice.objects.update(wanted_at=timezone.now() - jobs.RESEND_AFTER)
        jobs.sweep()
    send.assert_called_once()
    assert send.call_args.kwargs["args"] == (owed.pk,)


@pytest.mark.parametrize(
    "changes",
    [
        {"lease_until": timedelta(seconds=5), "lease_token": uuid.uuid4()},
        {"not_before": timedelta(seconds=5)},
        {"attempts": jobs.MAX_ATTEMPTS},
        {"done": 1},
    ],
)
def test_the_sweep_leaves_alone_what_is_held_waiting_parked_or_done(
    owed: OwedAdvice, changes: dict[str, object]
) -> None:
    now = timezone.now()
    dated = {key: now + value if isinstance(value, timedelta) else value for key, value in changes.items()}
    OwedAdvice.objects.exclude(pk=owed.pk).delete()
    OwedAdvice.objects.update(wanted_at=now - timedelta(minutes=1), **dated)
    with patch("sessions.tasks.compute_advice.apply_async") as send:
        assert jobs.sweep() == 0
    assert not send.called


def test_the_sweep_takes_up_a_dead_workers_claim(owed: OwedAdvice) -> None:
    jobs.claim(owed.pk)
    past = timezone.now() - timedelta(minutes=1)
    OwedAdvice.objects.exclude(pk=owed.pk).delete()
    OwedAdvice.objects.update(wanted_at=past, lease_until=past)
    with patch("sessions.tasks.compute_advice.apply_async") as send:
        assert jobs.sweep() == 1
    assert send.called


def test_a_visit_plan_without_games_says_where_a_bowler_starts(opened: OpenBlock) -> None:
    assert not Game.objects.exists()
    PairVisit.objects.filter(entry=opened.lin).delete()
    jobs.owe_advice_to(BlockEntry.objects.all())
    assert [row.entry for row in OwedAdvice.objects.all()] == [opened.bo]
