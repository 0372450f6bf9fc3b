"""What the page says of one line: its chances, the room to miss, and what a small change does."""

from dataclasses import dataclass

import numpy as np

from arsenal.engine_inputs import ball_spec, release_spec
from arsenal.models import Ball, Release
from arsenal.surface_state import surface_state
from motion.errors import FloatArray
from motion.friction import mu_map
from motion.inputs import BallSpec, Line, own_side
from motion.layout_effect import LayoutEffect, effective
from motion.line_report import line_report
from motion.line_report_types import Estimate, Field, LineReport, Room, Sensitivity, Span
from motion.pictures.layouts import possible_worlds
from motion.words import percent, signed
from patterns.engine_inputs import film_for
from patterns.models import PatternVersion

WORLDS = 24

# What less and more of each is called; of boards and launch the way is named by hand.
WORDS: dict[Field, tuple[str, str]] = {
    "speed_mph": ("slower", "faster"),
    "axis_rotation_deg": ("less axis rotation", "more axis rotation"),
    "rev_rate_rpm": ("less rev rate", "more rev rate"),
}
AMOUNTS: dict[Field, str] = {
    "axis_rotation_deg": "{:g}°",
    "rev_rate_rpm": "{:g} rpm",
    "boards": "{:g} boards",
    "launch_deg": "{:g}°",
}


@dataclass(frozen=True)
class Change:
    """A row: what is changed and what comes of it. speed_mph is the amount where it is a speed."""

    speed_mph: float | None
    name: str
    arrives: str
    arrives_span: str
    angle: str
    angle_span: str
    pocket: str
    pocket_error: str


@dataclass(frozen=True)
class RoomWords:
    """How far one may be off each way; at_least where the end was not reached."""

    less: float
    more: float
    less_at_least: bool
    more_at_least: bool


@dataclass(frozen=True)
class LineNumbers:
    """Everything of the section."""

    draws: str
    worlds: int
    pocket: str
    pocket_error: str
    pocket_span: str
    split_or_washout: str
    frame: str
    worst_tenth: str
    worst_where: str
    board_room: RoomWords | None
    own_gutter: str
    other_way: str
    speed_room: RoomWords | None
    in_gutter: bool
    changes: list[Change]


def line_numbers(ball: Ball, version: PatternVersion, release: Release, line: Line) -> LineNumbers:
    """The report on a line of the ball as it is drilled, on a version's film; raises MotionError."""
    hand = ball.bowler.hand
    film, scale_sd = film_for(version)
    film_um = own_side(film, hand)
    spec, thrown = ball_spec(ball, surface_state(ball)), release_spec(release)
    effect = effective(spec, thrown, film_um=film_um)
    report = line_report(
        effect.mu(mu_map(film_um, spec)),
        release=effect.release(thrown),
        line=line,
        k=effect.k,
        diameter_in=spec.diameter_in,
        worlds_mu=_worlds(spec, effect, film_um, scale_sd),
    )
    return said(report, hand)


def _worlds(spec: BallSpec, effect: LayoutEffect, film_um: FloatArray, scale_sd: float) -> FloatArray:
    """Friction in other worlds, (WORLDS, 61, 39); they share what the layout does to it."""
    worlds = possible_worlds(WORLDS, scale_sd, key="line report")
    return np.stack([effect.mu(mu_map(film_um, spec, world.physics)) for world in worlds])


def said(report: LineReport, hand: str) -> LineNumbers:
    """A report as the page says it, for a bowler of this hand."""
    own, other = ("right", "left") if hand == "right" else ("left", "right")
    worst, span = report.worst_tenth, report.pocket_span
    return LineNumbers(
        draws=f"{report.draws:,}",
        worlds=report.worlds,
        pocket=percent(report.pocket.value),
        pocket_error=_points(report.pocket),
        pocket_span=""
        if span is None
        else f"{_together(percent(span.low))} to {_together(percent(span.high))}",
        split_or_washout=percent(report.split_or_washout.value),
        frame=f"{report.expected_frame.value:.1f}",
        worst_tenth=f"{worst.frame.value:.1f}",
        worst_where=_where(worst.low_boards, worst.high_boards, worst.gutter_share, own, other),
        board_room=_room(report.board_room),
        own_gutter=own,
        other_way=other,
        speed_room=_room(report.speed_room),
        in_gutter=report.offset_boards is None,
        changes=[_change(each, own, other) for each in report.sensitivities],
    )


def _change(each: Sensitivity, own: str, other: str) -> Change:
    is_speed = each.field == "speed_mph"
    amount = "" if is_speed else AMOUNTS[each.field].format(abs(each.amount)) + " "
    # Boards rise away from the own gutter, launch angles toward it.
    less, more = WORDS.get(each.field, (own, other) if each.field == "boards" else (other, own))
    name = amount + (more if each.amount > 0.0 else less)
    return Change(
        speed_mph=abs(each.amount) if is_speed else None,
        name=f"launched {name}" if each.field == "launch_deg" else name,
        arrives="gutter" if each.offset_boards is None else light_or_high(each.offset_boards),
        arrives_span="" if each.offset_span is None else _arrival_span(each.offset_span),
        angle="–" if each.angle_deg is None else f"{signed(each.angle_deg)}°",
        angle_span="" if each.angle_span is None else _angle_span(each.angle_span),
        pocket=signed(100.0 * each.pocket.value, 0),
        pocket_error=_points(each.pocket),
    )


def light_or_high(boards: float) -> str:
    """A change of where a ball arrives, in the trade's words: light is further out, high further in."""
    size = f"{abs(boards):.1f}"
    if float(size) == 0.0:
        return "the same"
    return f"{size} {'light' if boards > 0.0 else 'high'}"


def _together(words: str) -> str:
    """Words that no line ends between."""
    return words.replace(" ", "\N{NO-BREAK SPACE}")


def _arrival_span(span: Span) -> str:
    nearer, further = sorted((span.low, span.high), key=abs)
    if span.low * span.high < 0.0:
        return f"{_together(light_or_high(span.low))} to {_together(light_or_high(span.high))}"
    return _together(f"{abs(nearer):.1f} to {abs(further):.1f}")


def _angle_span(span: Span) -> str:
    low, high = signed(span.low), signed(span.high)
    return "" if low == high else _together(f"{low} to {high}")


def _points(estimate: Estimate) -> str:
    return f"{100.0 * estimate.error:.1f}"


def _where(low: float | None, high: float | None, gutter: float, own: str, other: str) -> str:
    """Where the worst tenth arrives, from the head pin's middle."""
    lost = f"{percent(gutter)} of them in the gutter" if gutter > 0.0 else ""
    if low is None or high is None:
        return lost

    def place(boards: float) -> str:
        return f"{abs(boards):.1f} boards {own if boards > 0.0 else other}"

    nearer, further = sorted((low, high), key=abs)
    start = place(nearer) if nearer * further < 0.0 else f"{abs(nearer):.1f}"
    arrive = f"they arrive from {start} to {place(further)} of the head pin’s middle"
    return f"{arrive}, {lost}" if lost else arrive


def _room(room: Room | None) -> RoomWords | None:
    if room is None:
        return None
    return RoomWords(
        less=room.less.value,
        more=room.more.value,
        less_at_least=room.less.value >= room.farthest_less,
        more_at_least=room.more.value >= room.farthest_more,
    )
