"""What of an answer a guest of a shared event reads: the advice, without balls that are not shared."""

import re
from collections.abc import Iterable
from typing import Any

from arsenal.access import BallNames
from arsenal.models import Ball, Bowler
from sessions.models import Advice

# Parts of a result in which a ball may be named.
WORDS = ("headline", "reasons", "would_change", "missing", "note", "ball_name", "surface")


def hide_unshared_balls(answers: Iterable[Advice], bowler: Bowler, names: BallNames) -> None:
    """Leave out, of these unsaved copies, every ball the person does not see; the moves stay.

    Sentences were written when the answer was: they are cleared of the names of that day and of today.
    """
    if names.sees_all_of(bowler):
        return
    balls = list(Ball.objects.filter(bowler=bowler))
    seen = {str(ball.uuid) for ball in balls if names.sees(ball.pk, bowler)}
    hidden = {ball.name for ball in balls if str(ball.uuid) not in seen}
    for answer in answers:
        named = _named_in(answer, seen)
        _leave_out(answer, seen)
        if not names.sees(answer.ball_id, bowler):
            answer.ball = None
            answer.result |= {"ball_id": None}
        words = _Words(hidden | named, names.unnamed(bowler))
        answer.result |= {key: words.clear(answer.result[key]) for key in WORDS if key in answer.result}


def _named_in(answer: Advice, seen: set[str]) -> set[str]:
    """Names the answer itself gives to balls that are not seen."""
    result, records = answer.result, answer.inputs.get("balls") or []
    rows = [*records, *(result.get("alternatives") or []), result, result.get("surface") or {}]
    return {
        str(row.get("name") or row.get("ball_name") or "")
        for row in rows
        if str(row.get("uuid") or row.get("ball_id")) not in seen
    } - {""}


def _leave_out(answer: Advice, seen: set[str]) -> None:
    for part, key, name in ((answer.result, "alternatives", "ball_id"), (answer.inputs, "balls", "uuid")):
        if part.get(key):
            part[key] = [row for row in part[key] if row[name] in seen]
    surface = answer.result.get("surface")
    if surface and surface.get("ball_id") and surface["ball_id"] not in seen:
        answer.result["surface"] = None


class _Words:
    """Puts other words in the place of whole names."""

    def __init__(self, names: Iterable[str], instead: str) -> None:
        # The longest first, so that no part of a name is left standing.
        ordered = sorted(names, key=len, reverse=True)
        self.instead = instead
        self.pattern = (
            re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in ordered)) if ordered else None
        )

    def clear(self, value: Any) -> Any:
        if self.pattern is None:
            return value
        if isinstance(value, str):
            return self.pattern.sub(self.instead, value)
        if isinstance(value, list):
            return [self.clear(item) for item in value]
        if isinstance(value, dict):
            return {key: self.clear(item) for key, item in value.items()}
        return value
