"""The ball's face with its layout: points on a sphere, seen from outside, as coordinates for an SVG.

The midline is the sphere's equator with the grip centre at longitude 0; the PAP lies `over` inches along it
and `up` inches along its meridian, which is the vertical axis line (VAL). The pin lies `pin to PAP` inches
from the PAP, turned by the VAL angle from the VAL's upper half toward the grip; the mass-bias or CG mark lies
from the pin at the drilling angle off the line to the PAP. Definitions of the three numbers:
ballreviews.com/drilling-layouts/layout-methods (found). A left-hander's ball is the mirror image.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from arsenal.models import Bowler, Layout
from arsenal.models.bowler import Hand

Vector = NDArray[np.float64]

CENTRE, RADIUS = 160.0, 146.0
STEPS = 24
# How much of the ray toward the mark is drawn: the mark itself is mostly around the edge of the ball.
MARK_RAY_IN = 2.25
ARC_IN = 0.85


@dataclass(frozen=True)
class Point:
    x: float
    y: float
    in_front: bool


@dataclass(frozen=True)
class Drawing:
    """What the template draws; absent parts are None or empty. `words` says the same in a sentence or two."""

    grip: Point
    pap: Point
    pin: Point | None
    toward: Point | None
    midline: str
    val: str
    pin_to_pap: str
    pin_to_mark: str
    val_arc: str
    drilling_arc: str
    words: str


def layout_drawing(bowler: Bowler, layout: Layout | None, diameter_in: float) -> Drawing | None:
    """The drawing, or None while the bowler's positive axis point is not known."""
    if bowler.pap_over_in is None:
        return None
    face = _Face(bowler, diameter_in / 2.0)
    pin = face.pin(layout) if layout else None
    mark = face.toward_mark(layout, pin) if layout and pin is not None else None
    return Drawing(
        grip=face.seen(face.grip),
        pap=face.seen(face.pap),
        pin=face.seen(pin) if pin is not None else None,
        toward=face.seen(mark) if mark is not None else None,
        midline=face.line([_at(longitude, 0.0) for longitude in np.linspace(-math.pi, math.pi, 4 * STEPS)]),
        val=face.line([_at(face.over, latitude) for latitude in np.linspace(-1.57, 1.57, 2 * STEPS)]),
        pin_to_pap=face.line(_between(face.pap, pin)) if pin is not None else "",
        pin_to_mark=face.line(_between(pin, mark)) if pin is not None and mark is not None else "",
        val_arc=face.arc(face.pap, face.north_of_pap(), pin) if pin is not None else "",
        drilling_arc=face.arc(pin, face.pap, mark) if pin is not None and mark is not None else "",
        words=_words(bowler, layout),
    )


def _at(longitude: float, latitude: float) -> Vector:
    """Unit vector: x to the bowler's own side, y up, z out of the ball at the grip centre."""
    across = math.cos(latitude)
    return np.array([across * math.sin(longitude), math.sin(latitude), across * math.cos(longitude)])


def _unit(vector: Vector) -> Vector:
    size = float(np.linalg.norm(vector))
    return vector / size if size > 1e-12 else vector


def _turned(vector: Vector, axis: Vector, angle: float) -> Vector:
    """Rodrigues' rotation of a vector about a unit axis."""
    return (
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * float(axis @ vector) * (1.0 - math.cos(angle))
    )


def _going(start: Vector, heading: Vector, angle: float) -> Vector:
    """Where one ends going from a point along a tangent heading by an angle on the sphere."""
    return start * math.cos(angle) + heading * math.sin(angle)


def _heading(start: Vector, end: Vector) -> Vector:
    return _unit(end - start * float(start @ end))


def _between(start: Vector, end: Vector) -> list[Vector]:
    angle = math.acos(max(-1.0, min(1.0, float(start @ end))))
    heading = _heading(start, end)
    return [_going(start, heading, step) for step in np.linspace(0.0, angle, STEPS)]


class _Face:
    """One ball seen from outside, looking at the middle between grip centre and PAP."""

    def __init__(self, bowler: Bowler, radius_in: float) -> None:
        self.radius_in = radius_in
        self.mirror = -1.0 if bowler.hand == Hand.LEFT else 1.0
        self.over = (bowler.pap_over_in or 0.0) / radius_in
        up = (bowler.pap_up_in or 0.0) / radius_in
        self.grip = _at(0.0, 0.0)
        self.pap = _at(self.over, up)
        self.forward = _unit(self.grip + self.pap)
        self.right = _unit(np.cross(np.array([0.0, 1.0, 0.0]), self.forward))
        self.up = np.cross(self.forward, self.right)

    def north_of_pap(self) -> Vector:
        """The far end of the upper half of the vertical axis line."""
        return np.array([0.0, 1.0, 0.0])

    def pin(self, layout: Layout) -> Vector | None:
        if layout.pin_to_pap_in is None or layout.val_angle_deg is None:
            return None
        north = _heading(self.pap, self.north_of_pap())
        # Seen from outside a turn about the outward axis is counter-clockwise: from up toward the grip.
        heading = _turned(north, self.pap, math.radians(layout.val_angle_deg))
        return _going(self.pap, heading, layout.pin_to_pap_in / self.radius_in)

    def toward_mark(self, layout: Layout, pin: Vector) -> Vector | None:
        if layout.drilling_angle_deg is None or float(pin @ self.pap) > 1.0 - 1e-9:
            return None
        to_pap = _heading(pin, self.pap)
        # From the line to the PAP the mark lies clockwise: on the thumb's side of a pin above the fingers.
        heading = _turned(to_pap, pin, -math.radians(layout.drilling_angle_deg))
        return _going(pin, heading, MARK_RAY_IN / self.radius_in)

    def seen(self, point: Vector) -> Point:
        x, y = float(point @ self.right) * self.mirror, float(point @ self.up)
        return Point(
            x=round(CENTRE + RADIUS * x, 1),
            y=round(CENTRE - RADIUS * y, 1),
            in_front=float(point @ self.forward) >= 0.0,
        )

    def line(self, points: list[Vector]) -> str:
        """An SVG path of the visible parts."""
        words: list[str] = []
        drawing = False
        for point in map(self.seen, points):
            if point.in_front:
                words.append(f"{'L' if drawing else 'M'}{point.x} {point.y}")
            drawing = point.in_front
        return " ".join(words)

    def arc(self, corner: Vector, first: Vector, second: Vector) -> str:
        """The small arc that marks the angle at a corner between the ways to two points."""
        start, end = _heading(corner, first), _heading(corner, second)
        angle = math.acos(max(-1.0, min(1.0, float(start @ end))))
        sign = 1.0 if float(np.cross(start, end) @ corner) >= 0.0 else -1.0
        turns = np.linspace(0.0, sign * angle, STEPS)
        headings = [_turned(start, corner, turn) for turn in turns]
        return self.line([_going(corner, heading, ARC_IN / self.radius_in) for heading in headings])


def _words(bowler: Bowler, layout: Layout | None) -> str:
    side = "left" if bowler.hand == Hand.LEFT else "right"
    up = bowler.pap_up_in or 0.0
    height = f", {abs(up):g} in {'up' if up > 0 else 'down'}" if up else ""
    axis = f"the positive axis point lies {bowler.pap_over_in:g} in to the {side} of the grip centre{height}."
    said = [f"Seen from outside: {axis}"]
    if layout is None or layout.pin_to_pap_in is None:
        return said[0]
    if layout.val_angle_deg is None:
        said.append(f"The pin lies {layout.pin_to_pap_in:g} in from it; its VAL angle is not known.")
        return " ".join(said)
    said.append(
        f"The pin lies {layout.pin_to_pap_in:g} in from it, {layout.val_angle_deg:g}° from the vertical axis"
        " line toward the grip."
    )
    if layout.drilling_angle_deg is not None:
        said.append(
            f"At the pin, the ways to the axis point and to the mass-bias or CG mark stand"
            f" {layout.drilling_angle_deg:g}° apart."
        )
    return " ".join(said)
