"""Two layouts of one ball on the page: what is shown, to whom, and what is said of odd input."""

import re

import pytest
from django.http import HttpResponse
from django.urls import reverse

from arsenal.models import Layout, Person
from patterns.models import Pattern, PatternVersion
from tests.conftest import Cast
from tests.patterns.test_pages import make

SECOND = {"pin_to_pap_in": "1.5", "drilling_angle_deg": "25", "val_angle_deg": "20"}


@pytest.fixture
def pattern(cast: Cast) -> Pattern:
    return make(cast)


def ask(cast: Cast, person: Person, pattern: Pattern, **changes: str) -> HttpResponse:
    release = cast.bo_bowler.releases.get(kind="strike")
    data = {"version": str(pattern.versions.get().pk), "release": str(release.pk), **SECOND, **changes}
    return cast.client(person).get(reverse("compare-layouts", args=[cast.bo_ball.uuid]), data)


def words(response: HttpResponse) -> str:
    """The page without its drawings and tags."""
    text = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", response.content.decode(), flags=re.DOTALL)
    return re.sub(r"\s+", " ", text)


def test_the_ball_page_leads_to_the_form_which_asks_before_it_computes(cast: Cast, pattern: Pattern) -> None:
    address = reverse("compare-layouts", args=[cast.bo_ball.uuid])
    client = cast.client(cast.bo)
    assert address in client.get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    page = client.get(address)
    assert page.status_code == 200 and "<svg" not in page.content.decode()
    # Nobody has written the layout down, so the page says with what it will be computed.
    assert "commonly drilled: Pin to PAP 4.5 in" in words(page)
    assert "licensed or certified pro shop" in words(page) and "tournament director" in words(page)


def test_two_layouts_are_drawn_on_one_lane_with_intervals(cast: Cast, pattern: Pattern) -> None:
    Layout.objects.create(ball=cast.bo_ball, pin_to_pap_in=4.25, drilling_angle_deg=50, val_angle_deg=35)
    page = ask(cast, cast.bo, pattern, laydown_board="22", target_board="15,5")
    assert page.status_code == 200
    said, html = words(page), page.content.decode()
    assert "First: 50° × 4.25 in × 35°" in said and "Second: 25° × 1.5 in × 20°" in said
    assert "Laid down on board 22, over board 15.5 at 15 ft" in said
    assert "80 % interval" in said and "A model, not a measurement" in said
    kinds = re.findall(r'<svg class="picture ([\w-]+)"', html)
    assert kinds == ["two-layouts", "chance-field", "along-lane", "along-lane"]
    assert html.count("<title>") == html.count("<desc>") + 1  # the page's own
    assert not re.search(r"\bnan\b|\binf\b|style=", html)
    flare = re.search(r"Flare, first to last track in (?:[a-z ]+)?([\d.]+) ([\d.]+) (−?[\d.]+)", said)
    assert flare and float(flare.group(1)) > float(flare.group(2))


def test_without_a_line_the_best_one_is_taken_and_said_so(cast: Cast, pattern: Pattern) -> None:
    said = words(ask(cast, cast.bo, pattern))
    best = re.search(r"Best: laid down on board ([\d.]+) over board ([\d.]+)", said)
    if best:
        assert f"Laid down on board {best.group(1)}, over board {best.group(2)} at 15 ft, the model’s" in said
    else:
        assert "Laid down on board 22, over board 15" in said


def test_a_left_hander_gets_their_own_side(cast: Cast, pattern: Pattern) -> None:
    release = cast.lin_bowler.releases.get(kind="strike")
    data = {"version": str(pattern.versions.get().pk), "release": str(release.pk), **SECOND}
    page = cast.client(cast.lin).get(reverse("compare-layouts", args=[cast.lin_ball.uuid]), data)
    assert page.status_code == 200 and "boards from the left" in page.content.decode()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"pin_to_pap_in": "9"}, "Pin to PAP 9 in is not allowed: 0 to 6.75 in."),
        ({"pin_to_pap_in": ""}, "Pin to PAP is missing: 0 to 6.75 in."),
        ({"drilling_angle_deg": "nan"}, "Drilling angle nan degrees is not allowed: 0 to 180 degrees."),
        ({"val_angle_deg": "steep"}, "VAL angle “steep” is not a number: 0 to 90 degrees."),
        ({"val_angle_deg": "1e400"}, "VAL angle inf degrees is not allowed: 0 to 90 degrees."),
        (
            {"laydown_board": "55", "target_board": "12"},
            "Laydown 55 (board) is not allowed: 0.5 to 39.5 (board).",
        ),
        ({"laydown_board": "20"}, "Target is missing: 0.5 to 39.5 (board)."),
        ({"target_board": "12"}, "Laydown is missing: 0.5 to 39.5 (board)."),
        ({"laydown_board": "39", "target_board": "1"}, "must give -10 to 10 degrees"),
        ({"version": "abc"}, "Pattern “abc” is not one of those listed."),
        ({"version": ""}, "Pattern is missing: choose one of those listed."),
        ({"release": "999999"}, "Release “999999” is not one of those listed."),
        ({"version": "9" * 40}, "is not one of those listed."),
        ({"version": "\x00"}, "Null characters are not allowed."),
    ],
)
def test_odd_input_names_the_field_the_value_and_the_range(
    cast: Cast, pattern: Pattern, typed: dict[str, str], said: str
) -> None:
    page = ask(cast, cast.bo, pattern, **typed)
    assert page.status_code == 400
    assert said in words(page)
    assert "two-layouts" not in page.content.decode()


def test_a_line_into_the_gutter_is_a_result(cast: Cast, pattern: Pattern) -> None:
    page = ask(cast, cast.bo, pattern, laydown_board="6", target_board="1")
    assert page.status_code == 200
    assert "nothing is compared at the pins" in words(page)
    assert "Entry angle" not in words(page) and "Flare" in words(page)


def test_who_may_compare(cast: Cast, pattern: Pattern) -> None:
    """A team-mate and the coach may; an outsider and a guest get what a ball that does not exist gets."""
    for person in (cast.coach, cast.lin):
        assert ask(cast, person, pattern).status_code == 200
    missing = cast.client(cast.outsider).get(f"/balls/{'0' * 8}-0000-4000-8000-{'0' * 12}/layouts/")
    for person in (cast.outsider, cast.guest):
        refused = ask(cast, person, pattern)
        assert refused.status_code == missing.status_code == 404
        assert cast.bo_ball.name not in refused.content.decode()


def test_a_guest_with_a_shared_ball_sees_no_pattern_or_release_that_is_not_shared(
    cast: Cast, pattern: Pattern
) -> None:
    cast.bo_ball.shared_with_guests = True
    cast.bo_ball.save()
    page = ask(cast, cast.guest, pattern)
    assert page.status_code == 400
    assert pattern.name not in page.content.decode()
    assert "one of them is missing" in words(page)


def test_another_teams_sheet_is_like_one_that_does_not_exist(cast: Cast, pattern: Pattern) -> None:
    theirs = Pattern.objects.create(team=cast.other_team, name="Heron Flats")
    version = PatternVersion.objects.create(
        pattern=theirs, number=1, length_ft=40, distances_ft=[0.0], oil=[[5.0] * 39]
    )
    there = words(ask(cast, cast.bo, pattern, version=str(version.pk)))
    nowhere = words(ask(cast, cast.bo, pattern, version="987654"))
    assert there.replace(str(version.pk), "#") == nowhere.replace("987654", "#")
    assert "Heron Flats" not in there


def test_signed_out_goes_to_the_door(client, cast: Cast) -> None:
    answer = client.get(reverse("compare-layouts", args=[cast.bo_ball.uuid]))
    assert answer.status_code == 302 and "sign-in" in answer["Location"]


def test_the_heaviest_legal_ball_is_compared_without_a_word_of_numbers_nobody_typed(
    cast: Cast, pattern: Pattern
) -> None:
    """Its effective radius of gyration is 2.82 in, more than a rule allows to list."""
    cast.bo_ball.rg_in, cast.bo_ball.differential_in = 2.78, 0.05
    cast.bo_ball.intermediate_differential_in = 0.0
    cast.bo_ball.save()
    Layout.objects.create(ball=cast.bo_ball, pin_to_pap_in=5, drilling_angle_deg=50, val_angle_deg=35)
    page = ask(cast, cast.bo, pattern)
    assert page.status_code == 200
    assert "2.82" not in words(page) and "two-layouts" in page.content.decode()
