"""The pictures of all pages, as far as they can be judged without taking them."""

from django.urls import get_resolver

from script.screens import NO_PAGE
from tests.ops.running import ROOT

ROUTES = {name for name in get_resolver().reverse_dict if isinstance(name, str)}


def test_what_is_left_out_of_the_walk_is_a_route() -> None:
    assert NO_PAGE <= ROUTES, NO_PAGE - ROUTES


def test_every_picture_is_of_a_route_and_comes_in_both_sizes() -> None:
    pictures = {path.stem for path in (ROOT / "docs" / "screens").glob("*.png")}
    names = {stem.rsplit("-", 1)[0] for stem in pictures}
    assert pictures == {f"{name}-{size}" for name in names for size in ("phone", "desktop")}
    assert "lane-side" in names and names <= ROUTES, names - ROUTES
