"""Names of boards: "12", "12R", "3L", and bands such as "3L-5R" that expand to them, all counted from the
right."""

from __future__ import annotations

import re

from motion import units
from motion.errors import MotionError

_TOKEN = re.compile(r"^\s*(\d{1,2})\s*([LlRr]?)\s*$")
_SPLIT = re.compile(r"\s*(?:-|–|\bto\b)\s*")
ALLOWED = "a board from 1 to 39 counted from the right, or with its side as 1L to 39L or 1R to 39R"


def parse_board_token(token: str | int, field: str = "board") -> int:
    """Return the board counted from the right for "12", "12R" or "3L" (3 from the left = 37); raises
    MotionError."""
    match = _TOKEN.match(str(token))
    if match is None:
        raise MotionError(field, token, ALLOWED)
    board = int(match.group(1))
    if not 1 <= board <= units.BOARDS:
        raise MotionError(field, token, ALLOWED)
    return units.BOARDS + 1 - board if match.group(2).upper() == "L" else board


def expand_band(band: str, field: str = "band") -> tuple[int, ...]:
    """Return the boards of a band such as "3L-5R", "8-12" or "17", rising, counted from the right."""
    parts = _SPLIT.split(str(band).strip())
    if len(parts) not in (1, 2):
        raise MotionError(field, band, "one board or two joined by a dash, such as 8-12 or 3L-5R")
    ends = [parse_board_token(part, field) for part in parts]
    return tuple(range(min(ends), max(ends) + 1))
