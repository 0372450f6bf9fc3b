"""Roughness over time as coordinates for an SVG: a line with its spread, and a mark for each entry."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from arsenal.models import SurfaceEntry
from arsenal.surface_state import SurfacePoint

WIDTH, HEIGHT = 640.0, 260.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 12.0, 42.0, 44.0
ROOM_FOR_LABELS = 240.0


@dataclass(frozen=True)
class Tick:
    at: float
    label: str


@dataclass(frozen=True)
class EntryMark:
    x: float
    left: float
    kind: str
    label: str


@dataclass(frozen=True)
class SurfaceDrawing:
    line: str
    band: str
    last_x: float
    last_y: float
    levels: list[Tick]
    days: list[Tick]
    marks: list[EntryMark]
    words: str


def surface_drawing(points: list[SurfacePoint], now: datetime) -> SurfaceDrawing | None:
    """The surface holds between steps, so the line goes in steps; None while nothing is known."""
    if not points:
        return None
    start, end = points[0].when, max(now, points[-1].when)
    span = max((end - start).total_seconds(), timedelta(hours=1).total_seconds())
    top = _round_up(max(point.roughness_um + point.sd_um for point in points))

    def x(when: datetime) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * (when - start).total_seconds() / span, 1)

    def y(roughness_um: float) -> float:
        return round(HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * min(max(roughness_um, 0.0), top) / top, 1)

    xs = [*(x(point.when) for point in points), x(end)]
    last = points[-1]
    return SurfaceDrawing(
        line=_steps(xs, [y(point.roughness_um) for point in points]),
        band=_band(
            xs,
            [y(point.roughness_um + point.sd_um) for point in points],
            [y(point.roughness_um - point.sd_um) for point in points],
        ),
        last_x=xs[-1],
        last_y=y(last.roughness_um),
        levels=[Tick(y(level), f"{level:g}") for level in _levels(top)],
        days=_days(start, end, x),
        marks=[_mark(x(point.when), point.entry) for point in points if point.entry is not None],
        words=f"Roughness Ra from {points[0].when:%Y-%m-%d} to now: first {points[0].roughness_um:.2f},"
        f" now {last.roughness_um:.2f} ± {last.sd_um:.2f} µm. The list below has every step.",
    )


def _mark(x: float, entry: SurfaceEntry) -> EntryMark:
    return EntryMark(
        x=x,
        left=x - 5.5,
        kind=entry.kind,
        label=f"{entry.get_kind_display()} {timezone.localtime(entry.done_at):%Y-%m-%d}",
    )


def _steps(xs: list[float], ys: list[float]) -> str:
    words = [f"M{xs[0]} {ys[0]}"]
    for i, height in enumerate(ys):
        words.append(f"V{height} H{xs[i + 1]}")
    return " ".join(words)


def _band(xs: list[float], upper: list[float], lower: list[float]) -> str:
    back = [f"V{lower[-1]}"]
    for i in range(len(lower) - 1, -1, -1):
        back.append(f"V{lower[i]} H{xs[i]}")
    return " ".join([_steps(xs, upper), *back, "Z"])


# A scale's end, as a multiple of a power of ten, with the steps between its ticks that are round as well.
SCALES = ((1.0, 2), (1.5, 3), (2.0, 2), (3.0, 3), (4.0, 2), (6.0, 3), (8.0, 2), (10.0, 2))


def _round_up(value: float) -> float:
    """A scale's end that reads well."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(end * power for end, _ in SCALES if end * power >= value)


def _levels(top: float) -> list[float]:
    """Round numbers from nothing to the scale's end."""
    power = 10.0 ** math.floor(math.log10(top) + 1e-9)
    steps = next(count for end, count in SCALES if math.isclose(end * power, top))
    return [round(top * step / steps, 6) for step in range(steps + 1)]


def _days(start: datetime, end: datetime, x: Callable[[datetime], float]) -> list[Tick]:
    middle = start + (end - start) / 2
    pattern = "%H:%M" if end - start < timedelta(days=2) else "%d %b"
    # A ball first logged a moment ago has one moment to show: three labels would lie on each other.
    shown = (start, middle, end) if x(end) - x(start) >= ROOM_FOR_LABELS else (start,)
    return [Tick(x(when), timezone.localtime(when).strftime(pattern)) for when in shown]
