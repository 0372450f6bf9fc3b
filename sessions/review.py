"""A block looked back on: score sheets, balls by frame, the advice given during each game, and comments."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from arsenal.access import BallNames, visible
from arsenal.models import Bowler, Person
from motion.leaves import FULL_RACK, dashed, leave_name
from motion.scoring import FrameScore
from sessions.commenting import comments_by
from sessions.counted import counted_line, counted_shots, stretches_bowled
from sessions.models import Block, BlockEntry, Comment, Game, Shot
from sessions.review_advice import GivenAdvice, advice_by_entry, during, given
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
class ReviewShot:
    """`line` carries the side its boards are counted from, for readers of both hands meet here."""

    shot: Shot
    ball: str
    line: str
    leave: str
    comments: int = 0
    fate: str = ""  # why it counts no more


@dataclass(frozen=True)
class ReviewGame:
    scored: ScoredGame
    frames: tuple[FrameCell, ...]
    balls: tuple[BallStretch, ...]
    advice: tuple[GivenAdvice, ...]
    shots: tuple[ReviewShot, ...]
    undone: tuple[ReviewShot, ...]
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
    on_games = comments_by(person, "game", [game.pk for game in games])
    on_shots = comments_by(person, "shot", [shot.pk for game in games for shot in counted_shots(game)])
    advice = advice_by_entry(entries)
    undone = undone_shots(games)
    names = BallNames(person)
    return [
        ReviewEntry(
            entry=entry,
            totals=totals[entry.pk],
            games=tuple(
                _review_game(
                    entry,
                    scored,
                    given(during(advice.get(entry.pk, []), scored.game, until), entry.bowler, names),
                    _shots(counted_shots(scored.game), entry.bowler, names, on_shots),
                    _shots(undone.get(scored.game.pk, []), entry.bowler, names),
                    on_games.get(scored.game.pk, []),
                    names,
                )
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
    advice: list[GivenAdvice],
    shots: list[ReviewShot],
    undone: list[ReviewShot],
    comments: list[Comment],
    names: BallNames,
) -> ReviewGame:
    return ReviewGame(
        scored=scored,
        frames=tuple(_cell(scored.score.frames, number) for number in range(1, 11)),
        balls=tuple(balls_by_frame(scored.game, entry.bowler, names)),
        advice=tuple(advice),
        shots=tuple(shots),
        undone=tuple(undone),
        comments=tuple(comments),
    )


def undone_shots(games: Iterable[Game]) -> dict[int, list[Shot]]:
    """What was taken back, by game, in the order in which it was entered."""
    found: dict[int, list[Shot]] = {}
    shots = Shot.objects.filter(game__in=list(games), undone_at__isnull=False)
    for shot in shots.select_related("ball", "lane", "undone_by", "replaced_by").order_by("created_at", "pk"):
        found.setdefault(shot.game_id or 0, []).append(shot)
    return found


def _shots(
    shots: Iterable[Shot],
    bowler: Bowler,
    names: BallNames,
    comments: dict[int, list[Comment]] | None = None,
) -> list[ReviewShot]:
    said = comments or {}
    return [
        ReviewShot(
            shot=shot,
            ball=names.of(shot.ball_id, shot.ball.name, bowler),
            line=_line(shot, bowler),
            leave=_leave(shot),
            comments=len(said.get(shot.pk, ())),
            fate=_fate(shot),
        )
        for shot in shots
    ]


def _fate(shot: Shot) -> str:
    if shot.undone_at is None:
        return ""
    if hasattr(shot, "replaced_by"):
        return "corrected"
    return "a line took its place" if shot.set_aside_by_id else "undone"


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


def balls_by_frame(game: Game, bowler: Bowler, names: BallNames) -> list[BallStretch]:
    """Which ball was thrown first in which frames, from the shots, else from the typed line."""
    first_balls = [shot for shot in counted_shots(game) if shot.throw_number == 1]
    named = [(shot.frame_number, names.of(shot.ball_id, shot.ball.name, bowler)) for shot in first_balls]
    if not named and (line := counted_line(game)) is not None:
        return [
            BallStretch(names.of(s.ball_id, s.ball.name, bowler), s.first_frame, last_frame)
            for s, last_frame in stretches_bowled(line)
        ]
    found: list[BallStretch] = []
    for frame, name in named:
        if found and found[-1].name == name and found[-1].last_frame >= frame - 1:
            found[-1] = BallStretch(name, found[-1].first_frame, frame)
        else:
            found.append(BallStretch(name, frame, frame))
    return found
