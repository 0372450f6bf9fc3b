"""Drawings of a film as SVG text: the lane in plan, a cross section, and the volume of each board.

Pure functions: numbers in, one escaped `<svg>` string out. Colours and type come from classes in
patterns.css. The lane is seen by the bowler: foul line at the bottom, pins on top, the right gutter on the
right. Films come in lane coordinates (boards from the right); a path comes in boards from the bowler's own
side.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np

from motion.errors import FloatArray
from motion.film import CENTRE_BOARDS, OUTSIDE_BOARDS, node_lengths_ft, volume_ml, volume_ul_by_board
from motion.units import BOARD_IN, BOARDS, LANE_LENGTH_FT, UNIT_UM
from patterns.sheet_reader import side_name

# Paths to draw over a plan: distances [ft], own-side boards, and the class that colours them.
Path = tuple[Sequence[float], Sequence[float], str]

LEVELS = 7  # --film-0 is a dry lane, 1 to 6 are the steps of oil
DRY_UM = 1e-3
ROUND_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
BOARD_W = 7.0
FOOT_H = 6.6
LEFT, TOP = 34.0, 34.0
PLAN_W = LEFT + BOARDS * BOARD_W + 35.0
PLAN_H = TOP + LANE_LENGTH_FT * FOOT_H + 66.0
# Arrows stand in a V on boards 5, 10 … 35, near 15 ft (found second-hand); the depth of the V is only drawn.
ARROW_FT, ARROW_STEP_FT = 15.0, 0.55
# Pins stand 12 in apart in four rows (the pin triangle is equilateral).
PIN_SPACING_IN = 12.0
PIN_ROWS = ((0.0,), (-0.5, 0.5), (-1.0, 0.0, 1.0), (-1.5, -0.5, 0.5, 1.5))


@dataclass(frozen=True)
class Scale:
    """Six even steps of film; the same scale on several drawings makes them comparable."""

    step_um: float

    @property
    def edges_um(self) -> list[float]:
        return [self.step_um * k for k in range(LEVELS)]

    def level(self, film_um: FloatArray) -> FloatArray:
        """0 where dry, else 1 to 6."""
        steps = np.clip(np.ceil(film_um / self.step_um - 1e-9), 1, LEVELS - 1)
        return np.where(film_um > DRY_UM, steps, 0)


def scale_for(films_um: Iterable[FloatArray]) -> Scale:
    """A scale in round units of oil that reaches the thickest of the films."""
    top = max((float(film.max()) for film in films_um), default=0.0) / UNIT_UM
    needed = max(top, 0.6) / (LEVELS - 1)
    power = 10.0 ** np.floor(np.log10(needed))
    step = next(s * power for s in ROUND_STEPS if s * power >= needed - 1e-9)
    return Scale(float(step) * UNIT_UM)


def _num(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _x(board_from_right: float) -> float:
    """Left edge of the lane plus boards: the centre of a board counted from the right."""
    return LEFT + (BOARDS + 0.5 - board_from_right) * BOARD_W


def _y(foot: float) -> float:
    return TOP + (LANE_LENGTH_FT - foot) * FOOT_H


def _open(width: float, height: float, kind: str, title: str, desc: str) -> str:
    return (
        f'<svg class="picture {kind}" viewBox="0 0 {_num(width)} {_num(height)}" role="img" '
        f'aria-label="{escape(f"{title}. {desc}", quote=True)}" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(title)}</title><desc>{escape(desc)}</desc>"
    )


def _text(x: float, y: float, words: str, anchor: str = "middle", css: str = "") -> str:
    extra = f' class="{css}"' if css else ""
    return f'<text x="{_num(x)}" y="{_num(y)}" text-anchor="{anchor}"{extra}>{escape(words)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    return f'<line x1="{_num(x1)}" y1="{_num(y1)}" x2="{_num(x2)}" y2="{_num(y2)}" class="{css}"/>'


def _runs(levels: FloatArray) -> list[tuple[int, int, int, int, int]]:
    """Rectangles (level, first row, rows, first column, columns) of equal level, merged both ways."""
    open_runs: dict[tuple[int, int, int], list[int]] = {}
    done = []
    for row in range(levels.shape[0]):
        values = levels[row].astype(int)
        cuts = [0, *(np.flatnonzero(np.diff(values)) + 1).tolist(), values.size]
        here = {(int(values[a]), a, b - a) for a, b in pairwise(cuts)}
        for key in [key for key in open_runs if key not in here]:
            start, rows = open_runs.pop(key)
            done.append((key[0], start, rows, key[1], key[2]))
        for key in here:
            open_runs.setdefault(key, [row, 0])[1] += 1
    done += [(key[0], start, rows, key[1], key[2]) for key, (start, rows) in open_runs.items()]
    return done


def _film_paths(film_um: FloatArray, scale: Scale) -> str:
    """One path element per level of oil; node n covers half a foot to each side of it."""
    shapes: dict[int, list[str]] = {}
    for level, row, rows, column, columns in _runs(scale.level(film_um)):
        if level == 0:
            continue
        near, far = max(row - 0.5, 0.0), min(row + rows - 0.5, LANE_LENGTH_FT)
        left = LEFT + (BOARDS - column - columns) * BOARD_W
        d = f"M{_num(left)} {_num(_y(far))}h{_num(columns * BOARD_W)}v{_num((far - near) * FOOT_H)}"
        shapes.setdefault(level, []).append(f"{d}h{_num(-columns * BOARD_W)}z")
    return "".join(f'<path class="film-{level}" d="{"".join(shapes[level])}"/>' for level in sorted(shapes))


def _board_words(board_from_right: int, own_side: str | None) -> str:
    """The board as the reader knows it; without an own side, with its side printed."""
    if own_side is None:
        return side_name(board_from_right)
    return str(board_from_right if own_side == "right" else BOARDS + 1 - board_from_right)


def _frame_of_plan(length_ft: float, own_side: str | None) -> str:
    parts = []
    for foot in range(0, 61, 10):
        parts.append(_line(LEFT - 4, _y(foot), LEFT, _y(foot), "tick"))
        parts.append(_text(LEFT - 6, _y(foot) + 4, str(foot), "end"))
    for board in range(5, 40, 5):
        parts.append(_line(_x(board), _y(0), _x(board), _y(0) + 5, "tick"))
        parts.append(_text(_x(board), _y(0) + 17, _board_words(board, own_side)))
    parts.append(_line(LEFT, _y(0), LEFT + BOARDS * BOARD_W, _y(0), "foul-line"))
    if 0 < length_ft < LANE_LENGTH_FT:
        right = LEFT + BOARDS * BOARD_W
        parts.append(_line(LEFT, _y(length_ft), right + 3, _y(length_ft), "end-of-oil"))
        parts.append(_text(right + 4, _y(length_ft) + 4, f"{length_ft:g} ft", "start", "strong"))
    return "".join(parts)


def _arrows_and_pins() -> str:
    parts = []
    for board in range(5, 40, 5):
        foot = ARROW_FT - ARROW_STEP_FT * (abs(board - 20) / 5 - 1.5)
        x, y = _x(board), _y(foot)
        d = f"M{_num(x - 3)} {_num(y + 5)}L{_num(x)} {_num(y - 5)}L{_num(x + 3)} {_num(y + 5)}z"
        parts.append(f'<path class="arrow" d="{d}"/>')
    for row, places in enumerate(PIN_ROWS):
        for place in places:
            x = _x(20 - place * PIN_SPACING_IN / BOARD_IN)
            # Rows are drawn closer than true so that the deck fits on a phone.
            parts.append(f'<circle class="pin" cx="{_num(x)}" cy="{_num(_y(60) - 1 - row * 7)}" r="3"/>')
    return "".join(parts)


def _legend(scale: Scale, y: float, width: float) -> str:
    """The steps of the scale with the units at their edges."""
    each = width / LEVELS
    parts = []
    for level in range(LEVELS):
        parts.append(
            f'<rect class="film-{level} swatch" x="{_num(LEFT + level * each)}" y="{_num(y)}" '
            f'width="{_num(each)}" height="9"/>'
        )
    parts.append(_text(LEFT + each / 2, y + 20, "dry"))
    for level in range(1, LEVELS):
        parts.append(_text(LEFT + (level + 1) * each, y + 20, f"{scale.edges_um[level] / UNIT_UM:.3g}"))
    return "".join(parts)


def film_plan_svg(
    film_um: FloatArray,
    *,
    length_ft: float,
    paths: Sequence[Path] = (),
    own_side: str | None = "right",
    title: str = "Oil on the lane",
    scale: Scale | None = None,
) -> str:
    """The film over the lane seen from above, with ball paths over it.

    film_um (61, 39) [um] in lane coordinates; own_side says from which side the printed boards and the boards
    of the paths count ("left" or "right"; None prints the side with each board and takes paths as counted
    from the right). Each path is (feet, boards, css class). Not true to proportion: a foot is drawn shorter
    than it is.
    """
    scale = scale or scale_for([film_um])
    lane_w, lane_h = BOARDS * BOARD_W, LANE_LENGTH_FT * FOOT_H
    parts = [
        _open(PLAN_W, PLAN_H, "film-plan", title, _plan_words(film_um, length_ft)),
        f'<rect class="lane-bed" x="{_num(LEFT)}" y="{_num(TOP - 31)}" width="{_num(lane_w)}" '
        f'height="{_num(lane_h + 31)}"/>',
        f'<g class="film">{_film_paths(film_um, scale)}</g>',
        _arrows_and_pins(),
        _frame_of_plan(length_ft, own_side),
        _legend(scale, _y(0) + 27, lane_w),
        _text(LEFT + lane_w / 2, _y(0) + 60, "units of oil · not to scale along the lane", css="small"),
    ]
    parts += [_path(path, own_side) for path in paths]
    return "".join(parts) + "</svg>"


def _path(path: Path, own_side: str | None) -> str:
    feet, boards, css = path
    points = []
    for foot, board in zip(feet, boards, strict=True):
        if not (np.isfinite(foot) and np.isfinite(board)) or not 0 <= foot <= LANE_LENGTH_FT + 3:
            continue
        from_right = BOARDS + 1 - board if own_side == "left" else board
        points.append(f"{_num(_x(min(max(from_right, 0.0), 40.0)))},{_num(_y(foot))}")
    return f'<polyline class="path {escape(css, quote=True)}" points="{" ".join(points)}"/>'


def _plan_words(film_um: FloatArray, length_ft: float) -> str:
    """What the plan shows, for those who do not see it."""
    foot, board = np.unravel_index(int(np.argmax(film_um)), film_um.shape)
    return (
        f"Oil to {length_ft:g} feet, {volume_ml(film_um):.1f} millilitres in all. Thickest, "
        f"{film_um.max() / UNIT_UM:.1f} units, at {foot} feet on board {_board_words(int(board) + 1, None)}."
    )


THUMB_W, THUMB_H = 96.0, 168.0


def film_thumb_svg(film_um: FloatArray, *, length_ft: float, title: str, scale: Scale | None = None) -> str:
    """A small plan for lists: the same colours without scales."""
    scale = scale or scale_for([film_um])
    lane_w, lane_h = BOARDS * BOARD_W, LANE_LENGTH_FT * FOOT_H
    words = f"{title}: {_plan_words(film_um, length_ft)}"
    box = f"{_num(LEFT - 2)} {_num(TOP - 2)} {_num(lane_w + 4)} {_num(lane_h + 4)}"
    return (
        f'<svg class="film-thumb" viewBox="{box}" width="{_num(THUMB_W)}" height="{_num(THUMB_H)}" '
        f'preserveAspectRatio="none" role="img" aria-label="{escape(words, quote=True)}" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(words)}</title>"
        f'<rect class="lane-bed" x="{_num(LEFT)}" y="{_num(TOP)}" width="{_num(lane_w)}" '
        f'height="{_num(lane_h)}"/>'
        f'<g class="film">{_film_paths(film_um, scale)}</g></svg>'
    )


CHART_W, CHART_H = 340.0, 190.0
CHART_LEFT, CHART_TOP, CHART_BOTTOM = 38.0, 14.0, 34.0
CHART_LANE_W = CHART_W - CHART_LEFT - 6.0


def _round_up(value: float) -> float:
    """The next number of two digits and zeros, for the end of an axis."""
    if value <= 0:
        return 1.0
    step = 10.0 ** (np.floor(np.log10(value)) - 1)
    return float(np.ceil(value / step - 1e-9) * step)


def _axis_words(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _chart(
    values: FloatArray, levels: FloatArray, top: float, words: tuple[str, str, str], marks: str = ""
) -> str:
    """Bars by board, left to right as the bowler sees the lane. words: kind, title, description."""
    kind, title, desc = words
    each = CHART_LANE_W / BOARDS
    height = CHART_H - CHART_TOP - CHART_BOTTOM
    floor = CHART_TOP + height
    parts = [_open(CHART_W, CHART_H, kind, title, desc)]
    for share in (0.0, 0.5, 1.0):
        y = floor - share * height
        parts.append(_line(CHART_LEFT, y, CHART_W - 6, y, "grid-line"))
        parts.append(_text(CHART_LEFT - 4, y + 4, _axis_words(share * top), "end"))
    for board in range(1, BOARDS + 1):
        tall = float(values[board - 1]) / top * height if top else 0.0
        x = CHART_LEFT + (BOARDS - board) * each
        parts.append(
            f'<rect class="film-{int(levels[board - 1])} bar" x="{_num(x)}" y="{floor - tall:.2f}" '
            f'width="{each - 0.6:.2f}" height="{tall:.2f}"/>'
        )
    for board in range(5, 40, 5):
        x = CHART_LEFT + (BOARDS + 0.5 - board) * each
        parts.append(_text(x, floor + 14, _board_words(board, None)))
    return "".join(parts) + marks + "</svg>"


def _bracket(first: int, last: int, words: str) -> str:
    """A mark under the boards a ratio is taken from."""
    each = CHART_LANE_W / BOARDS
    left = CHART_LEFT + (BOARDS - last) * each
    right = CHART_LEFT + (BOARDS - first + 1) * each
    y = CHART_H - 14
    return _line(left, y, right, y, "bracket") + _text((left + right) / 2, y + 12, words, css="small")


def section_svg(film_row_um: FloatArray, *, distance_ft: float, top_um: float, scale: Scale) -> str:
    """The film across the lane (39,) [um] at one distance, with the boards of the published ratio marked."""
    units = film_row_um / UNIT_UM
    centre = float(units[[b - 1 for b in CENTRE_BOARDS]].mean())
    right = float(units[[b - 1 for b in OUTSIDE_BOARDS]].mean())
    left = float(units[::-1][[b - 1 for b in OUTSIDE_BOARDS]].mean())
    desc = f"Mean of boards 18L-18R {centre:.1f} units, 3R-7R {right:.1f}, 3L-7L {left:.1f}."
    marks = _bracket(18, 22, "18L–18R") + _bracket(3, 7, "3R–7R") + _bracket(33, 37, "3L–7L")
    words = ("film-section", f"Oil across the lane at {distance_ft:g} ft, units", desc)
    return _chart(units, scale.level(film_row_um), top_um / UNIT_UM, words, marks)


def board_volumes_svg(film_um: FloatArray) -> str:
    """Volume on each board [µL], as bars."""
    volumes = volume_ul_by_board(film_um)
    most = int(np.argmax(volumes)) + 1
    name = _board_words(most, None)
    desc = f"Most on board {name}: {volumes.max():.0f} microlitres; least {volumes.min():.0f}."
    mean_um = (node_lengths_ft() @ film_um) / LANE_LENGTH_FT
    levels = scale_for([mean_um]).level(mean_um)
    top = _round_up(float(volumes.max()))
    return _chart(volumes, levels, top, ("board-volumes", "Volume by board, µL", desc))
