"""Single texts of a sheet read as numbers and boards, and a reader that collects all problems on the way."""

import math
import re
from collections.abc import Sequence

from motion.boards import expand_band
from motion.errors import MotionError
from motion.units import BOARDS
from patterns.sheet_types import BOARDS_ALLOWED, Problem, SheetError

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_SURE_COMMA = re.compile(r"[+-]?(0?,\d+|\d+,\d{0,2}|\d+,\d{4,}|\d{4,},\d+)", re.ASCII)
SHOWN = 40


class Unreadable(Exception):
    """Why one text is not the number or the boards asked for."""


def shown(text: str) -> str:
    """The value as a message quotes it: on one line and not without end."""
    flat = " ".join(text.split())
    return f"“{flat}”" if len(flat) <= SHOWN else f"“{flat[: SHOWN - 1]}…”"


def read_number(text: str, what: str, low: float, high: float, unit: str = "") -> float:
    """The number typed, or Unreadable. A decimal comma is read where it cannot mean thousands."""
    allowed = f"{low:g} to {high:g}{' ' + unit if unit else ''} allowed"
    plain = text.strip().replace("\u2212", "-")
    if not plain:
        raise Unreadable(f"{what} is empty: {allowed}.")
    if not _NUMBER.fullmatch(plain):
        raise Unreadable(f"{what}: {shown(text)} is not a number, {allowed}.")
    if "," in plain and not _SURE_COMMA.fullmatch(plain):
        point = plain.replace(",", ".")
        raise Unreadable(
            f"{what}: {shown(text)} may mean {point} or {plain.replace(',', '')}; write the one meant."
        )
    value = float(plain.replace(",", "."))
    if not math.isfinite(value) or not low <= value <= high:
        raise Unreadable(f"{what}: {shown(text)} is not allowed, {allowed}.")
    return value + 0.0  # -0 is 0


def side_name(board: int) -> str:
    """A board counted from the right as a reader of either hand knows it: 12R, 20, 12L."""
    if board == 20:
        return "20"
    return f"{board}R" if board < 20 else f"{BOARDS + 1 - board}L"


def all_labels() -> list[str]:
    return [side_name(board) for board in range(1, BOARDS + 1)]


def read_band(text: str) -> tuple[int, ...]:
    """The boards of "12", "12R", "3L-5R" or "8-32", counted from the right, or Unreadable."""
    if not text.strip():
        raise Unreadable(f"Boards are not named: {BOARDS_ALLOWED}.")
    try:
        if not text.isascii() and "–" not in text:
            raise MotionError("boards", text, "")
        return expand_band(text)
    except MotionError:
        raise Unreadable(f"Boards {shown(text)}: {BOARDS_ALLOWED}.") from None


def boards_or_none(text: str) -> tuple[int, ...] | None:
    """The boards a label names, or None where it names none."""
    try:
        return read_band(text)
    except Unreadable:
        return None


def runs_of(boards: list[int]) -> str:
    """Rising boards as runs: 1R-4R, 9R."""
    runs: list[list[int]] = []
    for board in boards:
        if runs and board == runs[-1][-1] + 1:
            runs[-1].append(board)
        else:
            runs.append([board])
    names = (
        side_name(run[0]) if len(run) == 1 else f"{side_name(run[0])}-{side_name(run[-1])}" for run in runs
    )
    return ", ".join(names)


class Reader:
    """Collects problems while reading, so that all of them are shown at once."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def note(self, key: str, name: str, message: str) -> None:
        self.problems.append(Problem(key, name, message))

    def number(
        self, key: str, name: str, text: str, what: str, span: tuple[float, float], unit: str = ""
    ) -> float:
        """The number, or nan with a problem noted."""
        try:
            return read_number(text, what, span[0], span[1], unit)
        except Unreadable as bad:
            self.note(key, name, str(bad))
            return math.nan

    def optional(
        self, name: str, text: str, what: str, span: tuple[float, float], unit: str = "", needed: bool = False
    ) -> float | None:
        if not text.strip() and not needed:
            return None
        return self.number(name, name, text, what, span, unit)

    def choice(self, name: str, text: str, what: str, allowed: Sequence[str]) -> str:
        if text not in allowed:
            self.note(name, name, f"{what}: {shown(text)} is not allowed, only {', '.join(allowed)}.")
            return allowed[0]
        return text

    def stop_if_any(self) -> None:
        if self.problems:
            raise SheetError(self.problems)
