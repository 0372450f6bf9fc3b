"""The sentences of an advice: plain words around numbers that were computed. Boards are own-side."""

from __future__ import annotations

from motion.advice_types import Action, Candidate
from motion.compare import Compared
from motion.decide import Gain
from motion.future import Lasting
from motion.lines import feet_board, move_between
from motion.pocket import POCKET_OFFSET_BOARDS

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


def share_words(share: float) -> str:
    """A share from 0 to 1 in words: "about a third"."""
    return next(words for limit, words in _SHARES if share < limit)


def boards_words(boards: float) -> str:
    """A number of boards as people say it: "1 board", "2.5 boards"."""
    size = round(abs(boards) * 2.0) / 2.0
    return f"{size:g} board" + ("" if size == 1.0 else "s")


def move_words(feet: float, target: float) -> str:
    """A move of feet and target: "feet 2 boards inside, target 1 board inside"."""
    return f"feet {_direction(feet)}, target {_direction(target)}"


def headline(action: Action, before: Candidate, after: Candidate, name: str, gap_boards: float) -> str:
    """What to do, in one short line."""
    feet, target = move_between(before.line, after.line)
    release = "" if before.release_name == after.release_name else f", {after.release_name} release"
    if action == "stay":
        return f"Stay: {name}, same line."
    where = f"feet {feet_board(after.line, gap_boards):g}, target {after.line.target_board:g}"
    if action == "move" and feet == 0.0 and target == 0.0:
        return f"Same line, {after.release_name} release."
    if action == "move":
        return f"Move {move_words(feet, target)} ({where}){release}."
    return f"Change to {name}: {where}{release}."


def arrival(offset_boards: float) -> str:
    """Where a line arrives against the middle of the pocket: "2 boards high"."""
    high = POCKET_OFFSET_BOARDS - offset_boards
    if abs(high) < 0.5:
        return "in the pocket"
    return f"{boards_words(high)} {'high' if high > 0 else 'light'}"


def state_reason(oil_lost: float | None, present: Compared, fresh_offset: float | None) -> str:
    """The first sentence: what the lane has done to the present line."""
    now = arrival(present.outlook.mean_offset_boards)
    if oil_lost is None or fresh_offset is None:
        return f"This line is expected to arrive {now}."
    shift = present.outlook.mean_offset_boards - fresh_offset
    if oil_lost < 0.05 and abs(shift) < 0.5:
        return f"The lane along your track is nearly as dressed; this line is expected to arrive {now}."
    lost = share_words(max(oil_lost, 0.0))
    return f"Your track has lost {lost} of its oil since the dressing; this line now arrives {now}."


def choice_reason(action: Action, present: Compared, advised: Gain, best_other: Gain | None) -> str:
    """The second sentence: why this choice and not another."""
    pocket = _percent(present.outlook.pocket)
    if action == "stay":
        if best_other is None:
            return f"It finds the pocket on {pocket} of shots, and nothing else was in reach."
        return (
            f"It finds the pocket on {pocket} of shots; the best change would bring "
            f"{best_other.mean:+.1f} pins a frame ({best_other.low:+.1f} to {best_other.high:+.1f}), "
            "not enough to be worth it."
        )
    after = advised.compared.outlook
    return (
        f"The change takes the pocket from {pocket} to {_percent(after.pocket)} of shots, "
        f"{advised.mean:+.1f} pins a frame ({advised.low:+.1f} to {advised.high:+.1f})."
    )


def would_change_text(action: Action, chosen: Compared, lasting: Lasting | None) -> str:
    """What would change this advice."""
    far = max(1.5, round(0.85 * chosen.outlook.sd_offset_boards * 2.0) / 2.0)
    expected = chosen.outlook.mean_offset_boards
    aim = "the pocket" if abs(expected - POCKET_OFFSET_BOARDS) < 0.5 else "where it is expected"
    shots = "Two shots in a row" if action == "stay" else "Two shots in a row on the new line"
    text = f"{shots} more than {far:g} boards high or light of {aim} would change this."
    if lasting is None:
        return text
    if lasting.at_least:
        return f"{text} At the present wear it should last {lasting.games:g} games or more."
    return f"{text} At the present wear it should last about {lasting.games:g} games."


def _direction(boards: float) -> str:
    if boards == 0.0:
        return "the same"
    return f"{boards_words(boards)} {'inside' if boards > 0 else 'outside'}"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
