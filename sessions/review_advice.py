"""The advice given while a game was bowled, as the review of its block tells it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.dateparse import parse_datetime

from arsenal.access import BallNames
from arsenal.models import Bowler
from arsenal.models.bowler import Hand
from sessions.advice_cards import ACTION_WORDS, Move, moves_in_words
from sessions.models import Advice, BlockEntry, Game


@dataclass(frozen=True)
class GivenAdvice:
    """What was advised on one lane from some moment on, until something else was."""

    lane_number: int
    action: str
    detail: str
    since: datetime


def advice_by_entry(entries: Iterable[BlockEntry]) -> dict[int, list[dict[str, Any]]]:
    """Answers in order, only what is shown of them. Their moment is that of the last ball they knew."""
    rows = (
        Advice.objects.filter(owed__entry__in=entries)
        .order_by("owed__entry", "answers", "lane__number")
        .values(
            "owed__entry_id",
            "lane_id",
            "lane__number",
            "answers",
            "action",
            "ball_id",
            "computed_at",
            "inputs__last_shot_at",
            "result__ball_name",
            "result__feet_move_boards",
            "result__target_move_boards",
        )
    )
    found: dict[int, list[dict[str, Any]]] = {}
    for row in rows:
        known = row["inputs__last_shot_at"]
        moment = (parse_datetime(known) if known else None) or row["computed_at"]
        found.setdefault(row["owed__entry_id"], []).append({**row, "moment": moment})
    return found


def during(rows: Iterable[dict[str, Any]], game: Game, until: datetime | None) -> list[dict[str, Any]]:
    """The answers for the game's lanes from its beginning until the next one's."""
    lanes = {game.left_lane_id, game.right_lane_id}
    return [
        row
        for row in rows
        if row["lane_id"] in lanes
        and row["moment"] >= game.started_at
        and (until is None or row["moment"] < until)
    ]


def given(rows: Iterable[dict[str, Any]], bowler: Bowler, names: BallNames) -> list[GivenAdvice]:
    """Answers lane by lane, with repetitions of the same advice taken together."""
    found: list[GivenAdvice] = []
    last: dict[int, tuple[str, str]] = {}
    for row in sorted(rows, key=lambda row: (row["moment"], row["answers"], row["lane__number"])):
        said = (str(ACTION_WORDS[Advice.Action(row["action"])]), _detail(row, bowler, names))
        if last.get(row["lane__number"]) != said:
            last[row["lane__number"]] = said
            found.append(GivenAdvice(row["lane__number"], *said, row["moment"]))
    return found


def _detail(row: dict[str, Any], bowler: Bowler, names: BallNames) -> str:
    inside_is = "right" if bowler.hand == Hand.LEFT else "left"
    feet = Move(row["result__feet_move_boards"] or 0.0, 0.0, inside_is)
    target = Move(row["result__target_move_boards"] or 0.0, 0.0, inside_is)
    moved = moves_in_words(feet, target)
    if row["action"] == Advice.Action.CHANGE:
        ball = names.of(row["ball_id"], row["result__ball_name"], bowler)
        return f"to {ball}" + (f", {moved}" if moved else "")
    return moved if row["action"] == Advice.Action.MOVE else ""
