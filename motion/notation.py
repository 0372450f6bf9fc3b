"""Trade notation of a game: "X 9/ (8)1 7- ...", read forgivingly and written one way.

X strike, / spare, - or 0 or G a miss, F a foul, figures for pins. A split is a figure with a ring on paper;
typed it is "(8)", "S8" or "8S". Spaces, commas, bars and semicolons between balls are optional.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from motion.errors import MotionError
from motion.frames import (
    Frame,
    FrameLike,
    Style,
    as_frame,
    check_game,
    finds_new_rack,
    is_frame_complete,
    pins_standing,
)

_TOKEN = re.compile(r"\(\s*([1-8])\s*\)|[sS]([1-8])|([1-8])[sS]|([0-9xXgGfF/\\\-–—−])")
_BETWEEN = re.compile(r"[\s,;:|.·]+")
_MISSES = frozenset("0gG-–—−")
_ALLOWED = "X, /, -, 0 to 9, F for a foul, G for a gutter ball, (8) for a split"


@dataclass(frozen=True, slots=True)
class _Ball:
    text: str
    pins: int | None  # None for a spare mark, whose worth depends on the ball before
    foul: bool = False
    split: bool = False


def parse_game(text: str, style: Style = "traditional") -> tuple[Frame, ...]:
    """The frames of a game, possibly unfinished, from trade notation.

    Raises MotionError whose field names the frame ("frame 4"), with the value read and what is allowed.
    """
    frames: list[Frame] = []
    current = Frame(())
    at = 0
    while at < len(text):
        if gap := _BETWEEN.match(text, at):
            at = gap.end()
            continue
        number = len(frames) + 1
        match = _TOKEN.match(text, at)
        if match is None:
            raise MotionError(f"frame {min(number, 10)}", text[at : at + 3].strip(), _ALLOWED)
        if number > 10:
            raise MotionError("frame 11", match.group(), "a game has 10 frames")
        at = match.end()
        current = _add(current, _ball(match), number, style)
        if is_frame_complete(current, number, style):
            frames.append(current)
            current = Frame(())
    if current.throws:
        frames.append(current)
    return check_game(frames, style)


def _ball(match: re.Match[str]) -> _Ball:
    text = match.group()
    if split := match.group(1) or match.group(2) or match.group(3):
        return _Ball(text, int(split), split=True)
    if text in "xX":
        return _Ball(text, 10)
    if text in "/\\":
        return _Ball(text, None)
    if text in "fF":
        return _Ball(text, 0, foul=True)
    return _Ball(text, 0 if text in _MISSES else int(text))


def _add(frame: Frame, ball: _Ball, number: int, style: Style) -> Frame:
    field = f"frame {number}"
    index = len(frame.throws)
    standing = pins_standing(frame, number, style)
    # A second ball at ten pins, after a miss, takes a spare mark; a new rack takes a strike mark.
    new_rack = finds_new_rack(frame.throws)
    if ball.pins is None and new_rack:
        raise MotionError(field, ball.text, "a spare mark only on the second ball at a rack")
    if ball.pins == 10 and not new_rack:
        raise MotionError(
            field, ball.text, f"a strike only on the first ball at a rack; here 0 to {standing} or /"
        )
    pins = standing if ball.pins is None else ball.pins
    if pins > standing:
        raise MotionError(field, ball.text, f"0 to {standing} pins, as many as stand")
    if ball.split and (not new_rack or pins > 8):
        raise MotionError(
            field, ball.text, "a split mark only on the first ball at a rack, with 1 to 8 pins down"
        )
    return Frame(
        (*frame.throws, pins),
        (*frame.fouls, index) if ball.foul else frame.fouls,
        (*frame.splits, index) if ball.split else frame.splits,
    )


def marks_of(frame: Frame) -> tuple[str, ...]:
    """What the score sheet shows for each ball of a frame; splits are marked apart (Frame.splits)."""
    marks: list[str] = []
    standing = 10
    fresh_rack = True
    for index, pins in enumerate(frame.throws):
        if index in frame.fouls:
            marks.append("F")
        elif pins == standing:
            marks.append("X" if fresh_rack else "/")
        else:
            marks.append(str(pins) if pins else "-")
        cleared = pins == standing
        standing, fresh_rack = (10, True) if cleared else (standing - pins, False)
    return tuple(marks)


def format_frame(frame: FrameLike) -> str:
    """One frame in trade notation, a split in parentheses: "X", "9/", "(8)1"."""
    frame = as_frame(frame)
    return "".join(
        f"({mark})" if index in frame.splits else mark for index, mark in enumerate(marks_of(frame))
    )


def format_game(frames: Iterable[FrameLike]) -> str:
    """A game in trade notation, frames parted by one space; parse_game reads it back to the same frames."""
    return " ".join(format_frame(frame) for frame in frames)
