"""Numbers as people say them: shares, boards, gains. Every sentence of the engine takes its figures here."""

from __future__ import annotations

_SHARES = (
    (0.05, "hardly any"),
    (0.15, "about a tenth"),
    (0.225, "about a fifth"),
    (0.29, "about a quarter"),
    (0.40, "about a third"),
    (0.60, "about half"),
    (0.72, "about two thirds"),
    (0.85, "about three quarters"),
    (1.01, "nearly all"),
)
_MINUS = "\u2212"


def share_words(share: float) -> str:
    """A share from 0 to 1 in words: "about a third"."""
    return next(words for limit, words in _SHARES if share < limit)


def boards_words(boards: float) -> str:
    """A number of boards as people say it: "1 board", "2.5 boards"."""
    size = round(abs(boards) * 2.0) / 2.0
    return f"{size:g} board" + ("" if size == 1.0 else "s")


def percent(share: float) -> str:
    """A share as whole percent, "43 %"; what is not quite none or all is not rounded to it."""
    whole = round(100.0 * share)
    if whole <= 0 < share:
        return "under 1 %"
    if whole >= 100 and share < 1.0:
        return "over 99 %"
    return f"{whole} %"


def signed(value: float, places: int = 1) -> str:
    """A difference with its sign and a true minus: "+1.0", "−0.6"; what rounds to nothing has none."""
    size = f"{abs(value):.{places}f}"
    if float(size) == 0.0:
        return size
    return ("+" if value > 0.0 else _MINUS) + size


def games_words(games: float) -> str:
    """A number of games, short ones in frames: "1.5 games", "4 frames"."""
    if games < 0.95:
        frames = max(round(10.0 * games), 1)
        return f"{frames} frame" + ("" if frames == 1 else "s")
    half = round(games * 2.0) / 2.0
    return f"{half:g} game" + ("" if half == 1.0 else "s")
