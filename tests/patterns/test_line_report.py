"""What a small change does, on the page: rows in the reader's units and by their hand, with the doubt."""

import re

import pytest
from django.urls import reverse

from arsenal.models import Person
from motion.inputs import Line, ReleaseSpec
from motion.line_report import line_report
from patterns.line_report_view import light_or_high, said
from patterns.models import Pattern
from tests.conftest import Cast
from tests.motion import maps
from tests.patterns.test_layout_comparison import SECOND, ask, words
from tests.patterns.test_pages import make

LINE = {"laydown_board": "22", "target_board": "15"}


@pytest.fixture
def pattern(cast: Cast) -> Pattern:
    return make(cast)


def test_the_page_says_what_each_change_does_with_its_error_and_that_it_is_a_model(
    cast: Cast, pattern: Pattern
) -> None:
    page = ask(cast, cast.bo, pattern, **LINE)
    assert page.status_code == 200
    told = words(page)
    section = told[told.index("What a small change does") :]
    assert "A model, not a measurement" in section and "standard error" in section
    assert "on the line compared: board 22 over board 15." in section
    for name in ("0.5 mph slower", "5° more axis rotation", "25 rpm less rev rate"):
        assert name in section
    row = re.search(r"0\.5 mph faster ([\d.]+) (light|high) .*?± ([\d.]+)", section)
    assert row and row.group(2) == "light" and float(row.group(1)) > 0.3
    assert re.search(r"2 boards right .*2 boards left .*launched 0\.1° left .*launched 0\.1° right", section)
    assert not re.search(r"\bnan\b|\binf\b|None", section)


def test_speeds_are_in_the_readers_units(cast: Cast, pattern: Pattern) -> None:
    cast.bo.units = Person.Units.METRIC
    cast.bo.save()
    told = words(ask(cast, cast.bo, pattern, **LINE))
    assert "0.8 km/h slower" in told and "mph slower" not in told


def test_for_a_left_hander_the_own_side_is_the_left(cast: Cast, pattern: Pattern) -> None:
    release = cast.lin_bowler.releases.get(kind="strike")
    data = {"version": str(pattern.versions.get().pk), "release": str(release.pk), **SECOND, **LINE}
    told = words(cast.client(cast.lin).get(reverse("compare-layouts", args=[cast.lin_ball.uuid]), data))
    assert re.search(r"2 boards left .*2 boards right .*launched 0\.1° right .*launched 0\.1° left", told)


def test_a_line_into_the_gutter_is_said_so(cast: Cast, pattern: Pattern) -> None:
    told = words(ask(cast, cast.bo, pattern, laydown_board="6", target_board="1"))
    assert "The intended throw ends in the gutter on this line" in told and "0.5 mph slower" not in told
    assert "of them in the gutter" in told
    assert "Speed: none" in told and "Feet and target together: none" in told


def test_the_same_report_reads_mirrored_for_the_other_hand() -> None:
    release = ReleaseSpec(speed_mph=17.5, rev_rate_rpm=350.0, axis_rotation_deg=45.0)
    line = Line(laydown_board=15.0, target_board=10.5)
    report = line_report(maps.smooth(1), release=release, line=line, rg_in=2.5, draws=16, scrambles=4)
    right, left = said(report, "right"), said(report, "left")
    assert [c.arrives for c in right.changes] == [c.arrives for c in left.changes]
    swapped = {"left": "right", "right": "left"}
    mirrored = [re.sub("left|right", lambda m: swapped[m.group()], c.name) for c in right.changes]
    assert mirrored == [c.name for c in left.changes]


@pytest.mark.parametrize(
    ("boards", "text"), [(1.26, "1.3 light"), (-0.5, "0.5 high"), (0.04, "the same"), (-0.04, "the same")]
)
def test_arrivals_are_said_in_the_trades_words(boards: float, text: str) -> None:
    assert light_or_high(boards) == text
