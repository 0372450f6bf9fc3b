# ruff: noqa: F811  (a fixture is imported by name)
"""A worker at what is owed: answers, gives way to newer input, keeps failures, stops when told to."""

from collections.abc import Callable, Iterator
from unittest.mock import patch

import pytest

from motion.advice_types import AdviceCancelled
from motion.errors import MotionError
from sessions import jobs, tasks, work
from sessions.models import Advice, Heartbeat, OwedAdvice
from tests.sessions.answers import INPUTS, a_result
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)

Engine = Callable[..., list[Advice]]


@pytest.fixture(autouse=True)
def look_at_every_step(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work, "LOOK_SECONDS", 0.0)


@pytest.fixture
def owed(opened: OpenBlock) -> OwedAdvice:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    return OwedAdvice.objects.get()


def rows(opened: OpenBlock) -> list[Advice]:
    return [
        Advice(
            lane=opened.lanes[n], action="move", result=a_result(opened.lanes[n]), inputs=INPUTS, seconds=0.1
        )
        for n in (7, 8)
    ]


def more_input(opened: OpenBlock) -> None:
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])


def working_engine(opened: OpenBlock, *steps: Callable[[], None]) -> Engine:
    """An engine that reports and asks between steps, as the real one does; each step runs once."""
    left: Iterator[Callable[[], None]] = iter(steps)

    def answer(
        owed_id: int, *, progress: Callable[[float], None], cancelled: Callable[[], bool]
    ) -> list[Advice]:
        for share in (0.25, 0.5, 0.75):
            if cancelled():
                raise AdviceCancelled
            progress(share)
            next(left, lambda: None)()
        if cancelled():
            raise AdviceCancelled
        return rows(opened)

    return answer


def run(owed: OwedAdvice, engine: Engine) -> OwedAdvice:
    with patch("sessions.advise.answer", engine):
        work.work_off(owed.pk)
    owed.refresh_from_db()
    return owed


def test_owed_advice_is_computed_and_stored_for_both_lanes(owed: OwedAdvice, opened: OpenBlock) -> None:
    run(owed, working_engine(opened))
    assert (owed.done, owed.lease_token, owed.progress) == (1, None, 1.0)
    assert [row.lane.number for row in owed.answers.all()] == [7, 8]


def test_earlier_answers_stay_as_a_record_without_their_pictures(owed: OwedAdvice, opened: OpenBlock) -> None:
    run(owed, working_engine(opened))
    more_input(opened)
    run(owed, working_engine(opened))
    first, second = owed.answers.filter(lane=opened.lanes[7]).order_by("answers")
    assert "picture" in second.result
    assert "picture" not in first.result
    assert first.result["reasons"] == second.result["reasons"]


def test_the_same_message_twice_computes_once(owed: OwedAdvice, opened: OpenBlock) -> None:
    run(owed, working_engine(opened))
    with patch("sessions.advise.answer") as engine:
        work.work_off(owed.pk)
    assert not engine.called


def test_newer_input_ends_the_work_early_and_begins_it_again(owed: OwedAdvice, opened: OpenBlock) -> None:
    run(owed, working_engine(opened, lambda: more_input(opened)))
    assert (owed.wanted, owed.done) == (2, 2)
    assert set(owed.answers.values_list("answers", flat=True)) == {2}


def test_input_after_the_last_look_is_answered_in_a_second_round(owed: OwedAdvice, opened: OpenBlock) -> None:
    calls = []

    def engine(owed_id: int, **_: object) -> list[Advice]:
        calls.append(owed_id)
        if len(calls) == 1:
            more_input(opened)
        return rows(opened)

    run(owed, engine)
    assert (len(calls), owed.wanted, owed.done) == (2, 2, 2)


def test_work_gives_way_only_so_often_that_a_busy_pair_still_gets_answers(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    steps = [lambda: more_input(opened)] * 100
    calls: list[int] = []
    inner = working_engine(opened, *steps)

    def engine(owed_id: int, **callbacks: object) -> list[Advice]:
        calls.append(OwedAdvice.objects.get(pk=owed_id).wanted)
        if len(calls) > work.MOST_RESTARTS + 1:
            raise MotionError("test", "stop", "enough")
        return inner(owed_id, **callbacks)

    run(owed, engine)
    assert len(calls) == work.MOST_RESTARTS + 2
    assert owed.answers.count() == 2
    assert owed.wanted > owed.done > 0  # answered, and known to be stale


def test_a_cancelled_row_is_left_alone(owed: OwedAdvice, opened: OpenBlock) -> None:
    run(owed, working_engine(opened, lambda: jobs.cancel(owed)))
    assert (owed.done, owed.cancelled, owed.lease_token) == (0, True, None)
    assert not Advice.objects.exists()


def test_a_row_taken_over_by_another_worker_is_left_to_it(owed: OwedAdvice, opened: OpenBlock) -> None:
    other: list[jobs.Claim | None] = []

    def taken_over() -> None:
        OwedAdvice.objects.update(lease_until="2020-01-01T00:00Z")
        other.append(jobs.claim(owed.pk))

    run(owed, working_engine(opened, taken_over))
    assert owed.lease_token == other[0].token  # type: ignore[union-attr]
    assert not Advice.objects.exists()


def test_input_the_engine_refuses_is_kept_as_the_reason_and_not_tried_again(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    def engine(owed_id: int, **_: object) -> list[Advice]:
        raise MotionError("rg_in", 3.4, "allowed 2.46 to 2.8 in")

    run(owed, engine)
    assert owed.failure == "rg_in: 3.4 — allowed 2.46 to 2.8 in"
    assert jobs.claim(owed.pk) is None


def test_an_empty_bag_is_said_in_words(opened: OpenBlock, owed: OwedAdvice) -> None:
    opened.cast.bo_ball.delete()
    work.work_off(owed.pk)
    owed.refresh_from_db()
    assert owed.failure.startswith("Bo Aldwin has no ball in the bag.")


def test_an_unforeseen_error_is_logged_tried_again_and_never_shown_raw(
    owed: OwedAdvice, opened: OpenBlock, caplog: pytest.LogCaptureFixture
) -> None:
    def engine(owed_id: int, **_: object) -> list[Advice]:
        raise ZeroDivisionError("secret detail")

    run(owed, engine)
    assert owed.failure == work.WENT_WRONG
    assert "secret detail" in caplog.text
    OwedAdvice.objects.update(not_before=None)
    run(owed, working_engine(opened))
    assert (owed.done, owed.failure) == (1, "")


def test_an_error_after_newer_input_is_tried_again_at_once(owed: OwedAdvice, opened: OpenBlock) -> None:
    calls = []

    def engine(owed_id: int, **_: object) -> list[Advice]:
        calls.append(1)
        if len(calls) == 1:
            more_input(opened)
            raise ZeroDivisionError
        return rows(opened)

    run(owed, engine)
    assert (owed.done, owed.failure) == (2, "")


def test_the_task_shows_the_workers_life_and_the_sweep_the_schedulers(
    owed: OwedAdvice, opened: OpenBlock
) -> None:
    with patch("sessions.advise.answer", working_engine(opened)):
        tasks.compute_advice.apply(args=[owed.pk])
    assert list(Heartbeat.objects.values_list("name", flat=True)) == ["worker"]
    owed.refresh_from_db()
    assert owed.done == 1
    tasks.sweep_owed.apply()
    assert set(Heartbeat.objects.values_list("name", flat=True)) == {"worker", "scheduler"}


def test_a_message_about_a_row_that_is_gone_is_no_error(db: None) -> None:
    assert tasks.compute_advice.apply(args=[12345]).successful()
