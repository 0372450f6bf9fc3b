"""A block looked back on: score sheets, balls by frame, the advice given during each game, and comments."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.dateparse import parse_datetime

from arsenal.access import visible
from arsenal.models import Bowler, Person
from motion.leaves import FULL_RACK, dashed, leave_name
from motion.scoring import FrameScore
from sessions.advice_cards import ACTION_WORDS, Move, moves_in_words
from sessions.commenting import comments_by
from sessions.counted import counted_line, counted_shots
from sessions.models import Advice, Block, BlockEntry, Comment, Game, Shot
from sessions.scores import BlockTotals, ScoredGame, totals_by_entry


@dataclass(frozen=True)
class Mark:
    text: str
    is_split: bool


@dataclass(frozen=True)
class FrameCell:
    """One frame as it is drawn on a score sheet."""

    number: int
    marks: tuple[Mark, ...]
    running: int | None


@dataclass(frozen=True)
class BallStretch:
    name: str
    first_frame: int
    last_frame: int

    @property
    def frames(self) -> str:
        if self.first_frame == self.last_frame:
            return str(self.first_frame)
        return f"{self.first_frame}–{self.last_frame}"


@dataclass(frozen=True)
class GivenAdvice:
    """What was advised on one lane from some moment on, until something else was."""

    lane_number: int
    action: str
    detail: str
    since: datetime


@dataclass(frozen=True)
class ReviewShot:
    """`line` carries the side its boards are counted from, for readers of both hands meet here."""

    shot: Shot
    line: str
    leave: str
    comments: int


@dataclass(frozen=True)
class ReviewGame:
    scored: ScoredGame
    frames: tuple[FrameCell, ...]
    balls: tuple[BallStretch, ...]
    advice: tuple[GivenAdvice, ...]
    shots: tuple[ReviewShot, ...]
    comments: tuple[Comment, ...]

    @property
    def game(self) -> Game:
        return self.scored.game

    @property
    def has_lines(self) -> bool:
        """Whether any first ball was logged with its line, so that its path can be drawn."""
        return any(item.shot.laydown_board is not None for item in self.shots)


@dataclass(frozen=True)
class ReviewEntry:
    """One bowler's block. `is_open`: shown unfolded, for it is the reader's own or the only one."""

    entry: BlockEntry
    totals: BlockTotals
    games: tuple[ReviewGame, ...]
    is_open: bool


def review_of(person: Person, block: Block) -> list[ReviewEntry]:
    """Every bowler the person may read; the number of queries does not grow with games or shots."""
    entries = list(
        visible(person, BlockEntry)
        .filter(block=block)
        .select_related("bowler")
        .order_by("bowler__name", "pk")
    )
    totals = totals_by_entry(entries)
    games = [scored.game for found in totals.values() for scored in found.games]
    on_games = comments_by("game", [game.pk for game in games])
    on_shots = comments_by("shot", [shot.pk for game in games for shot in counted_shots(game)])
    advice = _advice_by_entry(entries)
    return [
        ReviewEntry(
            entry=entry,
            totals=totals[entry.pk],
            games=tuple(
                _review_game(entry, scored, advice.get(entry.pk, []), until, on_games, on_shots)
                for scored, until in _with_ends(totals[entry.pk].games)
            ),
            is_open=entry.bowler.person_id == person.pk or len(entries) == 1,
        )
        for entry in entries
    ]


def _with_ends(games: Sequence[ScoredGame]) -> list[tuple[ScoredGame, datetime | None]]:
    """Each game with the moment the next one began."""
    starts: list[datetime | None] = [*(scored.game.started_at for scored in games[1:]), None]
    return list(zip(games, starts, strict=False))


def _review_game(
    entry: BlockEntry,
    scored: ScoredGame,
    advice: Sequence[dict[str, Any]],
    until: datetime | None,
    on_games: dict[int, list[Comment]],
    on_shots: dict[int, list[Comment]],
) -> ReviewGame:
    game = scored.game
    shots = counted_shots(game)
    lanes = {game.left_lane_id, game.right_lane_id}
    during = [
        row
        for row in advice
        if row["lane_id"] in lanes
        and row["moment"] >= game.started_at
        and (until is None or row["moment"] < until)
    ]
    return ReviewGame(
        scored=scored,
        frames=tuple(_cell(scored.score.frames, number) for number in range(1, 11)),
        balls=tuple(balls_by_frame(game)),
        advice=tuple(_given(during, entry.bowler.hand)),
        shots=tuple(
            ReviewShot(shot, _line(shot, entry.bowler), _leave(shot), len(on_shots.get(shot.pk, ())))
            for shot in shots
        ),
        comments=tuple(on_games.get(game.pk, ())),
    )


def _cell(frames: Sequence[FrameScore], number: int) -> FrameCell:
    if number > len(frames):
        return FrameCell(number, (), None)
    frame = frames[number - 1]
    marks = tuple(Mark(text, index in frame.split_throws) for index, text in enumerate(frame.marks))
    return FrameCell(number, marks, frame.running)


def _line(shot: Shot, bowler: Bowler) -> str:
    boards = [
        "?" if board is None else f"{board:g}{bowler.side_letter}"
        for board in (shot.laydown_board, shot.target_board)
    ]
    return "" if boards == ["?", "?"] else " → ".join(boards)


def _leave(shot: Shot) -> str:
    """What a ball did, in the trade's words."""
    if shot.foul:
        return "foul"
    if shot.pins_left == 0:
        return "strike" if shot.pins_before == FULL_RACK else "spare"
    return leave_name(shot.pins_left) if shot.pins_before == FULL_RACK else f"missed {dashed(shot.pins_left)}"


def balls_by_frame(game: Game) -> list[BallStretch]:
    """Which ball was thrown first in which frames, from the shots, else from the typed line."""
    named = [(shot.frame_number, shot.ball.name) for shot in counted_shots(game) if shot.throw_number == 1]
    if not named and (line := counted_line(game)) is not None:
        return [BallStretch(s.ball.name, s.first_frame, s.last_frame) for s in line.stretches.all()]
    found: list[BallStretch] = []
    for frame, name in named:
        if found and found[-1].name == name and found[-1].last_frame >= frame - 1:
            found[-1] = BallStretch(name, found[-1].first_frame, frame)
        else:
            found.append(BallStretch(name, frame, frame))
    return found


# --- advice given ---------------------------------------------------------------------------------


def _advice_by_entry(entries: Iterable[BlockEntry]) -> dict[int, list[dict[str, Any]]]:
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


def _given(rows: Iterable[dict[str, Any]], hand: str) -> list[GivenAdvice]:
    """Answers lane by lane, with repetitions of the same advice taken together."""
    found: list[GivenAdvice] = []
    last: dict[int, tuple[str, str]] = {}
    for row in sorted(rows, key=lambda row: (row["moment"], row["answers"], row["lane__number"])):
        said = (str(ACTION_WORDS[Advice.Action(row["action"])]), _detail(row, hand))
        if last.get(row["lane__number"]) != said:
            last[row["lane__number"]] = said
            found.append(GivenAdvice(row["lane__number"], *said, row["moment"]))
    return found


def _detail(row: dict[str, Any], hand: str) -> str:
    inside_is = "right" if hand == "left" else "left"
    feet = Move(row["result__feet_move_boards"] or 0.0, 0.0, inside_is)
    target = Move(row["result__target_move_boards"] or 0.0, 0.0, inside_is)
    moved = moves_in_words(feet, target)
    if row["action"] == Advice.Action.CHANGE:
        return f"to {row['result__ball_name']}" + (f", {moved}" if moved else "")
    return moved if row["action"] == Advice.Action.MOVE else ""
