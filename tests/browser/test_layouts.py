"""Comparing layouts as a person meets it: on a phone and at a desk."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE, OpenAs, overflow, small_targets
from tests.conftest import Cast
from tests.patterns.test_pages import make

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_two_layouts_are_compared_from_the_ball_page(
    open_as: OpenAs, cast: Cast, size: dict[str, int]
) -> None:
    make(cast)
    page = open_as(cast.bo, size)
    page.goto(f"/balls/{cast.bo_ball.uuid}/")
    page.get_by_role("link", name="Compare with another layout").click()
    assert overflow(page) == 0 and small_targets(page) == []
    page.get_by_label("Pin to PAP").fill("9")
    page.get_by_label("Drilling angle").fill("25")
    page.get_by_label("VAL angle").fill("20")
    page.get_by_role("button", name="Compare").click()
    expect(page.get_by_text("Pin to PAP 9 in is not allowed: 0 to 6.75 in.")).to_be_visible()
    page.get_by_label("Pin to PAP").fill("1,5")
    page.get_by_role("button", name="Compare").click()
    picture = page.get_by_role("img", name=re.compile("Two layouts of one ball"))
    expect(picture).to_be_visible()
    # The second path runs apart from the first by more than a reader could overlook.
    curve = picture.locator("polyline.curve").bounding_box()
    assert curve is not None and curve["width"] > 15
    assert picture.locator("polygon.band").count() == 3
    page.get_by_text("Speed, slip and friction along the lane").click()
    expect(page.get_by_role("img", name=re.compile("second layout along the lane"))).to_be_visible()
    assert overflow(page) == 0 and small_targets(page) == []
