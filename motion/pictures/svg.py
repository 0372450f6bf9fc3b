"""The few SVG elements that the pictures are made of."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

import numpy as np

from motion.errors import FloatArray, MotionError

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Axis:
    """Values `low` to `high` over pixels `start` to `end`; `log` spaces equal ratios evenly."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def at(self, value: float) -> float:
        """The place of a value, held within the axis."""
        value = min(max(value, min(self.low, self.high)), max(self.low, self.high))
        if self.log:
            share = math.log(value / self.low) / math.log(self.high / self.low)
        else:
            share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def px(value: float) -> str:
    """A coordinate, to a tenth; raises MotionError if it is not finite."""
    if not math.isfinite(value):
        raise MotionError("picture", value, "every number drawn must be finite")
    rounded = round(float(value), 1) + 0.0  # no minus zero
    return f"{rounded:.1f}".removesuffix(".0")


def picture(width: float, height: float, kind: str, title: str, desc: str, parts: Iterable[str]) -> str:
    """A whole picture: `kind` is its class beside "picture", title and desc its equivalent in words."""
    label = escape(f"{title}. {desc}", quote=True)
    return (
        f'<svg class="picture {kind}" viewBox="0 0 {px(width)} {px(height)}" role="img" aria-label="{label}" '
        f'xmlns="http://www.w3.org/2000/svg"><title>{escape(title)}</title><desc>{escape(desc)}</desc>'
        f"{''.join(parts)}</svg>"
    )


def text(x: float, y: float, words: str, anchor: str = "middle", css: str = "") -> str:
    extra = f' class="{css}"' if css else ""
    return f'<text x="{px(x)}" y="{px(y)}" text-anchor="{anchor}"{extra}>{escape(words)}</text>'


def line(x1: float, y1: float, x2: float, y2: float, css: str) -> str:
    return f'<line x1="{px(x1)}" y1="{px(y1)}" x2="{px(x2)}" y2="{px(y2)}" class="{css}"/>'


def rect(x: float, y: float, width: float, height: float, css: str) -> str:
    return f'<rect x="{px(x)}" y="{px(y)}" width="{px(width)}" height="{px(height)}" class="{css}"/>'


def polyline(points: Iterable[Point], css: str) -> str:
    return f'<polyline class="{css}" points="{_points(points)}"/>'


def polygon(points: Iterable[Point], css: str) -> str:
    return f'<polygon class="{css}" points="{_points(points)}"/>'


def _points(points: Iterable[Point]) -> str:
    return " ".join(f"{px(x)},{px(y)}" for x, y in points)


def placed(x: FloatArray, y: FloatArray, across: Axis, along: Axis) -> list[Point]:
    """Points of a curve x over y in pixels; what is not finite (a ball in the gutter) is left out."""
    there = np.isfinite(x) & np.isfinite(y)
    return [(across.at(float(a)), along.at(float(b))) for a, b in zip(x[there], y[there], strict=True)]


def between(low: FloatArray, high: FloatArray, y: FloatArray, across: Axis, along: Axis) -> list[Point]:
    """Outline of the area between two curves over y."""
    there = np.isfinite(low) & np.isfinite(high)
    up = placed(low[there], y[there], across, along)
    down = placed(high[there], y[there], across, along)
    return [*up, *reversed(down)]
