"""What the pages show: bags in order, a ball in full, units, and a number of queries that does not grow."""

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from arsenal.templatetags import measures
from tests.arsenal.test_bad_input import BALL, RELEASE
from tests.conftest import Cast, make_ball


def queries(cast: Cast, url: str) -> int:
    client = cast.client(cast.coach)
    client.get(url)
    with CaptureQueriesContext(connection) as seen:
        assert client.get(url).status_code == 200
    return len(seen)


def fill_bag(cast: Cast, first: int, last: int) -> None:
    for number in range(first, last):
        ball = make_ball(cast.bo_bowler, f"Ball {number}")
        Layout.objects.create(ball=ball, pin_to_pap_in=4)
        SurfaceEntry.objects.create(ball=ball, kind="sanded", grits=[1000], done_at=timezone.now())


def test_a_bag_of_thirty_takes_as_many_queries_as_a_bag_of_three(cast: Cast) -> None:
    url = reverse("bag", args=[cast.bo_bowler.uuid])
    fill_bag(cast, 0, 2)
    few = queries(cast, url)
    fill_bag(cast, 2, 29)
    assert queries(cast, url) == few <= 20


def test_the_list_of_bags_takes_as_many_queries_for_ten_bowlers_as_for_two(cast: Cast) -> None:
    url = reverse("bags")
    few = queries(cast, url)
    Bowler.objects.bulk_create(Bowler(team=cast.team, name=f"Bowler {n}", hand="left") for n in range(8))
    assert queries(cast, url) == few


def test_a_ball_with_a_long_log_takes_as_many_queries_as_one_with_a_short_log(cast: Cast) -> None:
    url = reverse("ball", args=[cast.bo_ball.uuid])
    old = SurfaceEntry.objects.create(
        ball=cast.bo_ball, kind="sanded", grits=[500], done_at=timezone.now(), entered_by=cast.bo
    )
    few = queries(cast, url)
    for _ in range(8):
        old = SurfaceEntry.objects.create(
            ball=cast.bo_ball,
            kind="sanded",
            grits=[500],
            done_at=timezone.now(),
            corrects=old,
            entered_by=cast.bo,
        )
    assert queries(cast, url) == few


def test_balls_stand_in_bag_order_and_balls_at_home_apart(cast: Cast) -> None:
    for name, role, in_bag in (
        ("Slate Spare", "spare", True),
        ("Oak Middle", "benchmark", True),
        ("Loud Start", "strong", True),
        ("Left Home", "strong", False),
    ):
        ball = make_ball(cast.bo_bowler, name)
        Ball.objects.filter(pk=ball.pk).update(role=role, in_bag=in_bag)
    page = cast.client(cast.lin).get(reverse("bag", args=[cast.bo_bowler.uuid])).content.decode()
    places = [page.index(name) for name in ("Loud Start", "Oak Middle", "Slate Spare", "Left Home")]
    assert places == sorted(places)
    assert "1 ball at home" in page


def test_the_card_shows_every_measured_number(cast: Cast) -> None:
    Bowler.objects.filter(pk=cast.bo_bowler.pk).update(
        pap_up_in=-0.5, gap_boards=7.5, drift_boards=-1.0, hands_used=2
    )
    page = cast.client(cast.bo).get(reverse("bag", args=[cast.bo_bowler.uuid])).content.decode()
    for words in (
        "Two-handed",
        "5 in over, 0.5 in down",
        "7.5 boards",
        "1 board toward the own gutter",
        "340 rpm",
    ):
        assert words in page, words


def test_a_saved_ball_is_what_was_typed(cast: Cast) -> None:
    sent = {**BALL, "in_bag": "on", "drilled_on": "2026-02-03", "hardness_d": "74", "serial_number": "Q-17"}
    answer = cast.client(cast.coach).post(reverse("ball-new", args=[cast.bo_bowler.uuid]), sent)
    ball = Ball.objects.get(name="Tin Lantern")
    assert answer.headers["Location"] == reverse("ball", args=[ball.uuid])
    assert (ball.bowler, ball.cover, ball.drilled_on) == (cast.bo_bowler, "reactive_pearl", date(2026, 2, 3))
    assert (ball.hardness_d, ball.in_bag, ball.shared_with_guests) == (74.0, True, False)
    assert ball.changed_by == cast.coach


def test_a_layout_is_made_by_its_first_save_and_edited_by_the_next(cast: Cast) -> None:
    url = reverse("layout-edit", args=[cast.bo_ball.uuid])
    client = cast.client(cast.bo)
    assert (
        client.post(url, {"version": "0", "pin_to_pap_in": "4.5", "balance_hole": "False"}).status_code == 302
    )
    assert client.post(url, {"version": "1", "pin_to_pap_in": "5", "balance_hole": ""}).status_code == 302
    layout = Layout.objects.get(ball=cast.bo_ball)
    assert (layout.pin_to_pap_in, layout.balance_hole, layout.version) == (5.0, None, 2)


def test_a_release_edit_keeps_its_kind_and_counts_its_version(cast: Cast) -> None:
    release = Release.objects.get(bowler=cast.bo_bowler, kind="strike")
    url = reverse("release-edit", args=[release.uuid])
    answer = cast.client(cast.bo).post(
        url, {**RELEASE, "kind": "strike", "version": "1", "speed_mph": "16.75"}
    )
    assert answer.status_code == 302
    release.refresh_from_db()
    assert (release.speed_mph, release.version) == (16.75, 2)


@pytest.mark.parametrize(
    ("changed", "rule", "verdict", "words"),
    [
        (
            {"rg_in": 2.44, "approved_on": date(2015, 1, 1)},
            "Radius of gyration",
            "outside the limit",
            "2.44 in",
        ),
        ({"rg_in": 2.44, "approved_on": date(2009, 1, 1)}, "Radius of gyration", "pass", "2.44 in"),
        ({"rg_in": 2.44}, "Radius of gyration", "not known", "approval date"),
        ({"hardness_d": 71.0}, "Hardness", "outside the limit", "at least 73 Shore D"),
        ({"diameter_in": 8.6}, "Diameter", "outside the limit", "8.500 to 8.595 in"),
    ],
)
def test_the_checks_show_number_limit_verdict_source_and_who_decides(
    cast: Cast, changed: dict[str, Any], rule: str, verdict: str, words: str
) -> None:
    Ball.objects.filter(pk=cast.bo_ball.pk).update(**changed)
    page = cast.client(cast.bo).get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    row = page.split(f"<strong>{rule}</strong>")[1].split("</li>")[0]
    assert verdict in row
    assert words in row
    assert "found second-hand" in page and "Wikipedia" in page
    assert "The rule book in force and the tournament director decide." in page


def test_static_imbalance_and_balance_hole_come_from_the_layout(cast: Cast) -> None:
    Layout.objects.create(ball=cast.bo_ball, side_oz=3.5, top_oz=-1, gripping_holes=3, balance_hole=True)
    page = cast.client(cast.bo).get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    side = page.split("<strong>Static imbalance, side</strong>")[1].split("</li>")[0]
    assert "outside the limit" in side and "3.5 oz" in side
    hole = page.split("<strong>Balance hole</strong>")[1].split("</li>")[0]
    assert "outside the limit" in hole
    bag = cast.client(cast.bo).get(reverse("bag", args=[cast.bo_bowler.uuid])).content.decode()
    assert "Balance hole: has one" in bag


def test_names_and_notes_are_shown_as_text(cast: Cast) -> None:
    Ball.objects.filter(pk=cast.bo_ball.pk).update(name="<b>Bold</b>", note="<script>alert(1)</script>")
    for name, key in (("ball", cast.bo_ball.uuid), ("bag", cast.bo_bowler.uuid)):
        page = cast.client(cast.bo).get(reverse(name, args=[key])).content.decode()
        assert "<b>Bold</b>" not in page and "<script>alert" not in page


def test_no_page_has_script_or_style_within_it(cast: Cast) -> None:
    Layout.objects.create(ball=cast.bo_ball, pin_to_pap_in=4, drilling_angle_deg=50, val_angle_deg=30)
    SurfaceEntry.objects.create(ball=cast.bo_ball, kind="sanded", grits=[1000], done_at=timezone.now())
    client = cast.client(cast.coach)
    for url in (
        reverse("team"),
        reverse("account"),
        reverse("bags"),
        reverse("bag", args=[cast.bo_bowler.uuid]),
        reverse("ball", args=[cast.bo_ball.uuid]),
        reverse("surface-new", args=[cast.bo_ball.uuid]),
    ):
        page = client.get(url).content.decode()
        assert " style=" not in page and " onclick=" not in page and "<script>" not in page, url
        assert page.count("<svg") == page.count("<desc"), "each picture has its words"


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        # Exact factors: 1 mph = 1.609344 km/h, 1 lb = 0.45359237 kg, 1 in = 25.4 mm.
        (measures.speed(17.5, "imperial"), "17.5 mph"),
        (measures.speed(17.5, "metric"), "28.2 km/h"),
        (measures.speed_spread(0.3, "metric"), "0.48 km/h"),
        (measures.weight(15.0, "metric"), "6.80 kg"),
        (measures.weight(15.25, "imperial"), "15.25 lb"),
        (measures.inches(3.375, "metric"), "86 mm"),
        (measures.inches(3.375, "imperial"), "3.375 in"),
        (measures.inches(None, "metric"), "–"),
        (measures.fine_length(2.5, "metric"), "63.50 mm"),
        (measures.games(1.0), "1 game"),
        (measures.games(2.34), "2.3 games"),
        (measures.games(None), "no surface work logged"),
        (measures.signed(-1.5, "oz"), "-1.5 oz"),
        (measures.signed(None), "–"),
    ],
)
def test_measures_are_shown_in_the_chosen_units(shown: str, expected: str) -> None:
    assert shown == expected


def test_the_differential_of_a_new_ball_is_not_guessed(cast: Cast) -> None:
    client, url = cast.client(cast.bo), reverse("ball-new", args=[cast.bo_bowler.uuid])
    page = client.get(url).content.decode()
    field = page[page.index('name="differential_in"') :].split(">")[0]
    assert "value=" not in field and "required" in field
    sent = {"name": "Green Lantern", "cover": "reactive_solid", "weight_lb": "15", "rg_in": "2.5"}
    refused = client.post(url, sent)
    assert refused.status_code == 400 and "Differential is missing" in refused.content.decode()
    assert 'value="0.045"' in client.get(reverse("ball-edit", args=[cast.bo_ball.uuid])).content.decode()


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        (
            {"rg_in": 2.44},
            "Radius of gyration 2.44 in: outside today’s limit unless approved before 1 July 2010",
        ),
        (
            {"differential_in": 0.07},
            "Total differential 0.07 in: outside today’s limit unless approved before 1 February 2005",
        ),
    ],
)
def test_a_number_that_only_an_older_approval_allows_is_said_in_the_summary(
    cast: Cast, changed: dict[str, float], text: str
) -> None:
    client, url = cast.client(cast.bo), reverse("ball", args=[cast.bo_ball.uuid])
    assert "unless approved before" not in client.get(url).content.decode()
    Ball.objects.filter(pk=cast.bo_ball.pk).update(**changed)
    assert text in client.get(url).content.decode()
    Ball.objects.filter(pk=cast.bo_ball.pk).update(approved_on=date(2004, 5, 1))
    assert "unless approved before" not in client.get(url).content.decode()
