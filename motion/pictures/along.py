"""One path: over the lane in plan, and beside it speed, slip and the friction met, on the same distance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from motion.errors import FloatArray, numbers, shaped
from motion.inputs import lane_map
from motion.path import MU_RANGE
from motion.pictures.lane import Panel, Plan, sampled
from motion.pictures.steps import FRICTION, film_steps
from motion.pictures.svg import Axis, line, picture, px, text
from motion.units import LANE_LENGTH_FT

WIDTH, TOP, LANE_H = 340.0, 40.0, 400.0
PLAN_LEFT, PLAN_W, PANEL_W, PANEL_GAP = 24.0, 128.0, 46.0, 12.0
# Friction spans a factor of sixty, so its axis is one of ratios.
FRICTION_AXIS = (0.004, 0.25)
TURNING_OVER_FT = 3.0
WORD_PX = 30.0


class Travelled(Protocol):
    """What `motion.path.PathResult` and `motion.full_ball.FullPath` both tell of a path."""

    @property
    def y_ft(self) -> FloatArray: ...
    @property
    def board(self) -> FloatArray: ...
    @property
    def speed_mph(self) -> FloatArray: ...
    @property
    def direction_deg(self) -> FloatArray: ...
    @property
    def slip_mph(self) -> FloatArray: ...
    @property
    def roll_start_ft(self) -> float | None: ...
    @property
    def gutter_ft(self) -> float | None: ...
    @property
    def entry_angle_deg(self) -> float: ...
    @property
    def breakpoint_board(self) -> float: ...
    @property
    def breakpoint_ft(self) -> float: ...


@dataclass(frozen=True, kw_only=True, eq=False)
class AlongLane:
    """A path as the pictures show it, arrays (n,) from the foul line to the pins or the gutter.

    skid_to_ft, roll_from_ft: where the trade would say the ball stops skidding and begins to roll; between
    them it hooks. roll_from_ft is None for a ball that still slips at the pins. skid_to_ft is a convention of
    these pictures: where the path's turning per foot first reaches half of its greatest (the trade draws no
    sharp line; common practice, no published source). Rolling is exact: no slip.
    """

    y_ft: FloatArray
    board: FloatArray
    speed_mph: FloatArray
    slip_mph: FloatArray
    friction: FloatArray
    skid_to_ft: float
    roll_from_ft: float | None
    gutter_ft: float | None
    words: str


def along_lane(path: Travelled, mu: FloatArray, *, friction: FloatArray | None = None) -> AlongLane:
    """A solved path with the friction it met.

    mu: (61, 39), own-side [-], read under the path. friction: (n,) [-] at the path's own feet in its place,
    for a ball whose cover brings oil of its own (`motion.full_ball.FullPath.friction`). Raises MotionError.
    """
    mu = lane_map("mu", mu, *MU_RANGE)
    end = LANE_LENGTH_FT if path.gutter_ft is None else path.gutter_ft
    kept = path.y_ft <= end + 1e-9
    roll = path.roll_start_ft if path.roll_start_ft is not None and path.roll_start_ft <= end else None
    skid = min(_skid_to_ft(path.y_ft[kept], path.direction_deg[kept]), end if roll is None else roll)
    y, board = path.y_ft[kept], path.board[kept]
    met = sampled(mu, board, y)
    if friction is not None:
        met = shaped("friction", numbers("friction", friction, *MU_RANGE), path.y_ft.shape)[kept]
    return AlongLane(
        y_ft=y,
        board=board,
        speed_mph=path.speed_mph[kept],
        slip_mph=path.slip_mph[kept],
        friction=met,
        skid_to_ft=skid,
        roll_from_ft=roll,
        gutter_ft=path.gutter_ft,
        words=_words(path, skid, roll),
    )


def _skid_to_ft(y_ft: FloatArray, direction_deg: FloatArray) -> float:
    """Where the turning, taken over some feet, first reaches half of its greatest."""
    width = min(TURNING_OVER_FT, float(y_ft[-1]))
    if width <= 0.0:
        return 0.0
    ends = np.interp(y_ft + width / 2.0, y_ft, direction_deg)
    starts = np.interp(y_ft - width / 2.0, y_ft, direction_deg)
    turning = np.abs(ends - starts)
    if float(turning.max()) < 0.05:
        return float(y_ft[-1])
    return float(y_ft[int(np.argmax(turning >= 0.5 * turning.max()))])


def _words(path: Travelled, skid: float, roll: float | None) -> str:
    start = f"Starts on board {path.board[0]:.1f} at {path.speed_mph[0]:.1f} miles an hour"
    phases = f"skids to {skid:.0f} feet"
    if roll is None:
        phases += ", then hooks and does not come to roll"
    else:
        phases += f", hooks to {roll:.0f} feet and rolls from there"
    if path.gutter_ft is not None:
        return f"{start}, {phases}; in the gutter at {path.gutter_ft:.0f} feet."
    return (
        f"{start}, {phases}. Breakpoint on board {path.breakpoint_board:.1f} at {path.breakpoint_ft:.0f} "
        f"feet; at the pins on board {path.board[-1]:.1f} with {path.entry_angle_deg:.1f} degrees and "
        f"{path.speed_mph[-1]:.1f} miles an hour."
    )


def path_svg(
    along: AlongLane,
    *,
    mu: FloatArray | None = None,
    film_um: FloatArray | None = None,
    hand: str = "right",
    title: str = "One ball along the lane",
) -> str:
    """The picture of one path. mu or film_um: (61, 39), own-side, the map under it (film if both; neither
    leaves the lane bare). hand: whose boards are shown. Raises MotionError."""
    plan = Plan(left=PLAN_LEFT, top=TOP, width=PLAN_W, height=LANE_H, hand=hand)
    parts = [plan.bed()]
    legend_y = TOP + LANE_H + 34.0
    if film_um is not None:
        steps = film_steps([film_um])
        parts += [plan.map(film_um, steps, plain=0), steps.legend(PLAN_LEFT, legend_y, PLAN_W)]
        parts.append(text(PLAN_LEFT + PLAN_W / 2.0, legend_y + 33.0, "units of oil", css="small"))
    elif mu is not None:
        parts += [plan.map(mu, FRICTION), FRICTION.legend(PLAN_LEFT, legend_y, PLAN_W)]
        parts.append(text(PLAN_LEFT + PLAN_W / 2.0, legend_y + 33.0, "friction of the lane", css="small"))
    parts.append(plan.frame(boards=(5, 15, 25, 35)))
    # A pale edge keeps the line apart from whatever colour lies under it.
    parts += [plan.path(along.board, along.y_ft, css) for css in ("halo", "path first")]
    parts.append(text(PLAN_LEFT + PLAN_W / 2.0, TOP - 16.0, "Path", css="strong"))
    parts.append(text(PLAN_LEFT + PLAN_W / 2.0, TOP - 5.0, plan.side_words(), css="small"))
    for panel, values in zip(
        _panels(along, plan.along), (along.speed_mph, along.slip_mph, along.friction), strict=True
    ):
        parts += [panel.frame(), panel.curve(values, along.y_ft, "curve first")]
    parts.append(_phases(along, plan))
    return picture(WIDTH, legend_y + 40.0, "along-lane", title, along.words, parts)


def _panels(along: AlongLane, feet: Axis) -> list[Panel]:
    low = 2.0 * math.floor(float(along.speed_mph.min()) / 2.0)
    high = max(2.0 * math.ceil(float(along.speed_mph.max()) / 2.0), low + 2.0)
    slip = 5.0 * max(math.ceil(float(along.slip_mph.max()) / 5.0), 1)
    left = PLAN_LEFT + PLAN_W + PANEL_GAP
    kinds: tuple[tuple[str, str, float, float, tuple[tuple[float, str], ...]], ...] = (
        ("Speed", "mph", low, high, ((low, f"{low:g}"), (high, f"{high:g}"))),
        ("Slip", "mph", 0.0, slip, ((0.0, "0"), (slip, f"{slip:g}"))),
        ("Friction", "met", *FRICTION_AXIS, ((0.01, ".01"), (0.1, ".1"))),
    )
    return [
        Panel(
            left=left + place * (PANEL_W + PANEL_GAP),
            width=PANEL_W,
            along=feet,
            low=start,
            high=end,
            marks=marks,
            title=title,
            unit=unit,
            log=title == "Friction",
        )
        for place, (title, unit, start, end, marks) in enumerate(kinds)
    ]


def _phases(along: AlongLane, plan: Plan) -> str:
    """Lines across all panels where skid ends and roll begins, and the trade's words between them."""
    end = float(along.y_ft[-1])
    left = PLAN_LEFT
    right = PLAN_LEFT + PLAN_W + PANEL_GAP + 3 * PANEL_W + 2 * PANEL_GAP
    borders = [along.skid_to_ft, end if along.roll_from_ft is None else along.roll_from_ft]
    names = (("skid", 0.0, borders[0]), ("hook", borders[0], borders[1]), ("roll", borders[1], end))
    parts = []
    for border in borders:
        if 0.5 < border < LANE_LENGTH_FT - 0.05:
            parts.append(line(left, plan.along.at(border), right, plan.along.at(border), "phase"))
    for name, start, stop in names:
        if stop - start > 0.5:
            # Upright beside the panels; a word longer than its stretch starts below the pins.
            y = max(plan.along.at(0.5 * (start + stop)), plan.along.end + WORD_PX / 2.0)
            x = right + 11.0
            parts.append(
                f'<text class="phase-name" x="{px(x)}" y="{px(y)}" text-anchor="middle" '
                f'transform="rotate(-90 {px(x)} {px(y)})">{name}</text>'
            )
    return "".join(parts)
