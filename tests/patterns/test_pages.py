"""Patterns in the browser's terms: entering, marking slips in place, versions, stale and doubled saves."""

import re
import uuid

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from arsenal.models import Membership
from arsenal.models.people import Role
from motion.units import UNIT_UM
from patterns.engine_inputs import film_for
from patterns.models import Pattern, PatternVersion
from patterns.record import Details, create_pattern
from patterns.sheet_form import PASS_FIELDS
from patterns.sheet_parser import parse_sheet
from patterns.sheet_types import (
    MAX_DISTANCES,
    MAX_PASSES,
    MAX_ROWS,
    RawPass,
    RawRow,
    RawSheet,
    RawTable,
)
from tests.conftest import Cast

BANDS = [("1R-7R", "6", "3"), ("8R-8L", "20", "12"), ("7L-1L", "6", "3")]


def posted(rows: list[tuple[str, ...]] | None = None, **changes: str) -> dict[str, str]:
    """A good form of three bands at two distances, with the changes asked for."""
    rows = BANDS if rows is None else rows
    data = {
        "action": "save",
        "token": str(uuid.uuid4()),
        "version": "0",
        "name": "Willow Bend",
        "length_ft": "40",
        "entry": "table",
        "unit": "units",
        "column-count": "2",
        "row-count": str(len(rows)),
        "distance-0": "8",
        "distance-1": "30",
    }
    for i, (label, *cells) in enumerate(rows):
        data[f"label-{i}"] = label
        data |= {f"cell-{i}-{j}": text for j, text in enumerate(cells)}
    return data | changes


def sheet(cells: tuple[str, ...] = ("6", "20", "6")) -> RawSheet:
    rows = [RawRow(band[0], [text]) for band, text in zip(BANDS, cells, strict=True)]
    return RawSheet(length_ft="40", table=RawTable(["8"], rows))


def make(cast: Cast, name: str = "Willow Bend", shared: bool = False) -> Pattern:
    details = Details(name, shared_with_guests=shared)
    return create_pattern(cast.team, cast.coach, uuid.uuid4(), details, parse_sheet(sheet()))[0]


def value_of(response: HttpResponse, name: str) -> str:
    """What an input of the page holds."""
    tag = re.search(rf'<input[^>]*name="{re.escape(name)}"[^>]*>', response.content.decode())
    assert tag, name
    value = re.search(r'value="([^"]*)"', tag.group())
    return value.group(1) if value else ""


@pytest.fixture
def bo(cast: Cast) -> Client:
    return cast.client(cast.bo)


# Entering ------------------------------------------------------------------------------------------------


def test_a_player_enters_a_sheet_and_sees_it(bo: Client) -> None:
    response = bo.post(reverse("pattern-new"), posted(), follow=True)
    page = response.content.decode()
    assert response.status_code == 200
    assert "Willow Bend" in page and "<svg" in page and "40 ft" in page
    version = PatternVersion.objects.get()
    assert version.number == 1
    assert version.oil[0] == [6.0] * 7 + [20.0] * 25 + [6.0] * 7


def test_the_published_ratio_stands_on_the_page_with_its_boards(bo: Client) -> None:
    """Worked check of the fact sheet: 60,62,64,62,60 over 14,15,16,17,18 is 61.6 / 16.0 = 3.85."""
    rows = [("1-2", "10")]
    rows += [(f"{b}R", f"{11 + b}") for b in range(3, 8)] + [(f"{b}L", f"{11 + b}") for b in range(3, 8)]
    rows += [("8R-17R", "30"), ("17L-8L", "30"), ("2L-1L", "10")]
    rows += [(f"{b}", f"{oil}") for b, oil in zip(range(18, 23), (60, 62, 64, 62, 60), strict=True)]
    data = posted(rows, **{"column-count": "1", "distance-0": "22"})
    page = bo.post(reverse("pattern-new"), data, follow=True).content.decode()
    assert page.count("3.85:1") >= 2
    assert "18L–18R / 3R–7R" in page and "18L–18R / 3L–7L" in page
    assert "the text in force was not read" in page


def test_passes_are_rebuilt_and_marked(bo: Client) -> None:
    data = posted(entry="passes", **{"pass-count": "1", "pass-0-boards": "2L-2R", "pass-0-volume_ul": "60"})
    data |= {"pass-0-from_ft": "0", "pass-0-to_ft": "40", "pass-0-loads": "8", "pass-0-direction": "outward"}
    page = bo.post(reverse("pattern-new"), data, follow=True).content.decode()
    assert "Reconstructed" in page and "believed less than a table" in page
    assert f"{37 * 60 * 8 / 1000:.2f} mL" in page
    assert PatternVersion.objects.get().passes[0]["loads"] == 8


def test_a_summary_is_rebuilt_and_marked(bo: Client) -> None:
    data = posted(entry="summary", stated_volume_ml="25", ratio="3.5")
    page = bo.post(reverse("pattern-new"), data, follow=True).content.decode()
    assert "assumed shape" in page and "25.00 mL" in page and "3.50:1" in page


def test_a_pasted_table_is_taken_and_saved(bo: Client) -> None:
    line = ";".join(["0", *["7,5"] * 39])
    bo.post(reverse("pattern-new"), posted([], paste=line, **{"column-count": "0"}))
    assert PatternVersion.objects.get().oil == [[7.5] * 39]


def test_a_csv_file_is_taken_and_saved(bo: Client) -> None:
    content = "board,0,20\n1-19,5,3\n20-39,6,4\n".encode("utf-8-sig")
    data = posted([]) | {"csv": SimpleUploadedFile("sheet.csv", content)}
    bo.post(reverse("pattern-new"), data)
    version = PatternVersion.objects.get()
    assert version.distances_ft == [0.0, 20.0] and version.oil[1][0] == 3.0


def test_a_version_saved_as_csv_reads_back_the_same(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    content = bo.get(reverse("pattern-csv", args=[pattern.uuid, 1])).content
    data = posted([], name="Copy") | {"csv": SimpleUploadedFile("sheet.csv", content)}
    bo.post(reverse("pattern-new"), data)
    copy = PatternVersion.objects.get(pattern__name="Copy")
    assert copy.oil == pattern.versions.get().oil


PASSES = [
    ("2L-2R", "2", "40", "0", "5"),
    ("5L-5R", "1", "40", "5", "9.5"),
    ("8L-8R", "3", "40", "9.5", "20"),
    ("10L-10R", "2", "40", "20", "31"),
    ("12L-12R", "2", "45", "38", "30"),
    ("7L-7R", "2", "45", "22", "12"),
    ("3L-3R", "2", "45", "12", "6"),
]
REBUILT = {
    "summary": RawSheet(entry="summary", length_ft="41", stated_volume_ml="25", ratio="3.5"),
    "summary to a broken foot": RawSheet(
        entry="summary", length_ft="37.3", stated_volume_ml="21", ratio="2.5"
    ),
    "passes": RawSheet(entry="passes", length_ft="40", passes=[RawPass(*line) for line in PASSES]),
    "one pass": RawSheet(entry="passes", length_ft="20", passes=[RawPass("2L-2R", "1", "60", "3.2", "12")]),
}


@pytest.mark.parametrize("name", REBUILT)
def test_a_rebuilt_version_saved_as_csv_reads_back_within_what_it_states(
    bo: Client, cast: Cast, name: str
) -> None:
    raw = REBUILT[name]
    pattern = create_pattern(cast.team, cast.coach, uuid.uuid4(), Details("Rebuilt"), parse_sheet(raw))[0]
    content = bo.get(reverse("pattern-csv", args=[pattern.uuid, 1])).content
    stated = re.search(rb"within (\d+\.\d\d) units", content)
    assert stated is not None
    data = posted([], name="Copy", length_ft=raw.length_ft)
    answer = bo.post(reverse("pattern-new"), data | {"csv": SimpleUploadedFile("sheet.csv", content)})
    assert answer.status_code == 302
    copy = PatternVersion.objects.get(pattern__name="Copy")
    assert len(copy.distances_ft) <= MAX_DISTANCES
    (film, _), (rebuilt, _) = film_for(copy), film_for(pattern.versions.get())
    apart = np.abs(film - rebuilt).max() / UNIT_UM
    assert apart <= float(stated.group(1)) + 0.006  # the statement is rounded to hundredths
    # Close enough to be of use: a twentieth of the thickest oil.
    assert apart < 0.05 * rebuilt.max() / UNIT_UM
    assert film.sum() == pytest.approx(rebuilt.sum(), rel=0.005)


def test_the_largest_sheet_there_may_be_is_taken(bo: Client) -> None:
    """More fields than a form has by default; every row, distance and pass of the limits is sent."""
    rows = [(f"{i + 1}" if i < 39 else "", *["1" if i < 39 else ""] * MAX_DISTANCES) for i in range(MAX_ROWS)]
    data = posted(rows, length_ft="60") | {
        "column-count": str(MAX_DISTANCES),
        "pass-count": str(MAX_PASSES),
        **{f"distance-{j}": str(3 * j) for j in range(MAX_DISTANCES)},
        **{f"pass-{i}-{name}": "" for i in range(MAX_PASSES) for name in PASS_FIELDS},
    }
    assert len(data) > 1000
    assert bo.post(reverse("pattern-new"), data).status_code == 302
    assert len(PatternVersion.objects.get().distances_ft) == MAX_DISTANCES


def test_a_volume_more_than_5_percent_off_is_said(bo: Client) -> None:
    page = bo.post(reverse("pattern-new"), posted(stated_volume_ml="90"), follow=True).content.decode()
    assert "more than 5 % apart" in page.lower()


# Slips -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("oil", "“oil” is not a number, 0 to 200 units allowed"),
        ("-2", "“-2” is not allowed, 0 to 200 units allowed"),
        ("999", "“999” is not allowed, 0 to 200 units allowed"),
        ("1,500", "“1,500” may mean 1.500 or 1500"),
    ],
)
def test_a_bad_cell_is_marked_in_place_and_all_typing_is_kept(bo: Client, typed: str, reason: str) -> None:
    rows = [BANDS[0], ("8R-8L", "20", typed), BANDS[2]]
    response = bo.post(reverse("pattern-new"), posted(rows, note="tape at 9 am", lane_surface="wood"))
    page = response.content.decode()
    assert response.status_code == 400
    assert "Boards 8R-8L at 30 ft: " + reason in page
    marked = re.findall(r'name="([^"]+)"[^>]*aria-invalid="true"', page)
    assert marked == ["cell-1-1"]
    assert value_of(response, "cell-1-1") == typed
    assert value_of(response, "cell-0-1") == "3"
    assert value_of(response, "lane_surface") == "wood" and "tape at 9 am" in page
    assert not Pattern.objects.exists()


def test_markup_typed_into_a_cell_comes_back_as_text(bo: Client) -> None:
    page = bo.post(reverse("pattern-new"), posted([("<b>x", "<script>", "3")], name="<i>n")).content.decode()
    assert "<script>" not in page.replace('<script src="', "") and "<b>x" not in page and "<i>n" not in page


def test_38_columns_are_refused_and_the_paste_kept(bo: Client) -> None:
    line = ";".join(["0", *["5"] * 38])
    response = bo.post(reverse("pattern-new"), posted(paste=line))
    page = response.content.decode()
    assert response.status_code == 400
    assert "leaves 38 boards after the distance: 39 are needed" in page and line in page
    assert not Pattern.objects.exists()


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"length_ft": "61"}, "Length: “61” is not allowed, 20 to 60 ft allowed"),
        ({"length_ft": "29"}, "lies beyond the stated length of 29 ft, only 0 allowed"),
        ({"distance-1": "8"}, "Distance 2: 8 ft is there twice, allowed once"),
        ({"distance-1": "4"}, "Distance 2: 4 ft follows 8 ft; only rising order is allowed"),
        ({"viscosity_cp": "thick"}, "Viscosity: “thick” is not a number, 1 to 500 cP allowed"),
        ({"name": " "}, "Name is empty: 1 to 80 characters allowed"),
        ({"unit": "drops"}, "Unit: “drops” is not allowed, only units, ul"),
        ({"label-1": "8R-41L"}, "Boards “8R-41L”: 1 to 39"),
    ],
)
def test_other_slips_are_named_and_nothing_is_saved(bo: Client, changes: dict[str, str], reason: str) -> None:
    response = bo.post(reverse("pattern-new"), posted(**changes))
    assert response.status_code == 400
    assert reason in response.content.decode()
    assert not Pattern.objects.exists()


@pytest.mark.parametrize(
    "nonsense",
    [
        {"row-count": "99999999999", "column-count": "-1"},
        {"token": "nonsense", "row-count": "x"},
        {"version": "1e9", "action": "remove-row:999"},
        {"action": "remove-distance:zz"},
        {"name": "a\x00b"},
        {"entry": "passes", "pass-count": "41"},
    ],
)
def test_a_broken_form_gets_a_page_and_saves_nothing(bo: Client, nonsense: dict[str, str]) -> None:
    assert bo.post(reverse("pattern-new"), posted(**nonsense)).status_code in (200, 400)
    assert bo.post(reverse("pattern-parse"), posted(**nonsense)).status_code == 200
    assert not Pattern.objects.exists()


# The form's buttons ---------------------------------------------------------------------------------------


def test_buttons_change_the_grid_and_keep_the_text(bo: Client) -> None:
    parse = reverse("pattern-parse")
    wider = bo.post(parse, posted(action="add-distance"))
    assert value_of(wider, "column-count") == "3" and value_of(wider, "cell-1-1") == "12"
    boards = bo.post(parse, posted(action="every-board"))
    assert value_of(boards, "row-count") == "39" and value_of(boards, "cell-38-1") == "3"
    data = posted([(f"{b}", "x" if b < 20 else "y", "1") for b in range(1, 40)], action="as-bands")
    bands = bo.post(parse, data)
    assert [value_of(bands, f"label-{i}") for i in (0, 1)] == ["1R-19R", "20-1L"]
    mirrored = bo.post(parse, posted([("1R-3R", "9", "8")], action="mirror"))
    assert value_of(mirrored, "label-1") == "3L-1L" and value_of(mirrored, "cell-1-0") == "9"
    fewer = bo.post(parse, posted(action="remove-row:0"))
    assert value_of(fewer, "label-0") == "8R-8L"
    assert not Pattern.objects.exists()


def test_buttons_work_without_script_on_the_page_itself(bo: Client) -> None:
    response = bo.post(reverse("pattern-new"), posted(action="add-row", name=""))
    assert response.status_code == 200
    assert value_of(response, "row-count") == "4"
    assert "Name is empty" not in response.content.decode()


def test_the_check_button_marks_slips_and_saves_nothing(bo: Client) -> None:
    response = bo.post(reverse("pattern-parse"), posted(length_ft="70", action="check"))
    assert "Length: “70” is not allowed" in response.content.decode()
    good = bo.post(reverse("pattern-parse"), posted(action="check"))
    assert "Nothing wrong so far" in good.content.decode()
    assert not Pattern.objects.exists()


def test_a_draft_brought_back_keeps_text_and_token(bo: Client) -> None:
    data = posted(action="bring-back", length_ft="4O")
    response = bo.post(reverse("pattern-new"), data)
    assert response.status_code == 200
    assert value_of(response, "token") == data["token"] and value_of(response, "length_ft") == "4O"


# Versions ---------------------------------------------------------------------------------------------------


def test_a_changed_sheet_becomes_the_next_version_and_the_old_one_stays(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    edit = reverse("pattern-edit", args=[pattern.uuid])
    assert value_of(bo.get(edit), "cell-1-0") == "20"
    bo.post(edit, posted(version="1"))
    assert [v.number for v in pattern.versions.all()] == [1, 2]
    assert pattern.versions.get(number=1).distances_ft == [8.0]
    old = bo.get(reverse("pattern-version", args=[pattern.uuid, 1])).content.decode()
    assert "This is version 1. The newest is version 2." in old


def test_a_new_name_alone_makes_no_new_version(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    rows = [(band[0], band[1]) for band in BANDS]
    data = posted(rows, version="1", name="Weir", **{"column-count": "1"})
    bo.post(reverse("pattern-edit", args=[pattern.uuid]), data)
    pattern.refresh_from_db()
    assert pattern.name == "Weir" and pattern.version == 2 and pattern.versions.count() == 1


def test_a_stale_edit_is_refused_and_keeps_what_was_typed(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    edit = reverse("pattern-edit", args=[pattern.uuid])
    cast.client(cast.coach).post(edit, posted(version="1", name="Coach's own"))
    rows = [BANDS[0], ("8R-8L", "31", "12"), BANDS[2]]
    response = bo.post(edit, posted(rows, version="1"))
    page = response.content.decode()
    assert response.status_code == 409
    assert "Ada changed this pattern at " in page and "the saved version is 2" in page
    assert re.search(r"Name</th><td>Coach&#x27;s own</td><td>Willow Bend</td>", page)
    assert re.search(r"Oil: 25 cells, the first on 10L at 8 ft</th><td>20</td><td>31</td>", page)
    assert "Length, ft</th><td>" not in page
    assert value_of(response, "cell-1-0") == "31"
    assert pattern.versions.count() == 2
    # Told what changed, the person may save theirs on top, which hides nothing: both versions stay.
    assert bo.post(edit, posted(rows, version="2")).status_code == 302
    assert pattern.versions.count() == 3


def test_a_doubled_submission_makes_one_pattern(bo: Client) -> None:
    data = posted()
    first = bo.post(reverse("pattern-new"), data)
    second = bo.post(reverse("pattern-new"), data)
    assert first.url == second.url
    assert Pattern.objects.count() == 1 and PatternVersion.objects.count() == 1


def test_a_doubled_edit_makes_one_version(bo: Client, cast: Cast) -> None:
    pattern = make(cast)
    data = posted(version="1")
    for _ in range(2):
        assert bo.post(reverse("pattern-edit", args=[pattern.uuid]), data).status_code == 302
    assert pattern.versions.count() == 2


def test_a_second_tap_on_save_is_no_conflict_with_oneself(bo: Client, cast: Cast) -> None:
    """A new name alone makes no version that would remember the sending."""
    pattern = make(cast)
    edit = reverse("pattern-edit", args=[pattern.uuid])
    sent = posted(version="1", name="Renamed")
    assert [bo.post(edit, sent).status_code for _ in range(2)] == [302, 302]
    assert bo.post(edit, sent | {"shared_with_guests": "on"}).status_code == 409
    pattern.refresh_from_db()
    assert (pattern.version, pattern.name, pattern.shared_with_guests) == (2, "Renamed", False)


def test_a_page_sent_before_that_comes_again_with_other_values_is_not_called_saved(bo: Client) -> None:
    """The browser's back button brings back a form with the token of the pattern it made."""
    sent = posted()
    assert bo.post(reverse("pattern-new"), sent).status_code == 302
    again = bo.post(reverse("pattern-new"), sent | {"note": "slower now"})
    assert again.status_code == 400
    assert "What differs now is not saved: Note." in again.content.decode()
    pattern = Pattern.objects.get()
    edit = reverse("pattern-edit", args=[pattern.uuid])
    # The token of its making, with the version of now, is an edit like any other.
    assert bo.post(edit, sent | {"version": "1", "length_ft": "41"}).status_code == 302
    assert [version.length_ft for version in pattern.versions.all()] == [float(sent["length_ft"]), 41.0]


def test_a_token_of_another_team_reveals_and_changes_nothing(bo: Client, cast: Cast) -> None:
    parsed = parse_sheet(sheet())
    theirs, _ = create_pattern(cast.other_team, cast.outsider, uuid.uuid4(), Details("Secret"), parsed)
    response = bo.post(reverse("pattern-new"), posted(token=str(theirs.uuid)))
    assert response.status_code == 404 and "Secret" not in response.content.decode()
    mine = make(cast)
    edit = reverse("pattern-edit", args=[mine.uuid])
    assert bo.post(edit, posted(version="1", token=str(theirs.uuid))).status_code == 404
    mine.refresh_from_db()
    assert mine.version == 1 and Pattern.objects.filter(team=cast.team).count() == 1


# Sections, and who may see -------------------------------------------------------------------------------


def test_cross_sections_are_drawn_where_asked(bo: Client, cast: Cast) -> None:
    page = reverse("pattern", args=[make(cast).uuid])
    shown = bo.get(page, {"at": ["12.5", "30"]}).content.decode()
    assert shown.count('class="picture film-section"') == 2 and "At 12.5 ft" in shown
    wrong = bo.get(page, {"at": ["61", "x", "nan"]}).content.decode()
    assert "Distance “61” is not shown: 0 to 60 ft allowed." in wrong and "“nan”" in wrong


def test_team_mates_see_a_pattern_and_others_get_the_same_404_as_for_none(cast: Cast) -> None:
    pattern = make(cast)
    for person in (cast.coach, cast.bo, cast.lin):
        assert cast.client(person).get(reverse("pattern", args=[pattern.uuid])).status_code == 200
    for person in (cast.outsider, cast.guest):
        client = cast.client(person)
        for name, args in (
            ("pattern", []),
            ("pattern-edit", []),
            ("pattern-version", [1]),
            ("pattern-csv", [1]),
        ):
            real = client.get(reverse(name, args=[pattern.uuid, *args]))
            none = client.get(reverse(name, args=[uuid.uuid4(), *args]))
            assert (real.status_code, none.status_code) == (404, 404)
            assert pattern.name not in real.content.decode()
        assert pattern.name not in client.get(reverse("patterns")).content.decode()
    assert Client().get(reverse("pattern", args=[pattern.uuid])).status_code == 302


def test_the_list_is_of_the_team_one_looks_at(cast: Cast) -> None:
    make(cast)
    Membership.objects.create(team=cast.other_team, person=cast.bo, role=Role.PLAYER)
    bo = cast.client(cast.bo)
    assert "Willow Bend" in bo.get(reverse("patterns")).content.decode()
    bo.post(reverse("team-switch"), {"team": str(cast.other_team.uuid)})
    assert "Willow Bend" not in bo.get(reverse("patterns")).content.decode()


def test_a_guest_reads_what_is_shared_and_changes_nothing(cast: Cast) -> None:
    pattern = make(cast, shared=True)
    guest = cast.client(cast.guest)
    assert "Willow Bend" in guest.get(reverse("patterns")).content.decode()
    assert guest.get(reverse("pattern", args=[pattern.uuid])).status_code == 200
    assert guest.get(reverse("pattern-csv", args=[pattern.uuid, 1])).status_code == 200
    edit = reverse("pattern-edit", args=[pattern.uuid])
    for name in (edit, reverse("pattern-new")):
        assert guest.get(name).status_code == 403
        assert guest.post(name, posted(version="1")).status_code == 403
    assert guest.post(reverse("pattern-parse"), posted()).status_code == 403
    assert pattern.versions.count() == 1 and Pattern.objects.count() == 1


def test_an_outsider_cannot_change_a_pattern(cast: Cast) -> None:
    pattern = make(cast)
    edit = reverse("pattern-edit", args=[pattern.uuid])
    assert cast.client(cast.outsider).post(edit, posted(version="1")).status_code == 404
    pattern.refresh_from_db()
    assert pattern.version == 1 and pattern.versions.count() == 1
