"""Drawings: well-formed, escaped, with words for those who do not see them, true to the reader's side."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from motion.film import volume_ml
from motion.units import UNIT_UM
from patterns.pictures import (
    DRY_UM,
    board_volumes_svg,
    film_plan_svg,
    film_thumb_svg,
    scale_for,
    section_svg,
)

SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314  (our own output)


def film(right_edge: float = 0.0) -> np.ndarray:
    """Ten units to 40 ft between boards 8 and 32, and something on board 1 at the right edge."""
    oil = np.zeros((61, 39))
    oil[:40, 7:32] = 10 * UNIT_UM
    oil[:40, 0] = right_edge * UNIT_UM
    return oil


def area_of(svg: str, css: str) -> float:
    """Area of the rectangles of one level, from the path commands alone."""
    found = re.search(rf'class="{css}" d="([^"]*)"', svg)
    if found is None:
        return 0.0
    return sum(float(w) * float(h) for w, h in re.findall(r"h([\d.]+)v([\d.]+)", found.group(1)))


def test_the_plan_is_well_formed_and_says_what_it_shows() -> None:
    svg = film_plan_svg(film(), length_ft=40, title='Oil <script>"&')
    root = parsed(svg)
    assert root.find(f"{SVG}title").text == 'Oil <script>"&'
    assert f"{volume_ml(film()):.1f} millilitres" in root.find(f"{SVG}desc").text
    assert root.get("role") == "img" and "Oil to 40 feet" in root.get("aria-label")
    assert "<script" not in svg and "style=" not in svg


def test_every_oiled_foot_and_board_is_painted_once() -> None:
    svg = film_plan_svg(film(), length_ft=40)
    # 25 boards of 7 by 39.5 feet of 6.6: node 0 covers half a foot, nodes 1 to 39 one each.
    assert area_of(svg, "film-5") == pytest.approx(25 * 7 * 39.5 * 6.6, rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(oil=arrays(float, (61, 39), elements=st.sampled_from([0.0, 0.4, 1.1, 2.5, 3.0])))
def test_painted_area_is_the_oiled_area_on_any_film(oil: np.ndarray) -> None:
    svg = film_plan_svg(oil, length_ft=60)
    feet = np.ones(61)
    feet[[0, 60]] = 0.5
    oiled = float(((oil > DRY_UM) * feet[:, None]).sum()) * 7 * 6.6
    painted = sum(area_of(svg, f"film-{level}") for level in range(1, 7))
    assert painted == pytest.approx(oiled, rel=0.02, abs=1.0)


def test_the_right_gutter_is_drawn_on_the_right() -> None:
    svg = film_plan_svg(film(right_edge=30), length_ft=40)
    (left,) = re.findall(r'class="film-6" d="M([\d.]+) ', svg)
    assert float(left) == pytest.approx(34 + 38 * 7)


def test_a_left_handers_path_is_drawn_from_the_left_with_the_same_numbers() -> None:
    path = ([0.0, 60.0], [10.0, 17.5], "own")
    points = {}
    for side in ("right", "left"):
        svg = film_plan_svg(film(), length_ft=40, paths=[path], own_side=side)
        text = re.search(r'class="path own" points="([^"]*)"', svg).group(1)
        points[side] = [[float(v) for v in pair.split(",")] for pair in text.split()]
        assert re.search(r">5</text>.*>35</text>" if side == "right" else r">35</text>.*>5</text>", svg)
    middle = 34 + 39 * 7 / 2
    for (xr, yr), (xl, yl) in zip(points["right"], points["left"], strict=True):
        assert yr == yl and xr - middle == pytest.approx(middle - xl, abs=0.11)
        assert xr > middle > xl


def test_boards_carry_their_side_where_both_hands_read() -> None:
    svg = film_plan_svg(film(), length_ft=40, own_side=None)
    assert ">10R</text>" in svg and ">10L</text>" in svg and ">20</text>" in svg


def test_a_section_names_the_boards_of_the_ratio() -> None:
    svg = section_svg(film()[10], distance_ft=10, top_um=3.0, scale=scale_for([film()]))
    root = parsed(svg)
    assert root.find(f"{SVG}desc").text == "Mean of boards 18L-18R 10.0 units, 3R-7R 0.0, 3L-7L 0.0."
    assert len(root.findall(f"{SVG}rect")) == 39


def test_the_scale_is_in_round_units_and_reaches_the_thickest_film() -> None:
    for top in (0.01, 3.0, 7.3, 25.0, 60.0, 199.0):
        scale = scale_for([film() * top / 10])
        assert scale.edges_um[-1] >= film().max() * top / 10 - 1e-9
        assert float(f"{scale.step_um / UNIT_UM:.2g}") == pytest.approx(scale.step_um / UNIT_UM)


def test_an_empty_lane_can_be_drawn() -> None:
    dry = np.zeros((61, 39))
    for svg in (
        film_plan_svg(dry, length_ft=40),
        film_thumb_svg(dry, length_ft=40, title="x"),
        board_volumes_svg(dry),
    ):
        parsed(svg)
