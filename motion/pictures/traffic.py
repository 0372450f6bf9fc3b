"""The film before and after traffic, and the difference: what was lifted and where it was carried."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.errors import FloatArray
from motion.film import FILM_MAX_UM, node_lengths_ft, volume_ml
from motion.inputs import lane_map
from motion.pictures.lane import Plan
from motion.pictures.steps import CHANGE, Steps, film_steps
from motion.pictures.svg import line, picture, text
from motion.units import BOARD_FOOT_UL_PER_UM, BOARDS, UNIT_UM, other_side
from motion.words import signed

WIDTH, TOP, LANE_H = 340.0, 40.0, 330.0
LEFT, LANE_W, GAP = 22.0, 98.0, 10.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Traffic:
    """Film change (61, 39) [um] and the volumes behind it [mL], on balance over all passes.

    lifted_ml left its place, laid_down_ml of it lies somewhere else on the lane, carried_off_ml left with the
    balls: lifted = laid down + carried off. beyond_ml lies past the end of the fresh oil.
    """

    before_um: FloatArray
    after_um: FloatArray
    change_um: FloatArray
    lifted_ml: float
    laid_down_ml: float
    carried_off_ml: float
    beyond_ml: float
    oil_ended_ft: float


def traffic(before_um: FloatArray, after_um: FloatArray) -> Traffic:
    """Compare two films (61, 39) [um] of one lane; raises MotionError."""
    before = lane_map("before_um", before_um, 0.0, FILM_MAX_UM, "um")
    after = lane_map("after_um", after_um, 0.0, FILM_MAX_UM, "um")
    change = after - before
    amount = node_lengths_ft()[:, None] * change * (BOARD_FOOT_UL_PER_UM / 1000.0)
    oiled = np.flatnonzero(before.max(axis=1) > 1e-3)
    end = int(oiled[-1]) if oiled.size else 0
    return Traffic(
        before_um=before,
        after_um=after,
        change_um=change,
        lifted_ml=float(-amount[amount < 0.0].sum()),
        laid_down_ml=float(amount[amount > 0.0].sum()),
        carried_off_ml=volume_ml(before) - volume_ml(after),
        beyond_ml=float(amount[end + 1 :].sum()),
        oil_ended_ft=float(end),
    )


def traffic_svg(seen: Traffic, *, hand: str = "right", title: str = "Film before and after traffic") -> str:
    """Three lanes side by side: before, after, and the difference. Films own-side of `hand`."""
    film = film_steps([seen.before_um, seen.after_um])
    lanes: tuple[tuple[str, FloatArray, Steps, int], ...] = (
        ("Before", seen.before_um, film, 0),
        ("After", seen.after_um, film, 0),
        ("Difference", seen.change_um, CHANGE, 3),
    )
    parts = []
    for place, (name, values, steps, plain) in enumerate(lanes):
        plan = Plan(left=LEFT + place * (LANE_W + GAP), top=TOP, width=LANE_W, height=LANE_H, hand=hand)
        y = plan.along.at(seen.oil_ended_ft)
        parts += [
            plan.bed(),
            plan.map(values, steps, plain),
            plan.frame(feet=place == 0, boards=(5, 20, 35)),
            line(plan.left, y, plan.left + LANE_W, y, "end-of-oil"),
            text(plan.left + LANE_W / 2.0, TOP - 16.0, name, css="strong"),
            text(plan.left + LANE_W / 2.0, TOP - 5.0, _amount(seen, place), css="small"),
        ]
    legend_y = TOP + LANE_H + 32.0
    parts.append(film.legend(LEFT, legend_y, 2 * LANE_W + GAP))
    parts.append(text(LEFT + LANE_W + GAP / 2.0, legend_y + 33.0, "units of oil", css="small"))
    last = LEFT + 2 * (LANE_W + GAP)
    parts.append(CHANGE.legend(last, legend_y, LANE_W))
    parts.append(text(last + LANE_W / 2.0, legend_y + 33.0, "units, steps of ten", css="small"))
    return picture(WIDTH, legend_y + 42.0, "film-traffic", title, traffic_words(seen, hand), parts)


def _amount(seen: Traffic, place: int) -> str:
    if place == 2:
        return f"{signed(-seen.carried_off_ml, 2)} mL"
    return f"{volume_ml((seen.before_um, seen.after_um)[place]):.2f} mL"


def traffic_words(seen: Traffic, hand: str = "right") -> str:
    """The picture in words; boards named with the side they count from."""
    if not np.any(seen.change_um):
        return f"{volume_ml(seen.before_um):.2f} millilitres of oil; nothing moved."
    low = np.unravel_index(int(np.argmin(seen.change_um)), seen.change_um.shape)
    high = np.unravel_index(int(np.argmax(seen.change_um)), seen.change_um.shape)
    least, most = (signed(float(end) / UNIT_UM, 1) for end in (seen.change_um.min(), seen.change_um.max()))
    from_board, to_board = _board(int(low[1]) + 1, hand), _board(int(high[1]) + 1, hand)
    return (
        f"On balance {seen.lifted_ml:.2f} millilitres were lifted from where they lay, most on board "
        f"{from_board} at {low[0]} feet ({least} units). {seen.laid_down_ml:.2f} were laid down elsewhere, "
        f"most on board {to_board} at {high[0]} feet ({most} units), {seen.beyond_ml:.2f} of them past the "
        f"end of the fresh oil; {seen.carried_off_ml:.2f} left with the balls."
    )


def _board(own_board: int, hand: str) -> str:
    """A board with its side, counted from the nearer gutter."""
    letter, far = ("R", "L") if hand == "right" else ("L", "R")
    middle = (BOARDS + 1) / 2
    return f"{own_board}{letter}" if own_board <= middle else f"{other_side(float(own_board)):g}{far}"
