"""The pocket chance over lines as a field, with lines of 50 and 75 percent."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray
from motion.inputs import Line
from motion.pictures.chance import MISS_MOST_BOARDS, MissRoom, PocketField
from motion.pictures.contour import contour
from motion.pictures.steps import CHANCE, cells
from motion.pictures.svg import Axis, line, picture, px, rect, text
from motion.words import percent

WIDTH, LEFT, TOP, FIELD_W, FIELD_H = 340.0, 40.0, 12.0, 288.0, 250.0
CONTOURS = (0.5, 0.75)
SOME_CHANCE, MARGIN = 0.02, 2.0


def chance_svg(
    field: PocketField,
    room: MissRoom | None = None,
    *,
    hand: str = "right",
    present: Line | None = None,
    title: str = "Chance of the pocket by line",
) -> str:
    """The field with its best line marked, and the line in question (`present`) if it lies inside.

    Laydown to the side, target upward, own-side boards; for a right-hander higher boards are to the left, as
    the bowler sees the lane.
    """
    words_of_all = chance_words(field, room)
    field = _cropped(field, present)
    lay, aim = field.laydown_board, field.target_board
    across, up = _axes(lay, aim, hand)
    x, y = _edges(lay, across), _edges(aim, up)
    levels = np.where(np.isfinite(field.chance), CHANCE.level(field.chance), len(CHANCE.edges) + 1).T
    parts = [rect(LEFT, TOP, FIELD_W, FIELD_H, "panel")]
    parts.append(f'<g class="cells">{cells(levels, x, y, "chance", plain=len(CHANCE.edges) + 1)}</g>')
    nodes_x = np.array([across.at(float(board)) for board in lay])
    nodes_y = np.array([up.at(float(board)) for board in aim])
    for level in CONTOURS:
        parts.append(_contour(field.chance.T, nodes_x, nodes_y, level))
    parts.append(_ticks(across, up, lay, aim))
    if present is not None and present != field.best and _inside(present, field):
        parts.append(_mark(present, across, up, "this-line"))
    if field.best is not None:
        parts.append(_mark(field.best, across, up, "best-line"))
    legend_y = TOP + FIELD_H + 48.0
    parts.append(CHANCE.legend(LEFT, legend_y, FIELD_W))
    words = f"lines at 50 % and 75 % (bold) · boards from the {hand}"
    parts.append(text(LEFT + FIELD_W / 2.0, legend_y + 37.0, words, css="small"))
    return picture(WIDTH, legend_y + 44.0, "chance-field", title, words_of_all, parts)


def chance_words(field: PocketField, room: MissRoom | None = None) -> str:
    """The field in words: the best line and the room to miss on either side of it."""
    best = field.best
    if best is None:
        return "No line tried here finds the pocket with a chance of one percent."
    said = (
        f"Best: laid down on board {best.laydown_board:g} over board {best.target_board:g} at "
        f"{best.target_ft:g} feet, pocket {percent(field.best_chance)} of the time "
        f"({_by_draws(field.error)})."
    )
    shares = field.chance[np.isfinite(field.chance)]
    half = int((shares >= 0.5).sum())
    said += (
        f" {half} of the {shares.size} lines tried reach 50 percent."
        if half
        else " No line reaches 50 percent."
    )
    if room is None:
        return (
            said
            + " The intended throw of that line just misses the pocket: its chance comes from the scatter."
        )
    return (
        f"{said} The intended throw may miss the target by {_room(room.outside_boards)} to the outside and "
        f"{_room(room.inside_boards)} to the inside and still find the pocket."
    )


def _by_draws(error: float) -> str:
    """The standard error of a chance, which comes of the throws that were tried and not of the model."""
    points = 100.0 * error
    size = f"{points:.0f} points" if points >= 1.5 else "one point" if points >= 0.75 else "under a point"
    return f"standard error by the throws tried {size}"


def _cropped(field: PocketField, present: Line | None) -> PocketField:
    """The part of the field that holds some chance and the lines marked, with a margin."""
    some = np.nan_to_num(field.chance) >= SOME_CHANCE
    by_lay, by_aim = some.sum(axis=1) > 0, some.sum(axis=0) > 0
    if not some.any():
        return field

    def part(boards: FloatArray, hit: NDArray[np.bool_], at: float | None) -> slice:
        there = np.flatnonzero(hit)
        low, high = float(boards[there[0]]) - MARGIN, float(boards[there[-1]]) + MARGIN
        if at is not None:
            low, high = min(low, at - MARGIN), max(high, at + MARGIN)
        return slice(int(np.searchsorted(boards, low)), int(np.searchsorted(boards, high, side="right")))

    lay = part(field.laydown_board, by_lay, None if present is None else present.laydown_board)
    aim = part(field.target_board, by_aim, None if present is None else present.target_board)
    return replace(
        field,
        laydown_board=field.laydown_board[lay],
        target_board=field.target_board[aim],
        chance=field.chance[lay, aim],
    )


def _room(boards: float) -> str:
    most = boards >= MISS_MOST_BOARDS - 1e-9
    return f"{boards:.1f} boards or more" if most else f"{boards:.1f} boards"


def _axes(lay: FloatArray, aim: FloatArray, hand: str) -> tuple[Axis, Axis]:
    def ends(boards: FloatArray) -> tuple[float, float]:
        half = 0.5 * (float(boards[-1] - boards[0]) / max(len(boards) - 1, 1) or 1.0)
        return float(boards[0]) - half, float(boards[-1]) + half

    low, high = ends(lay)
    start, end = (LEFT + FIELD_W, LEFT) if hand == "right" else (LEFT, LEFT + FIELD_W)
    bottom, top = ends(aim)
    return (
        Axis(low=low, high=high, start=start, end=end),
        Axis(low=bottom, high=top, start=TOP + FIELD_H, end=TOP),
    )


def _edges(boards: FloatArray, axis: Axis) -> FloatArray:
    """Cell edges in pixels: half way between neighbours, and the ends of the axis."""
    middles = [axis.at(float(0.5 * (a + b))) for a, b in pairwise(boards)]
    return np.array([axis.start, *middles, axis.end])


def _contour(values: FloatArray, x: FloatArray, y: FloatArray, level: float) -> str:
    pieces = contour(values, x, y, level)
    d = "".join(f"M{px(a[0])} {px(a[1])}L{px(b[0])} {px(b[1])}" for a, b in pieces)
    return f'<path class="contour at-{round(100 * level)}" d="{d}"/>' if d else ""


def _ticks(across: Axis, up: Axis, lay: FloatArray, aim: FloatArray) -> str:
    parts = []
    bottom = TOP + FIELD_H
    for board in range(int(np.ceil(lay[0] / 5) * 5), int(lay[-1]) + 1, 5):
        x = across.at(board)
        parts += [line(x, bottom, x, bottom + 4.0, "tick"), text(x, bottom + 16.0, str(board))]
    for board in range(int(np.ceil(aim[0] / 5) * 5), int(aim[-1]) + 1, 5):
        y = up.at(board)
        parts += [line(LEFT - 4.0, y, LEFT, y, "tick"), text(LEFT - 6.0, y + 4.0, str(board), "end")]
    parts.append(text(LEFT + FIELD_W / 2.0, bottom + 33.0, "Laydown, board", css="strong"))
    middle = px(TOP + FIELD_H / 2.0)
    parts.append(
        f'<text class="strong" x="11" y="{middle}" text-anchor="middle" '
        f'transform="rotate(-90 11 {middle})">Target, board</text>'
    )
    return "".join(parts)


def _inside(present: Line, field: PocketField) -> bool:
    lay, aim = field.laydown_board, field.target_board
    return bool(lay[0] <= present.laydown_board <= lay[-1] and aim[0] <= present.target_board <= aim[-1])


def _mark(at: Line, across: Axis, up: Axis, css: str) -> str:
    x, y = across.at(at.laydown_board), up.at(at.target_board)
    if css == "best-line":
        return f'<path class="{css}" d="M{px(x - 6)} {px(y)}H{px(x + 6)}M{px(x)} {px(y - 6)}V{px(y + 6)}"/>'
    return f'<circle class="{css}" cx="{px(x)}" cy="{px(y)}" r="5"/>'
