"""Scores of a game, traditional and current-frame, finished or not.

Traditional: USBC Bowling Rules, chapter 2 rule 2 (docslib.org/doc/2410441, FOUND). Current-frame: World
Bowling scoring as restated in Wikipedia "Ten-pin bowling" (FOUND-2).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from motion.frames import (
    Frame,
    FrameLike,
    Style,
    check_game,
    is_frame_complete,
    pins_standing,
)
from motion.notation import marks_of

__all__ = ["FrameScore", "GameScore", "score_current_frame", "score_game", "score_traditional"]


@dataclass(frozen=True, slots=True)
class FrameScore:
    """One frame on the score sheet.

    throws: pins per ball. marks: what is written per ball ("X", "9", "/", "-", "F"). score: the frame's own
    worth, running: the total up to here; both None while later balls still decide them. is_split: some ball
    of the frame left a split; split_throws: which (indexes).
    """

    number: int
    throws: tuple[int, ...]
    marks: tuple[str, ...]
    score: int | None
    running: int | None
    is_split: bool
    split_throws: tuple[int, ...]
    complete: bool


@dataclass(frozen=True, slots=True)
class GameScore:
    """A scored game: total is the running total of the last decided frame (0 before the first)."""

    frames: tuple[FrameScore, ...]
    total: int
    max_possible: int
    complete: bool


def score_game(frames: Iterable[FrameLike], style: Style = "traditional") -> GameScore:
    """Score a game of 0 to 10 frames, the last possibly unfinished, in the style named.

    Each frame is a Frame or a plain sequence of pin counts. Raises MotionError naming the frame, the value
    and what is allowed: an eleventh frame, more pins than stand, an unfinished frame followed by another.
    """
    game = check_game(frames, style)
    worths = _traditional_worths(game) if style == "traditional" else _current_frame_worths(game)
    scored: list[FrameScore] = []
    total: int | None = 0
    for number, (frame, worth) in enumerate(zip(game, worths, strict=True), start=1):
        total = None if total is None or worth is None else total + worth
        scored.append(
            FrameScore(
                number=number,
                throws=frame.throws,
                marks=marks_of(frame),
                score=worth,
                running=total,
                is_split=bool(frame.splits),
                split_throws=frame.splits,
                complete=is_frame_complete(frame, number, style),
            )
        )
    decided = [frame.running for frame in scored if frame.running is not None]
    return GameScore(
        frames=tuple(scored),
        total=decided[-1] if decided else 0,
        max_possible=_best_possible(game, style),
        complete=len(scored) == 10 and scored[-1].complete,
    )


def score_traditional(frames: Iterable[FrameLike]) -> GameScore:
    """score_game in the traditional style."""
    return score_game(frames, "traditional")


def score_current_frame(frames: Iterable[FrameLike]) -> GameScore:
    """score_game in the current-frame style: strike 30, spare 10 plus its first ball, no bonus balls."""
    return score_game(frames, "current frame")


def _traditional_worths(game: Sequence[Frame]) -> list[int | None]:
    balls = [pins for frame in game for pins in frame.throws]
    worths: list[int | None] = []
    start = 0
    for number, frame in enumerate(game, start=1):
        if not is_frame_complete(frame, number):
            worths.append(None)
            continue
        # The tenth frame's own balls are its bonus, so the same window of three serves all ten frames.
        marked = frame.throws[0] == 10 or sum(frame.throws[:2]) == 10
        window = balls[start : start + (3 if marked else 2)]
        worths.append(None if marked and len(window) < 3 else sum(window))
        start += len(frame.throws)
    return worths


def _current_frame_worths(game: Sequence[Frame]) -> list[int | None]:
    worths: list[int | None] = []
    for number, frame in enumerate(game, start=1):
        if not is_frame_complete(frame, number, "current frame"):
            worths.append(None)
        elif frame.throws[0] == 10:
            worths.append(30)
        else:
            pins = sum(frame.throws)
            worths.append(pins + frame.throws[0] if pins == 10 else pins)
    return worths


def _best_possible(game: tuple[Frame, ...], style: Style) -> int:
    """The score if every ball still to come takes all the pins it finds."""
    finished = [frame.throws for frame in game]
    if finished and not is_frame_complete(game[-1], len(finished), style):
        finished[-1] = _cleared(finished[-1], len(finished), style)
    while len(finished) < 10:
        finished.append(_cleared((), len(finished) + 1, style))
    best = tuple(Frame(throws) for throws in finished)
    worths = _traditional_worths(best) if style == "traditional" else _current_frame_worths(best)
    return sum(worth for worth in worths if worth is not None)


def _cleared(throws: tuple[int, ...], number: int, style: Style) -> tuple[int, ...]:
    while standing := pins_standing(Frame(throws), number, style):
        throws = (*throws, standing)
    return throws
