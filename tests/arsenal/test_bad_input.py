"""Wrong input on the pages: a message naming field, value and what is allowed; nothing half saved."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from arsenal.forms.people import NewPersonForm
from arsenal.models import Ball, Bowler, Layout, Release, SurfaceEntry
from tests.conftest import Cast

BALL = {
    "name": "Tin Lantern",
    "cover": "reactive_pearl",
    "weight_lb": "15",
    "rg_in": "2.5",
    "differential_in": "0.04",
    "intermediate_differential_in": "0.01",
    "diameter_in": "8.55",
    "role": "weak",
}
RELEASE = {
    "kind": "flatter",
    "speed_mph": "18",
    "rev_rate_rpm": "300",
    "axis_rotation_deg": "20",
    "axis_tilt_deg": "10",
    "sd_speed_mph": "0.3",
    "sd_launch_deg": "0.15",
    "sd_laydown_boards": "0.6",
    "sd_rev_rate_rpm": "10",
    "sd_axis_rotation_deg": "3",
    "origin": "measured",
}
SURFACE = {"kind": "sanded", "done_at": "2026-03-05T10:00", "grits": "500, 1000", "window": "home"}


def said(answer: Any) -> list[str]:
    """Every error message of the form on the page."""
    form = answer.context["form"]
    return [str(message) for messages in form.errors.values() for message in messages]


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("weight_lb", "16.3", "Weight 16.3 lb is not allowed: 6 to 16 lb."),
        ("weight_lb", "16.00001", "Weight 16.00001 lb is not allowed: 6 to 16 lb."),
        ("weight_lb", "fifteen", "Weight “fifteen” is not a number: 6 to 16 lb."),
        ("weight_lb", "nan", "Weight nan lb is not allowed: 6 to 16 lb."),
        ("weight_lb", "1e400", "Weight inf lb is not allowed: 6 to 16 lb."),
        ("weight_lb", "", "Weight is missing: 6 to 16 lb."),
        ("rg_in", "3.4", "Radius of gyration 3.4 in is not allowed: 2.43 to 2.8 in."),
        ("differential_in", "-0.01", "Differential -0.01 in is not allowed: 0 to 0.08 in."),
        (
            "intermediate_differential_in",
            "0.05",
            "Intermediate differential 0.05 in is not allowed: 0 to the differential, here 0.04 in.",
        ),
        ("hardness_d", "730", "Hardness 730 Shore D is not allowed: 40 to 100 Shore D."),
        ("drilled_on", "2999-01-01", "Date drilled 2999-01-01 is not allowed: 1950-01-01 to today"),
    ],
)
def test_a_ball_with_a_wrong_number(cast: Cast, field: str, typed: str, message: str) -> None:
    url = reverse("ball-new", args=[cast.bo_bowler.uuid])
    answer = cast.client(cast.bo).post(url, {**BALL, field: typed})
    assert answer.status_code == 400
    assert any(text.startswith(message) for text in said(answer)), said(answer)
    assert "Tin Lantern" in answer.content.decode(), "what was typed stays"
    assert not Ball.objects.filter(name="Tin Lantern").exists()


def test_all_wrong_fields_are_named_at_once(cast: Cast) -> None:
    sent = {**BALL, "weight_lb": "16.3", "rg_in": "3.4", "name": ""}
    answer = cast.client(cast.bo).post(reverse("ball-new", args=[cast.bo_bowler.uuid]), sent)
    assert set(answer.context["form"].errors) == {"weight_lb", "rg_in", "name"}


def test_a_decimal_comma_is_a_number(cast: Cast) -> None:
    url = reverse("ball-new", args=[cast.bo_bowler.uuid])
    assert cast.client(cast.bo).post(url, {**BALL, "rg_in": "2,515"}).status_code == 302
    assert Ball.objects.get(name="Tin Lantern").rg_in == 2.515


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("pin_to_pap_in", "7", "Pin to PAP 7 in is not allowed: 0 to 6.75 in."),
        ("val_angle_deg", "91", "VAL angle 91 degrees is not allowed: 0 to 90 degrees."),
        ("gripping_holes", "2.5", "Gripping holes 2.5 is not allowed: 0 to 10, whole numbers."),
        ("gripping_holes", "11", "Gripping holes 11 is not allowed: 0 to 10, whole numbers."),
        ("top_oz", "12", "Top weight 12 oz is not allowed: -10 to 10 oz."),
    ],
)
def test_a_layout_with_a_wrong_number(cast: Cast, field: str, typed: str, message: str) -> None:
    url = reverse("layout-edit", args=[cast.bo_ball.uuid])
    answer = cast.client(cast.bo).post(url, {"version": "0", field: typed})
    assert answer.status_code == 400
    assert message in said(answer)
    assert not Layout.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("speed_mph", "4", "Speed 4 mph is not allowed: 5 to 40 mph."),
        ("rev_rate_rpm", "801", "Rev rate 801 rpm is not allowed: 0 to 800 rpm."),
        ("sd_speed_mph", "-1", "Spread of speed -1 mph is not allowed: 0 to 5 mph."),
        ("scatter_correlation", "1 2", "it must be five rows of five"),
        ("scatter_correlation", "1 x", "Correlation “1 x” is not a row of numbers from -1 to 1."),
        ("scatter_correlation", "\n".join(["1 1 1 1 1"] * 4 + ["1 1 1 1 .5"]), "must be symmetric"),
        (
            "scatter_correlation",
            # Any two of the first three may go together so, all three may not: a negative eigenvalue.
            "1 .9 -.9 0 0\n.9 1 .9 0 0\n-.9 .9 1 0 0\n0 0 0 1 0\n0 0 0 0 1",
            "no negative eigenvalue",
        ),
        ("kind", "strike", "Release “Strike” is there already"),
        ("kind", "hook", "hook"),
    ],
)
def test_a_release_with_wrong_input(cast: Cast, field: str, typed: str, message: str) -> None:
    before = Release.objects.count()
    url = reverse("release-new", args=[cast.bo_bowler.uuid])
    answer = cast.client(cast.bo).post(url, {**RELEASE, field: typed})
    assert answer.status_code == 400
    assert any(message in text for text in said(answer)), said(answer)
    assert Release.objects.count() == before


def test_a_correlation_is_kept_and_shown_as_it_was_typed(cast: Cast) -> None:
    matrix = "1 0.3 0 0 0\n0.3 1 0 0 0\n0 0 1 0 0\n0 0 0 1 -0.2\n0 0 0 -0.2 1"
    url = reverse("release-new", args=[cast.bo_bowler.uuid])
    answer = cast.client(cast.bo).post(url, {**RELEASE, "scatter_correlation": matrix})
    assert answer.status_code == 302
    release = Release.objects.get(bowler=cast.bo_bowler, kind="flatter")
    assert release.scatter_correlation[3][4] == -0.2
    page = cast.client(cast.bo).get(reverse("release-edit", args=[release.uuid])).content.decode()
    assert "1.0 0.3 0.0 0.0 0.0" in page


def test_a_card_with_a_wrong_axis_point(cast: Cast) -> None:
    sent = {
        "version": "1",
        "name": "Bo",
        "hand": "both",
        "hands_used": "3",
        "pap_over_in": "9",
        "gap_boards": "x",
    }
    answer = cast.client(cast.bo).post(reverse("bowler-edit", args=[cast.bo_bowler.uuid]), sent)
    assert answer.status_code == 400
    assert "PAP over 9 in is not allowed: 0 to 7 in." in said(answer)
    assert {"hand", "hands_used", "pap_over_in", "gap_boards"} <= set(answer.context["form"].errors)
    assert Bowler.objects.get(pk=cast.bo_bowler.pk).name == "Bo Aldwin"


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"grits": "0"}, "Grit 0 is not allowed: 120 to 5000, whole numbers."),
        ({"grits": "99999"}, "Grit 99999 is not allowed: 120 to 5000, whole numbers."),
        ({"grits": "9" * 400}, f"Grit {'9' * 40}… is not allowed: 120 to 5000, whole numbers."),
        ({"grits": "500, 1000, 99999"}, "Grit 99999 is not allowed"),
        ({"grits": "coarse"}, "Pads “coarse” are not a list of grits"),
        ({"grits": ""}, "Pad list is missing: “Sanded” needs it, 120 to 5000."),
        ({"grits": "500 " * 13}, "Pads: 13 in one entry is not allowed: at most 12."),
        ({"minutes": "-3"}, "Minutes -3 minutes is not allowed"),
        ({"minutes": "1000"}, "Minutes 1000 minutes is not allowed: 0.1 to 120 minutes."),
        (
            {"kind": "scanner", "grits": ""},
            "Scanner reading is missing: “Scanner reading” needs it, 0.05 to 6 µm.",
        ),
        (
            {"kind": "scanner", "scanner_ra_um": "0.6"},
            "Pad list 500, 1000 does not go with “Scanner reading”",
        ),
        ({"kind": "scanner", "grits": "", "scanner_ra_um": "50"}, "Scanner reading Ra 50 µm is not allowed"),
        ({"kind": "games_elsewhere", "grits": "", "games": "0"}, "Games elsewhere 0 games is not allowed"),
        (
            {"kind": "games_elsewhere", "grits": "", "games": "3", "minutes": "5"},
            "Minutes 5.0 does not go with",
        ),
        ({"kind": "withdrawn", "grits": ""}, "withdrawn"),
        ({"kind": "baked"}, "baked"),
        ({"window": "midnight"}, "midnight"),
        ({"done_at": "yesterday"}, "When “yesterday” is not a date and time"),
        ({"done_at": "1723-01-01T10:00"}, "When 1723-01-01 10:00 is not allowed: from 1990-01-01 up to now"),
        ({"done_at": "0001-01-01T00:00"}, "When 0001-01-01 00:00 is not allowed"),
        ({"done_at": "9999-12-31T23:59"}, "When 9999-12-31 23:59 is not allowed"),
    ],
)
def test_a_surface_entry_with_wrong_input(cast: Cast, changed: dict[str, str], message: str) -> None:
    answer = cast.client(cast.bo).post(
        reverse("surface-new", args=[cast.bo_ball.uuid]), {**SURFACE, **changed}
    )
    assert answer.status_code == 400
    assert any(message in text for text in said(answer)), said(answer)
    assert not SurfaceEntry.objects.exists()


def test_a_surface_entry_in_the_future_names_both_times(cast: Cast) -> None:
    tomorrow = timezone.localtime() + timedelta(days=1)
    sent = {**SURFACE, "done_at": f"{tomorrow:%Y-%m-%dT%H:%M}"}
    answer = cast.client(cast.bo).post(reverse("surface-new", args=[cast.bo_ball.uuid]), sent)
    assert answer.status_code == 400
    (message,) = said(answer)
    assert message.startswith(f"When {tomorrow:%Y-%m-%d %H:%M} is not allowed: from 1990-01-01 up to now")
    assert not SurfaceEntry.objects.exists()


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Niue"])
@pytest.mark.parametrize("when", ["0001-01-01T00:00", "9999-12-31T23:59"])
def test_the_ends_of_the_calendar_are_refused_in_any_time_zone(cast: Cast, zone: str, when: str) -> None:
    cast.bo.time_zone = zone
    cast.bo.save()
    url = reverse("surface-new", args=[cast.bo_ball.uuid])
    assert cast.client(cast.bo).post(url, {**SURFACE, "done_at": when}).status_code == 400


@pytest.mark.parametrize(
    ("model", "route", "sent"), [(Ball, "ball-new", BALL), (Release, "release-new", RELEASE)]
)
def test_a_form_sent_twice_makes_one_row(cast: Cast, model: Any, route: str, sent: dict[str, str]) -> None:
    url = reverse(route, args=[cast.bo_bowler.uuid])
    client = cast.client(cast.bo)
    before = model.objects.count()
    answers = [client.post(url, {**sent, "uuid": str(uuid.UUID(int=7))}) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 302]
    assert answers[0].headers["Location"] == answers[1].headers["Location"]
    assert model.objects.count() == before + 1


def test_a_surface_entry_sent_twice_is_one_entry(cast: Cast) -> None:
    client = cast.client(cast.bo)
    page = client.get(reverse("surface-new", args=[cast.bo_ball.uuid]))
    sent = {**SURFACE, "uuid": str(page.context["form"]["uuid"].value())}
    for _ in range(2):
        assert client.post(reverse("surface-new", args=[cast.bo_ball.uuid]), sent).status_code == 302
    assert SurfaceEntry.objects.count() == 1


def test_a_uuid_that_is_somebody_elses_answers_like_nothing(cast: Cast) -> None:
    url = reverse("ball-new", args=[cast.bo_bowler.uuid])
    for theirs in (cast.outsider_ball.uuid, cast.lin_ball.uuid):
        answer = cast.client(cast.bo).post(url, {**BALL, "uuid": str(theirs)})
        assert answer.status_code == 404
        assert "Secret Heron" not in answer.content.decode()
    assert not Ball.objects.filter(name="Tin Lantern").exists()


@pytest.mark.parametrize(
    ("sent", "message"),
    [
        ({"username": "ada"}, "Username “ada” is not allowed: somebody has it; choose another."),
        ({"username": "a b"}, "Username “a b” is not allowed: letters, digits and @ . + - _ only."),
        ({"username": ""}, "Username is missing: up to 150 characters."),
        ({"first_name": ""}, "Your name is missing: up to 150 characters."),
        ({"username": "u" * 151}, "Username of 151 characters is too long: up to 150."),
        ({"password1": ""}, "Password is missing."),
    ],
)
def test_a_new_account_is_refused_in_the_words_of_the_pages(
    cast: Cast, sent: dict[str, str], message: str
) -> None:
    good = {"first_name": "Una", "username": "una", "password1": "lane-oil-41", "password2": "lane-oil-41"}
    form = NewPersonForm({**good, **sent})
    texts = [str(text) for errors in form.errors.values() for text in errors]
    assert message in texts and NewPersonForm(good).is_valid()
    for text in texts:
        assert "This field" not in text and "A user with" not in text and "Enter a valid" not in text


def test_every_form_says_what_is_missing_and_what_may_be_chosen(cast: Cast) -> None:
    client = cast.client(cast.bo)
    url = reverse("ball-new", args=[cast.bo_bowler.uuid])
    texts = said(client.post(url, {**BALL, "name": "", "role": "odd"}))
    assert "Name is missing: up to 80 characters." in texts
    start = "Place in the bag “odd” is not allowed: choose one of Strong end"
    assert any(text.startswith(start) for text in texts)
    empty = said(client.post(url, {}))
    assert not any("This field" in text or "Select a valid" in text for text in empty)
    assert "Username is missing" in Client().post(reverse("sign-in"), {}).content.decode()
