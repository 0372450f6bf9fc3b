"""Advice owed is a row: raised by every new input, claimed by one worker at a time, finished once.

A message only wakes a worker. Everything that must not be lost is in `OwedAdvice`: work is owed while
`wanted > done`; a claim is one conditional UPDATE that sets a lease; a lease that runs out is owed again.
"""

import logging
import uuid
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Case, F, PositiveSmallIntegerField, Q, QuerySet, When
from django.utils import timezone

from sessions.dependents import Debt, of_entries, shared_by
from sessions.models import Advice, Block, BlockEntry, Heartbeat, Lane, OwedAdvice

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=15)
MAX_ATTEMPTS = 5
# Seconds to wait after the first, second, ... failure.
BACKOFF_SECONDS = (2, 10, 30, 120)
# A message has this long to wake a worker before the sweep sends another.
RESEND_AFTER = timedelta(seconds=4)
FAILURE_LENGTH = 300
# Parts of an answer that only its page shows while it is the newest; the first is in every stored answer.
BULKY = ("picture", "alternatives")


@dataclass(frozen=True)
class Claim:
    """The right to answer input number `answers` of a row, as long as the row carries `token`."""

    owed_id: int
    token: uuid.UUID
    answers: int
    attempts: int


# --- owing ----------------------------------------------------------------------------------------


def owe_anew(entry: BlockEntry, left_lane: Lane, right_lane: Lane) -> None:
    """Somebody asks: owe advice to this bowler on this pair alone, whatever became of earlier attempts."""
    owe({(entry.pk, (left_lane.pk, right_lane.pk))})


def owe_advice_to(entries: QuerySet[BlockEntry]) -> None:
    """Owe advice to these bowlers on the pairs they are on."""
    owe(of_entries(entries))


@contextmanager
def owing(block: Block) -> Iterator[set[Debt]]:
    """For a write in a block: collects whom it owes advice, and owes it once when the write is done.

    What the caller cannot know is added: everyone to whom the event's moment or the assumed field has moved
    on by this write. Belongs inside the transaction of the write.
    """
    before = shared_by(block)
    owed: set[Debt] = set()
    yield owed
    owe(owed | shared_by(block).owed_since(before))


def owe(owed: Iterable[Debt]) -> None:
    """Raise what these are owed, in the caller's transaction: input and debt are stored both or neither.

    Once for each transaction, because the order is fixed within a call: so two writers never wait for each
    other in a ring.
    """
    with transaction.atomic():
        for entry_id, (left, right) in sorted(set(owed)):
            _send_after_commit(_raise_wanted(entry_id, left, right))


def _raise_wanted(entry_id: int, left: int, right: int) -> int:
    key = {"entry_id": entry_id, "left_lane_id": left, "right_lane_id": right}
    now = timezone.now()
    fresh = {"attempts": 0, "not_before": None, "cancelled": False, "failure": "", "wanted_at": now}
    if not OwedAdvice.objects.filter(**key).update(wanted=F("wanted") + 1, **fresh):
        try:
            with transaction.atomic():
                return OwedAdvice.objects.create(**key, wanted_at=now).pk
        except IntegrityError:  # someone else made the row meanwhile
            OwedAdvice.objects.filter(**key).update(wanted=F("wanted") + 1, **fresh)
    return OwedAdvice.objects.values_list("pk", flat=True).get(**key)


def _send_after_commit(owed_id: int) -> None:
    transaction.on_commit(partial(wake_worker, owed_id), robust=True)


def wake_worker(owed_id: int) -> None:
    """Send the message. That it fails is no loss: the row is owed, and the sweep sends again."""
    from sessions.tasks import compute_advice  # the task imports this module

    try:
        compute_advice.apply_async(args=(owed_id,), expires=60)
    except Exception:
        log.warning("advice %s is owed, but no worker could be woken; the sweep will try again", owed_id)


# --- working --------------------------------------------------------------------------------------


def claimable(now: datetime) -> Q:
    """What a worker may take up now."""
    unheld = Q(lease_until=None) | Q(lease_until__lt=now)
    due = Q(not_before=None) | Q(not_before__lte=now)
    return Q(wanted__gt=F("done"), cancelled=False, attempts__lt=MAX_ATTEMPTS) & unheld & due


def most_urgent(owed_id: int) -> int:
    """Of everything owed, what was asked for last: somebody stands at the lane and waits for it.

    Each row sends a message of its own, so the one this message was sent for has its turn too.
    """
    waiting = OwedAdvice.objects.filter(claimable(timezone.now()))
    newest = waiting.order_by("-wanted_at", "pk").values_list("pk", flat=True).first()
    return owed_id if newest is None else newest


def claim(owed_id: int) -> Claim | None:
    """Take the row if it is owed and free. Of many who try at once, the database lets one through.

    Attempts are counted here and not on failure, because a worker that is killed reports none.
    """
    now = timezone.now()
    token = uuid.uuid4()
    taken = OwedAdvice.objects.filter(claimable(now), pk=owed_id).update(
        lease_token=token, lease_until=now + LEASE, attempts=F("attempts") + 1, progress=0.0
    )
    if not taken:
        return None
    # Read after the claim and before the inputs: what comes in between is answered, and then once more.
    row = OwedAdvice.objects.filter(pk=owed_id, lease_token=token).first()
    return Claim(owed_id, token, row.wanted, row.attempts) if row else None


def keep(held: Claim, progress: float | None = None) -> bool:
    """Extend the lease; False when the work is no longer wanted: lost, cancelled or gone."""
    changes: dict[str, Any] = {"lease_until": timezone.now() + LEASE}
    if progress is not None:
        changes["progress"] = progress
    mine = OwedAdvice.objects.filter(pk=held.owed_id, lease_token=held.token, cancelled=False)
    return bool(mine.update(**changes))


def is_replaced(held: Claim) -> bool:
    """Whether newer input has come in since the claim."""
    return OwedAdvice.objects.filter(pk=held.owed_id, wanted__gt=held.answers).exists()


def finish(held: Claim, answers: Sequence[Advice]) -> bool:
    """Store the answers and the debt as paid, both or neither, and only while the claim holds."""
    with transaction.atomic():
        paid = OwedAdvice.objects.filter(pk=held.owed_id, lease_token=held.token).update(
            done=held.answers,
            lease_token=None,
            lease_until=None,
            attempts=0,
            not_before=None,
            progress=1.0,
            failure="",
        )
        if paid:
            for answer in answers:
                answer.owed_id, answer.answers = held.owed_id, held.answers
            Advice.objects.bulk_create(answers, ignore_conflicts=True)
            _slim_older(held)
    return bool(paid)


def _slim_older(held: Claim) -> None:
    """Earlier answers stay as a record without their bulk, so that a season of blocks stays small."""
    older = Advice.objects.filter(owed=held.owed_id, answers__lt=held.answers, result__has_key=BULKY[0])
    for answer in older:
        answer.result = {key: value for key, value in answer.result.items() if key not in BULKY}
        answer.save(update_fields=["result"])


def release(held: Claim) -> None:
    """Give the row back undone, without counting the attempt (newer input or a cancel ended it).

    Newer input has set the count to nothing, and then it stays so.
    """
    mine = When(attempts=held.attempts, attempts__gt=0, then=F("attempts") - 1)
    uncounted = Case(mine, default=F("attempts"), output_field=PositiveSmallIntegerField())
    OwedAdvice.objects.filter(pk=held.owed_id, lease_token=held.token).update(
        lease_token=None, lease_until=None, progress=0.0, attempts=uncounted
    )


def fail(held: Claim, reason: str, *, hopeless: bool = False) -> None:
    """Keep the reason and wait before the next attempt; hopeless work waits for new input.

    Where newer input has come in meanwhile, the failure says nothing about it: the row is only given back.
    """
    wait = BACKOFF_SECONDS[min(held.attempts, len(BACKOFF_SECONDS)) - 1]
    mine = OwedAdvice.objects.filter(pk=held.owed_id, lease_token=held.token, wanted=held.answers)
    failed = mine.update(
        lease_token=None,
        lease_until=None,
        progress=0.0,
        failure=reason[:FAILURE_LENGTH],
        not_before=timezone.now() + timedelta(seconds=wait),
        attempts=MAX_ATTEMPTS if hopeless else held.attempts,
    )
    if not failed:
        release(held)


def cancel(owed: OwedAdvice) -> None:
    """Stop work on a row until new input comes or somebody asks again."""
    OwedAdvice.objects.filter(pk=owed.pk, wanted__gt=F("done")).update(
        cancelled=True, lease_token=None, lease_until=None, progress=0.0
    )


def sweep() -> int:
    """Wake a worker for everything owed that nobody holds; says how much that was."""
    now = timezone.now()
    lost = OwedAdvice.objects.filter(claimable(now), wanted_at__lt=now - RESEND_AFTER)
    ids = list(lost.order_by("wanted_at").values_list("pk", flat=True))
    for owed_id in ids:
        wake_worker(owed_id)
    return len(ids)


def beat(*names: str) -> None:
    """Write down that the worker or the scheduler shows life."""
    for name in names:
        Heartbeat.objects.update_or_create(name=name, defaults={"beat_at": timezone.now()})
