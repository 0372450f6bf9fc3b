# ruff: noqa: F811  (a fixture is imported by name)
"""Of everything owed, the advice somebody just asked for is computed first, and every other has its turn."""

from datetime import timedelta
from unittest.mock import patch

import pytest
from django.utils import timezone

from sessions import jobs, tasks
from sessions.dependents import on_pair
from sessions.models import OwedAdvice
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)


@pytest.fixture
def two_rows(opened: OpenBlock) -> tuple[OwedAdvice, OwedAdvice]:
    """Bo's row, asked for a minute ago, and Lin's, asked for just now."""
    jobs.owe(on_pair(opened.bo, opened.lanes[7], opened.lanes[8]))
    older, newer = OwedAdvice.objects.get(entry=opened.bo), OwedAdvice.objects.get(entry=opened.lin)
    OwedAdvice.objects.filter(pk=older.pk).update(wanted_at=timezone.now() - timedelta(minutes=1))
    return older, newer


def test_the_newest_question_is_answered_first(two_rows: tuple[OwedAdvice, OwedAdvice]) -> None:
    older, newer = two_rows
    assert jobs.most_urgent(older.pk) == newer.pk


def test_as_many_messages_as_rows_answer_every_row(two_rows: tuple[OwedAdvice, OwedAdvice]) -> None:
    older, newer = two_rows
    with patch("sessions.work.advise.answer", return_value=[]):
        for row in (older, newer):
            tasks.compute_advice.apply(args=(row.pk,))
    assert {row.done for row in OwedAdvice.objects.all()} == {1}


def test_where_nothing_is_free_the_message_keeps_its_own_row(
    two_rows: tuple[OwedAdvice, OwedAdvice],
) -> None:
    for row in two_rows:
        assert jobs.claim(row.pk)
    assert jobs.most_urgent(two_rows[0].pk) == two_rows[0].pk
