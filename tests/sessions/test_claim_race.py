# ruff: noqa: F811  (fixtures are imported by name)
"""Workers and writers at the very same moment, over real connections of whichever database is in use."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction

from sessions import jobs
from sessions.dependents import on_pair
from sessions.models import Advice, BlockEntry, OwedAdvice
from sessions.record_shot import hold
from tests.conftest import Cast
from tests.conftest import cast as cast_fixture
from tests.sessions.block import OpenBlock, open_block
from tests.sessions.test_doubled import at_once, on_disk  # noqa: F401  (a fixture)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def committed(on_disk: None) -> OpenBlock:
    """The block in committed rows, so that other connections see it."""
    people: Cast = cast_fixture.__wrapped__(None)  # type: ignore[attr-defined]
    return open_block(people)


@pytest.fixture(autouse=True)
def no_messages(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "wake_worker", lambda owed_id: None)


def owe_call(opened: OpenBlock) -> Callable[[], Any]:
    return lambda: jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])


def test_of_many_workers_one_gets_the_row(committed: OpenBlock) -> None:
    owe_call(committed)()
    owed = OwedAdvice.objects.get()
    claims = at_once(*[lambda: jobs.claim(owed.pk)] * 6)
    granted = [claim for claim in claims if claim is not None]
    assert len(granted) == 1
    owed.refresh_from_db()
    assert (owed.lease_token, owed.attempts) == (granted[0].token, 1)


def test_inputs_that_arrive_together_are_each_counted_on_one_row(committed: OpenBlock) -> None:
    assert at_once(*[owe_call(committed)] * 5) == [None] * 5
    assert OwedAdvice.objects.get().wanted == 5


def test_input_that_arrives_while_work_is_finished_is_still_owed(committed: OpenBlock) -> None:
    owe_call(committed)()
    held = jobs.claim(OwedAdvice.objects.get().pk)
    assert held is not None
    row = Advice(lane=committed.lanes[7], action="stay", result={}, inputs={}, seconds=0.1)
    at_once(lambda: jobs.finish(held, [row]), owe_call(committed))
    owed = OwedAdvice.objects.get()
    assert (owed.wanted, owed.done, owed.answers.count()) == (2, 1, 1)
    assert jobs.claim(owed.pk) is not None


def test_a_dead_and_a_living_worker_that_finish_together_store_one_answer(committed: OpenBlock) -> None:
    owe_call(committed)()
    owed = OwedAdvice.objects.get()
    dead = jobs.claim(owed.pk)
    OwedAdvice.objects.update(lease_until="2020-01-01T00:00Z")
    living = jobs.claim(owed.pk)

    def finish(held: jobs.Claim | None) -> Callable[[], bool]:
        assert held is not None
        row = Advice(lane=committed.lanes[7], action="stay", result={}, inputs={}, seconds=0.1)
        return lambda: jobs.finish(held, [row])

    assert at_once(finish(dead), finish(living)) == [False, True]
    assert Advice.objects.count() == 1


@pytest.mark.postgres
def test_team_mates_who_owe_each_other_their_first_advice_at_once_do_not_wait_in_a_ring(
    committed: OpenBlock,
) -> None:
    """Each holds the own entry and makes a row that refers to the other's (row locks: PostgreSQL alone)."""
    both_hold = threading.Barrier(2)

    def write(entry: BlockEntry) -> Callable[[], bool]:
        def run() -> bool:
            with transaction.atomic():
                hold(entry)
                both_hold.wait(10)
                jobs.owe(on_pair(entry, committed.lanes[7], committed.lanes[8]))
            return True

        return run

    assert at_once(write(committed.bo), write(committed.lin)) == [True, True]
    assert {row.wanted for row in OwedAdvice.objects.all()} == {2}
