"""Two layouts on one lane, and beside it how far apart their paths run, enlarged."""

from __future__ import annotations

import math

import numpy as np

from motion.pictures.lane import Panel, Plan
from motion.pictures.layouts import Difference, LayoutPath, TwoLayouts, layout_words
from motion.pictures.steps import film_steps
from motion.pictures.svg import between, line, picture, polygon, text
from motion.units import FEET, LANE_LENGTH_FT
from motion.words import signed

WIDTH, TOP, LANE_H = 340.0, 40.0, 400.0
PLAN_LEFT, PLAN_W = 24.0, 164.0
PANEL_LEFT, PANEL_W = 204.0, 128.0
ROUND_BOARDS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0, 20.0, 40.0)


def layouts_svg(
    two: TwoLayouts, *, hand: str = "right", title: str = "Two layouts of one ball on one film"
) -> str:
    """Paths with the bands of eight throws in ten, and second less first with its 80 % interval."""
    plan = Plan(left=PLAN_LEFT, top=TOP, width=PLAN_W, height=LANE_H, hand=hand)
    steps = film_steps([two.film_um])
    parts = [plan.bed(), f'<g class="faded">{plan.map(two.film_um, steps, plain=0)}</g>', plan.frame()]
    for each, css in ((two.first, "first"), (two.second, "second")):
        parts.append(_band(each, plan, css))
    for css, each in _lines(two):
        there = each.path.y_ft <= (LANE_LENGTH_FT if each.path.gutter_ft is None else each.path.gutter_ft)
        parts.append(plan.path(each.path.board[there], each.path.y_ft[there], css))
    parts.append(text(PLAN_LEFT + PLAN_W / 2.0, TOP - 16.0, "Paths", css="strong"))
    parts.append(text(PLAN_LEFT + PLAN_W / 2.0, TOP - 5.0, plan.side_words(), css="small"))
    parts.append(_apart(two, plan, hand))
    legend_y = TOP + LANE_H + 34.0
    parts.append(steps.legend(PLAN_LEFT, legend_y, PLAN_W))
    parts.append(text(PLAN_LEFT + PLAN_W / 2.0, legend_y + 33.0, "units of oil, drawn pale", css="small"))
    return picture(WIDTH, legend_y + 40.0, "two-layouts", title, layouts_words(two), parts)


def _lines(two: TwoLayouts) -> tuple[tuple[str, LayoutPath], ...]:
    """Both pale edges before both lines: neither may hide the other where they run together."""
    both = (("first", two.first), ("second", two.second))
    return tuple(("halo", each) for _, each in both) + tuple((f"path {css}", each) for css, each in both)


def _band(each: LayoutPath, plan: Plan, css: str) -> str:
    outline = between(each.low_board, each.high_board, np.arange(float(FEET)), plan.across, plan.along)
    return polygon(outline, f"band {css}") if len(outline) > 2 else ""


def _apart(two: TwoLayouts, plan: Plan, hand: str) -> str:
    """The difference, its scale chosen to fill the panel; boards rise to the left for a right-hander."""
    reach = float(np.nanmax(np.abs(np.stack([two.apart_low, two.apart_high]))))
    top = next((step for step in ROUND_BOARDS if step >= reach), ROUND_BOARDS[-1])
    low, high = (top, -top) if hand == "right" else (-top, top)
    panel = Panel(
        left=PANEL_LEFT,
        width=PANEL_W,
        along=plan.along,
        low=low,
        high=high,
        marks=((low, signed(low, _places(low))), (0.0, "0"), (high, signed(high, _places(high)))),
        title="Second less first",
        unit="boards, much enlarged",
    )
    zero = panel.across.at(0.0)
    doubt = between(two.apart_low, two.apart_high, two.y_ft, panel.across, panel.along)
    return "".join(
        [
            panel.frame(),
            line(zero, panel.along.start, zero, panel.along.end, "zero"),
            polygon(doubt, "band doubt"),
            panel.curve(two.apart_board, two.y_ft, "curve first"),
        ]
    )


def _places(value: float) -> int:
    return 0 if value == round(value) else 2 if value * 2 != round(value * 2) else 1


def at_the_pins(two: TwoLayouts) -> Difference | None:
    """The difference in boards at the pins; None where either falls in the gutter."""
    return next((d for d in two.differences if d.name == "At the pins"), None)


def layouts_words(two: TwoLayouts) -> str:
    """The comparison in a few sentences."""
    at_pins = at_the_pins(two)
    apart = (
        "One falls in the gutter, so nothing is compared at the pins."
        if at_pins is None
        else f"Second less first at the pins: {difference_words(at_pins)}."
    )
    return (
        f"First layout {layout_words(two.first.ball)}, second {layout_words(two.second.ball)}. "
        f"{_path(two.first, 'The first')} {_path(two.second, 'The second')} {apart}"
    )


def _path(each: LayoutPath, name: str) -> str:
    path = each.path
    if path.gutter_ft is not None:
        return f"{name} falls in the gutter at {path.gutter_ft:.0f} feet."
    return (
        f"{name} breaks on board {path.breakpoint_board:.1f} at {path.breakpoint_ft:.0f} feet and reaches "
        f"the pins on board {path.board_at_60:.1f}."
    )


def difference_words(d: Difference) -> str:
    """ "+0.4 boards (−0.1 to +0.9)" with the usual minus."""
    low, high = signed(d.low, d.places), signed(d.high, d.places)
    return f"{signed(d.middle, d.places)} {d.unit} ({low} to {high}, 80 % interval)"


def scatter_words(two: TwoLayouts) -> str:
    """What the difference at the pins is beside the bowler's own scatter there."""
    at_pins, own = at_the_pins(two), two.first.sd_at_pins_boards
    if at_pins is None or not math.isfinite(own) or own <= 0.0:
        return ""
    share = abs(at_pins.middle) / own
    beside = "larger than" if share > 1.25 else "about as large as" if share > 0.8 else "smaller than"
    return (
        f"From throw to throw this release spreads ±{own:.1f} boards at the pins (one standard deviation); "
        f"the difference between the layouts, {abs(at_pins.middle):.1f} boards, is {beside} that."
    )
