"""Scores, computed from the shots or the line of a game and never stored."""

from collections.abc import Iterable
from dataclasses import dataclass

from motion.notation import format_game
from motion.scoring import GameScore, score_game
from sessions.counted import counted_line, counted_shots, frames_of, with_what_was_bowled
from sessions.models import BlockEntry, Game

# What the trade counts a block against.
PAR = 200


@dataclass(frozen=True)
class ScoredGame:
    """A game with its score; `source` says what it was computed from."""

    game: Game
    score: GameScore
    source: str  # "shots", "line" or "nothing"

    @property
    def number(self) -> int:
        return self.game.number


@dataclass(frozen=True)
class BlockTotals:
    """The games of one entry in order. Total and over/under count the finished ones; pins, all of them."""

    games: tuple[ScoredGame, ...]
    total: int
    finished: int
    pins_so_far: int

    @property
    def over_under(self) -> int:
        return self.total - PAR * self.finished

    @property
    def over_under_text(self) -> str:
        return f"{self.over_under:+d}".replace("-", "−") if self.over_under else "even"

    @property
    def average(self) -> float | None:
        return self.total / self.finished if self.finished else None


def notation_of(game: Game) -> str:
    return format_game(frames_of(game))


def game_score(game: Game) -> GameScore:
    return score_game(frames_of(game))


def scored(game: Game) -> ScoredGame:
    source = "shots" if counted_shots(game) else "line" if counted_line(game) else "nothing"
    return ScoredGame(game, game_score(game), source)


def totals_of(games: Iterable[Game]) -> BlockTotals:
    done = tuple(scored(game) for game in sorted(games, key=lambda game: game.number))
    finished = [item.score.total for item in done if item.score.complete]
    return BlockTotals(
        games=done,
        total=sum(finished),
        finished=len(finished),
        pins_so_far=sum(item.score.total for item in done),
    )


def totals_by_entry(entries: Iterable[BlockEntry]) -> dict[int, BlockTotals]:
    """Block totals by entry id, in three queries however many entries there are."""
    by_entry: dict[int, list[Game]] = {entry.pk: [] for entry in entries}
    for game in with_what_was_bowled(Game.objects.filter(entry__in=by_entry)):
        by_entry[game.entry_id].append(game)
    return {pk: totals_of(games) for pk, games in by_entry.items()}
