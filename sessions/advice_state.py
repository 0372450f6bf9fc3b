"""Where advice for a bowler on a pair stands: up to date, worked on, stale, failed, or never asked for."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from sessions.jobs import MAX_ATTEMPTS
from sessions.models import Advice, BlockEntry, Lane, OwedAdvice
from sessions.work_state import WorkState, work_state

STOPPED = "The work was begun {count} times and never came to an end. The worker's log may say why."
# Seconds between two looks of the page: while something is going on, and while nothing is.
LOOK_SOON, LOOK_LATER = 2, 5


@dataclass(frozen=True)
class AdviceState:
    """`status` is one of none, fresh, waiting, working, retrying, stopped, cancelled.

    Answers are the newest of each lane, left lane first; `stale` when newer input than theirs was logged.
    """

    entry: BlockEntry
    left_lane: Lane
    right_lane: Lane
    owed: OwedAdvice | None
    status: str
    work: WorkState
    answers: tuple[Advice, ...] = ()
    failure: str = ""
    retry_seconds: int = 0

    @property
    def stale(self) -> bool:
        return self.owed is not None and any(a.answers < self.owed.wanted for a in self.answers)

    @property
    def behind(self) -> int:
        """How many inputs the shown answers do not know of yet."""
        if self.owed is None or not self.answers:
            return 0
        return self.owed.wanted - min(a.answers for a in self.answers)

    @property
    def progress_percent(self) -> int:
        return round(100 * self.owed.progress) if self.owed else 0

    @property
    def computed_at(self) -> datetime | None:
        return min((a.computed_at for a in self.answers), default=None)

    @property
    def is_pending(self) -> bool:
        return self.status in ("waiting", "working", "retrying")

    @property
    def look_seconds(self) -> int:
        return LOOK_SOON if self.is_pending or self.stale else LOOK_LATER

    @property
    def stamp(self) -> str:
        """Changes whenever the page would look different; a look that finds it unchanged redraws nothing."""
        answered = "-".join(str(a.pk) for a in self.answers)
        wanted = self.owed.wanted if self.owed else 0
        parts = (self.status, wanted, answered, self.progress_percent // 10, self.retry_seconds // 5)
        return ".".join(str(part) for part in (*parts, int(self.work.is_well)))

    @property
    def said(self) -> str:
        """The state in one sentence."""
        sentences = {
            "none": "Nobody has asked for advice on this pair yet.",
            "fresh": "Everything logged so far is in it.",
            "waiting": "Waiting for a worker to take it up.",
            "working": f"{self.progress_percent} % done.",
            "retrying": f"Failed: {self.failure} Next try in {self.retry_seconds} s.",
            "stopped": f"Stopped: {self.failure}",
            "cancelled": "Cancelled. The next shot logged, or the button, starts it again.",
        }
        return sentences[self.status]


def advice_state(entry: BlockEntry, left_lane: Lane, right_lane: Lane) -> AdviceState:
    now = timezone.now()
    owed = OwedAdvice.objects.filter(entry=entry, left_lane=left_lane, right_lane=right_lane).first()
    if owed is None:
        return AdviceState(entry, left_lane, right_lane, None, "none", work_state(now))
    status = status_of(owed, now)
    wait = (owed.not_before - now).total_seconds() if owed.not_before else 0.0
    return AdviceState(
        entry,
        left_lane,
        right_lane,
        owed,
        status,
        work_state(now),
        answers=newest_answers(owed),
        failure=owed.failure or (STOPPED.format(count=owed.attempts) if status == "stopped" else ""),
        retry_seconds=max(round(wait), 0),
    )


def status_of(owed: OwedAdvice, now: datetime) -> str:
    if owed.done >= owed.wanted:
        return "fresh"
    if owed.cancelled:
        return "cancelled"
    if owed.lease_until is not None and owed.lease_until >= now:
        return "working"
    if owed.attempts >= MAX_ATTEMPTS:
        return "stopped"
    if owed.not_before is not None and owed.not_before > now:
        return "retrying"
    return "waiting"


def newest_answers(owed: OwedAdvice) -> tuple[Advice, ...]:
    """The last answer for each lane of the pair, left lane first; both belong to the same input."""
    answers = list(owed.answers.select_related("lane", "ball").order_by("-answers", "lane__number")[:2])
    newest = [answer for answer in answers if answer.answers == answers[0].answers]
    return tuple(sorted(newest, key=lambda answer: answer.lane.number))


def plain_state(state: AdviceState) -> dict[str, Any]:
    """The state as the API shows it."""
    return {
        "status": state.status,
        "stale": state.stale,
        "behind": state.behind,
        "progress": state.owed.progress if state.owed else 0.0,
        "failure": state.failure,
        "said": state.said,
        "computed_at": state.computed_at,
        "working_in_background": state.work.is_well,
        "lanes": [
            {
                "lane": answer.lane.number,
                "action": answer.action,
                "ball": answer.ball.uuid if answer.ball else None,
                "answers": answer.answers,
                "computed_at": answer.computed_at,
                "seconds": answer.seconds,
                "result": answer.result,
                "inputs": answer.inputs,
            }
            for answer in state.answers
        ],
    }
