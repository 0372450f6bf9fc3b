"""The drawn layout against spherical trigonometry (cosine and sine rules), not against itself."""

import math

import numpy as np
import pytest

from arsenal.layout_drawing import CENTRE, RADIUS, Drawing, layout_drawing
from arsenal.models import Bowler, Layout

DIAMETER = 27.0 / math.pi  # an inch along it is 360/27 degrees


def bowler(hand: str = "right", over: float | None = 5.0, up: float = 0.0) -> Bowler:
    return Bowler(name="Somebody", hand=hand, pap_over_in=over, pap_up_in=up)


def layout(pin: float | None = 4.0, drilling: float | None = 50.0, val: float | None = 30.0) -> Layout:
    return Layout(pin_to_pap_in=pin, drilling_angle_deg=drilling, val_angle_deg=val)


def drawn(who: Bowler, what: Layout | None) -> Drawing:
    drawing = layout_drawing(who, what, DIAMETER)
    assert drawing is not None
    return drawing


def on_sphere(point: object) -> np.ndarray:
    """The unit vector a drawn point stands for: the view is a parallel projection onto the page."""
    x, y = (point.x - CENTRE) / RADIUS, (CENTRE - point.y) / RADIUS  # type: ignore[attr-defined]
    return np.array([x, y, math.sqrt(max(0.0, 1.0 - x * x - y * y))])


def inches_between(first: object, second: object) -> float:
    return math.degrees(math.acos(float(on_sphere(first) @ on_sphere(second)))) * 27.0 / 360.0


@pytest.mark.parametrize(
    ("over", "up", "pin", "val"), [(5.0, 0.0, 4.0, 30.0), (4.5, 0.5, 3.375, 60.0), (5.5, -0.5, 2.0, 45.0)]
)
def test_distances_on_the_drawn_ball_are_those_entered(
    over: float, up: float, pin: float, val: float
) -> None:
    face = drawn(bowler(over=over, up=up), layout(pin, 50.0, val))
    assert inches_between(face.pap, face.pin) == pytest.approx(pin, abs=0.06)
    # Right triangle on the sphere: cos(grip to PAP) = cos(over) cos(up).
    a, b = (math.radians(length * 360.0 / 27.0) for length in (over, up))
    expected = math.degrees(math.acos(math.cos(a) * math.cos(b))) * 27.0 / 360.0
    assert inches_between(face.grip, face.pap) == pytest.approx(expected, abs=0.06)


def test_the_pin_stands_off_the_vertical_axis_line_by_the_val_angle() -> None:
    over, pin, val = 5.0, 4.0, 35.0
    face = drawn(bowler(over=over), layout(pin, 50.0, val))
    # Triangle pole, PAP, pin: the pole is a quarter circle from a PAP on the midline; the cosine rule gives
    # pin to pole, and its complement is the pin's height above the midline.
    side = math.radians(pin * 360.0 / 27.0)
    height = math.asin(math.sin(side) * math.cos(math.radians(val)))
    drawn_height = math.asin((CENTRE - face.pin.y) / RADIUS)  # type: ignore[union-attr]
    assert drawn_height == pytest.approx(height, abs=0.01)


def test_a_pin_with_no_val_angle_lies_straight_above_the_pap() -> None:
    upright = drawn(bowler(over=0.001), layout(3.0, None, 0.0))
    assert upright.pin is not None
    assert upright.pin.x == pytest.approx(upright.pap.x, abs=0.2)
    assert upright.pin.y < upright.pap.y


def test_a_val_angle_turns_the_pin_toward_the_grip_for_both_hands() -> None:
    right, left = (drawn(bowler(hand), layout()) for hand in ("right", "left"))
    assert right.grip.x < right.pin.x < right.pap.x  # type: ignore[union-attr]
    assert left.grip.x > left.pin.x > left.pap.x  # type: ignore[union-attr]


def test_a_left_handers_drawing_is_the_mirror_image() -> None:
    right, left = (drawn(bowler(hand, up=0.5), layout()) for hand in ("right", "left"))
    for name in ("grip", "pap", "pin", "toward"):
        mine, theirs = getattr(right, name), getattr(left, name)
        assert (mine.x + theirs.x, mine.y) == (pytest.approx(2 * CENTRE, abs=0.11), theirs.y)


def test_the_mark_stands_off_the_line_to_the_pap_by_the_drilling_angle_on_the_thumbs_side() -> None:
    face = drawn(bowler(), layout(4.0, 50.0, 30.0))
    pin, pap, toward = (on_sphere(point) for point in (face.pin, face.pap, face.toward))

    def heading(end: np.ndarray) -> np.ndarray:
        way = end - pin * float(pin @ end)
        return way / np.linalg.norm(way)

    angle = math.degrees(math.acos(float(heading(pap) @ heading(toward))))
    assert angle == pytest.approx(50.0, abs=1.5)
    assert face.toward.y > face.pin.y  # type: ignore[union-attr]
    assert face.toward.x < face.pap.x  # type: ignore[union-attr]


def test_what_is_not_known_is_not_drawn_and_the_words_say_so() -> None:
    assert layout_drawing(bowler(over=None), layout(), DIAMETER) is None
    bare = drawn(bowler(), None)
    assert bare.pin is None and bare.toward is None and bare.pin_to_pap == ""
    half = drawn(bowler(), layout(4.0, 50.0, None))
    assert half.pin is None
    assert "VAL angle is not known" in half.words


def test_the_words_say_what_the_drawing_shows() -> None:
    words = drawn(bowler("left", over=4.75, up=-0.25), layout(4.5, 60.0, 25.0)).words
    for part in ("4.75 in to the left", "0.25 in down", "4.5 in from it", "25°", "60° apart"):
        assert part in words


@pytest.mark.parametrize("pin", [0.0, 6.75])
@pytest.mark.parametrize("val", [0.0, 90.0])
@pytest.mark.parametrize("drilling", [0.0, 180.0])
@pytest.mark.parametrize("over", [0.0, 7.0])
def test_the_ends_of_every_range_are_drawn(pin: float, val: float, drilling: float, over: float) -> None:
    face = drawn(bowler(over=over), layout(pin, drilling, val))
    assert "nan" not in f"{face}"
