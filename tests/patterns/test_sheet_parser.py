"""Typed text to numbers: every slip is named with field, value and what is allowed."""

import pytest
from django.core.files.base import ContentFile
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.boards import expand_band
from patterns.sheet_parser import parse_sheet, warnings
from patterns.sheet_reader import all_labels, boards_or_none, side_name
from patterns.sheet_text import decode, read_file, table_from_text
from patterns.sheet_types import ParsedSheet, RawPass, RawRow, RawSheet, RawTable, SheetError


def full_table(distances: list[str], cells: list[str]) -> RawTable:
    return RawTable(list(distances), [RawRow(label, list(cells)) for label in all_labels()])


def problems_of(raw: RawSheet) -> dict[str, str]:
    with pytest.raises(SheetError) as caught:
        parse_sheet(raw)
    return {problem.key: problem.message for problem in caught.value.problems}


def table_sheet(cell: str = "5", length: str = "40") -> RawSheet:
    """A good sheet but for board 12R at 22 ft, which holds `cell`."""
    table = full_table(["8", "22"], ["6", "5"])
    table.rows[11].cells[1] = cell
    return RawSheet(length_ft=length, table=table)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("5", 5),
        (" 5.5 ", 5.5),
        ("5,5", 5.5),
        ("0,125", 0.125),
        (",5", 0.5),
        ("12,25", 12.25),
        ("1e1", 10),
        ("-0", 0),
    ],
)
def test_numbers_are_read_as_people_write_them(typed: str, value: float) -> None:
    assert parse_sheet(table_sheet(typed)).oil[1][11] == value


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("oil", "Board 12R at 22 ft: “oil” is not a number, 0 to 200 units allowed."),
        ("-3", "Board 12R at 22 ft: “-3” is not allowed, 0 to 200 units allowed."),
        ("−3", "Board 12R at 22 ft: “−3” is not allowed, 0 to 200 units allowed."),
        ("201", "Board 12R at 22 ft: “201” is not allowed, 0 to 200 units allowed."),
        ("nan", "Board 12R at 22 ft: “nan” is not a number, 0 to 200 units allowed."),
        ("1e999", "Board 12R at 22 ft: “1e999” is not allowed, 0 to 200 units allowed."),
        ("", "Board 12R at 22 ft is empty: type 0 where there is no oil."),
        ("1,234", "Board 12R at 22 ft: “1,234” may mean 1.234 or 1234; write the one meant."),
        ("1.234,5", "Board 12R at 22 ft: “1.234,5” is not a number, 0 to 200 units allowed."),
        ("٣", "Board 12R at 22 ft: “٣” is not a number, 0 to 200 units allowed."),
    ],
)
def test_a_bad_cell_is_named_where_it_stands(typed: str, words: str) -> None:
    assert problems_of(table_sheet(typed)) == {"cell-11-1": words}


def test_every_bad_cell_is_marked_at_once() -> None:
    raw = table_sheet("x")
    raw.table.rows[0].cells[0] = "y"
    assert set(problems_of(raw)) == {"cell-11-1", "cell-0-0"}


def test_oil_beyond_the_stated_length_is_refused() -> None:
    raw = RawSheet(length_ft="38", table=full_table(["8", "39"], ["6", "0"]))
    assert parse_sheet(raw).length_ft == 38
    raw.table.rows[3].cells[1] = "2"
    message = "Board 4R at 39 ft: “2” lies beyond the stated length of 38 ft, only 0 allowed."
    assert problems_of(raw) == {"cell-3-1": message}


@pytest.mark.parametrize("length", ["19.9", "60.5", "", "forty"])
def test_length_outside_20_to_60_feet_is_refused(length: str) -> None:
    message = problems_of(table_sheet(length=length))["length_ft"]
    assert message.startswith("Length") and "20 to 60 ft allowed" in message


def test_distances_must_rise_and_stand_once() -> None:
    table = full_table(["8", "22", "8"], ["6", "5", "4"])
    message = "Distance 3: 8 ft follows 22 ft; only rising order is allowed."
    assert problems_of(RawSheet(length_ft="40", table=table)) == {"distance-2": message}
    table.distances = ["8", "8", "22"]
    message = "Distance 2: 8 ft is there twice, allowed once."
    assert problems_of(RawSheet(length_ft="40", table=table)) == {"distance-1": message}


def test_38_boards_are_too_few_and_the_missing_one_is_named() -> None:
    raw = table_sheet()
    del raw.table.rows[36]
    assert problems_of(raw) == {"table": "38 boards given, all 39 are needed: no oil for 3L."}


def test_a_board_given_twice_is_refused() -> None:
    raw = table_sheet()
    raw.table.rows[36].label = "3R"
    assert "board 3R is already in “3R”, allowed once" in problems_of(raw)["label-36"]


def test_bands_expand_to_boards_counted_from_the_right() -> None:
    """Worked by hand: 3L is board 37 and 5R board 5, so 3L-5R is 5 to 37; 8-32 counts from the right."""
    assert boards_or_none("3L-5R") == tuple(range(5, 38))
    assert boards_or_none("8-32") == tuple(range(8, 33))
    assert boards_or_none("18L-18R") == (18, 19, 20, 21, 22)
    assert boards_or_none("0-4") is None
    assert boards_or_none("40") is None
    rows = [RawRow("1R-4R", ["2"]), RawRow("3L-5R", ["9"]), RawRow("1L-2L", ["3"])]
    oil = parse_sheet(RawSheet(length_ft="40", table=RawTable(["0"], rows))).oil[0]
    assert oil == (2.0,) * 4 + (9.0,) * 33 + (3.0,) * 2


def test_side_names_turn_round_at_the_middle_board() -> None:
    assert [side_name(board) for board in (1, 19, 20, 21, 39)] == ["1R", "19R", "20", "19L", "1L"]
    assert [expand_band(label) for label in all_labels()] == [(board,) for board in range(1, 40)]


def test_blank_rows_and_columns_are_no_mistake() -> None:
    raw = table_sheet()
    raw.table.distances.append("")
    for row in raw.table.rows:
        row.cells.append(" ")
    raw.table.rows.append(RawRow("", ["", "", ""]))
    assert parse_sheet(raw).distances_ft == (8.0, 22.0)


def test_more_distances_than_allowed_are_counted_in_the_message() -> None:
    table = full_table([str(d) for d in range(21)], ["1"] * 21)
    message = "21 distances given, up to 20 allowed."
    assert problems_of(RawSheet(length_ft="40", table=table)) == {"table": message}


def test_viscosity_outside_the_published_rule_is_said_and_kept() -> None:
    """12 to 81 cP at 70 °F: release of 21 November 2007 (found)."""
    raw = table_sheet()
    raw.viscosity_cp = "81"
    assert warnings(parse_sheet(raw)) == []
    raw.viscosity_cp = "81.5"
    assert "81.5 cP is outside the 12 to 81 cP" in warnings(parse_sheet(raw))[0]
    raw.viscosity_cp = "0"
    assert problems_of(raw) == {"viscosity_cp": "Viscosity: “0” is not allowed, 1 to 500 cP allowed."}


def test_a_stated_volume_more_than_5_percent_off_is_said() -> None:
    """10 units on 39 boards over 40 ft: 10 x 0.0167 mL/ft2 x (41.5/12 ft x 40 ft), unit from memory."""
    true_ml = 10 * 0.0167 * 41.5 / 12 * 40
    raw = RawSheet(length_ft="40", table=full_table(["0"], ["10"]))
    raw.stated_volume_ml = f"{true_ml * 1.04:.4f}"
    assert warnings(parse_sheet(raw)) == []
    raw.stated_volume_ml = f"{true_ml * 1.06:.4f}"
    (said,) = warnings(parse_sheet(raw))
    assert f"{true_ml:.4g} mL" in said and "5 %" in said


def test_a_summary_needs_volume_and_ratio() -> None:
    assert set(problems_of(RawSheet(entry="summary", length_ft="40"))) == {"stated_volume_ml", "ratio"}
    parsed = parse_sheet(RawSheet(entry="summary", length_ft="40", stated_volume_ml="25", ratio="3,5"))
    assert (parsed.stated_volume_ml, parsed.ratio) == (25.0, 3.5)


def test_passes_are_checked_field_by_field() -> None:
    bad = [
        RawPass("2L-40R", "1.5", "-1", "5", "45", "sideways"),
        RawPass(),
        RawPass("2L-2R", "", "40", "9", "9"),
    ]
    found = problems_of(RawSheet(entry="passes", length_ft="42", passes=bad))
    assert set(found) == {
        "pass-0-boards",
        "pass-0-loads",
        "pass-0-volume_ul",
        "pass-0-to_ft",
        "pass-0-direction",
        "pass-2-to_ft",
    }
    assert (
        found["pass-0-to_ft"] == "Pass 1: 45 ft lies beyond the stated length of 42 ft, up to that allowed."
    )
    assert found["pass-0-loads"] == "Pass 1, loads: “1.5” is not a whole number, 1 to 20 allowed."


def test_no_pass_at_all_is_refused() -> None:
    found = problems_of(RawSheet(entry="passes", length_ft="42", passes=[RawPass()]))
    assert found == {"passes": "No pass is given: at least one is needed."}


# Pasted text -------------------------------------------------------------------------------------------


def parsed_text(text: str, **more: str) -> ParsedSheet:
    return parse_sheet(RawSheet(length_ft="40", table=table_from_text(text, **more)))


@pytest.mark.parametrize("delimiter", ["\t", ";", ","])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r", "\n\n"])
def test_boards_across_with_distance_first(delimiter: str, ending: str) -> None:
    text = ending.join(delimiter.join([d, *(str(b) for b in range(1, 40))]) for d in ("0", "20"))
    parsed = parsed_text(text)
    assert parsed.distances_ft == (0.0, 20.0)
    assert parsed.oil[1] == tuple(float(b) for b in range(1, 40))


def test_boards_down_with_a_row_of_distances() -> None:
    text = "board\t0\t20\n" + "\n".join(f"{b}\t{b}\t{b / 2}" for b in range(39, 0, -1))
    parsed = parsed_text(text)
    assert parsed.oil[0][0] == 1 and parsed.oil[1][38] == 19.5


def test_bands_across_and_bands_down_mean_the_same() -> None:
    across = parsed_text("ft;1R-7R;8R-8L;7L-1L\n0;3,5;30;4\n20;2;20,25;3")
    down = parsed_text(";0;20\n1R-7R;3,5;2\n8R-8L;30;20,25\n7L-1L;4;3")
    assert across == down
    assert across.oil[0][0] == 3.5 and across.oil[1][19] == 20.25


def test_boards_counted_from_the_left_are_turned_round() -> None:
    line = "0;" + ";".join(str(b) for b in range(1, 40))
    assert parsed_text(line, counted_from="left").oil[0][0] == 39
    down = "board;0\n1-7;3\n8-39;9"
    assert parsed_text(down, counted_from="left").oil[0][38] == 3
    sided = "board;0\n1R-7R;3\n8R-1L;9"
    assert parsed_text(sided, counted_from="left").oil[0][0] == 3


def test_a_decimal_comma_in_quotes_is_read_between_commas() -> None:
    line = "0," + ",".join(['"1,5"'] * 39)
    assert parsed_text(line).oil[0] == (1.5,) * 39


def test_38_columns_are_refused_with_the_count() -> None:
    line = ";".join(["0", *["5"] * 38])
    with pytest.raises(
        SheetError, match="39 columns, which leaves 38 boards after the distance: 39 are needed"
    ):
        table_from_text(line)


def test_a_header_of_38_boards_names_the_missing_one() -> None:
    text = "ft;" + ";".join(str(b) for b in range(1, 39)) + "\n0;" + ";".join(["5"] * 38)
    with pytest.raises(SheetError, match="38 boards given, all 39 are needed: no oil for 1L"):
        parsed_text(text)


def test_distances_may_carry_their_unit() -> None:
    assert parsed_text("board;8 ft;22ft\n1-39;5;4").distances_ft == (8.0, 22.0)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_files_are_read_in_the_encodings_spreadsheets_write(encoding: str) -> None:
    assert decode("board;0\n1R–1L;5".encode(encoding)) == "board;0\n1R–1L;5"


def test_a_file_too_large_is_refused_by_size() -> None:
    with pytest.raises(SheetError, match="262,145 bytes, up to 262,144 allowed"):
        read_file(ContentFile(b"x" * (256 * 1024 + 1)))


# Nothing but its own error ------------------------------------------------------------------------------

cells = st.one_of(
    st.text(max_size=8), st.sampled_from(["5", "0", "1,5", "-1", "22", "1e400", "\x00", "3L-5R", "ft"])
)


@settings(max_examples=150, deadline=None)
@given(
    table=st.builds(
        RawTable,
        st.lists(cells, max_size=4),
        st.lists(st.builds(RawRow, cells, st.lists(cells, max_size=4)), max_size=6),
    ),
    passes=st.lists(st.builds(RawPass, cells, cells, cells, cells, cells, cells), max_size=3),
    words=st.lists(cells, min_size=8, max_size=8),
    entry=st.sampled_from(["table", "passes", "summary", "?"]),
)
def test_whatever_is_typed_ends_in_numbers_or_in_named_problems(
    table: RawTable, passes: list[RawPass], words: list[str], entry: str
) -> None:
    raw = RawSheet(entry, words[0], words[1], words[2], words[3], words[4], words[5], words[6], table, passes)
    try:
        parsed = parse_sheet(raw)
    except SheetError as error:
        assert error.problems and all(problem.message for problem in error.problems)
    else:
        assert 20 <= parsed.length_ft <= 60


@settings(max_examples=200, deadline=None)
@given(text=st.one_of(st.text(max_size=200), st.text(alphabet='0123456789,;.\t\n"LR-ft ', max_size=200)))
def test_whatever_is_pasted_ends_in_a_table_or_in_named_problems(text: str) -> None:
    try:
        table = table_from_text(text)
    except SheetError:
        return
    assert table.distances
    assert all(len(row.cells) == len(table.distances) for row in table.rows)


@settings(max_examples=60, deadline=None)
@given(content=st.binary(max_size=300))
def test_any_bytes_are_decoded(content: bytes) -> None:
    assert isinstance(decode(content), str)


@settings(max_examples=40, deadline=None)
@given(
    values=st.lists(st.lists(st.integers(0, 2000), min_size=39, max_size=39), min_size=1, max_size=4),
    comma=st.booleans(),
    down=st.booleans(),
)
def test_a_sheet_written_out_reads_back_the_same(values: list[list[int]], comma: bool, down: bool) -> None:
    """Tenths of a unit up to 200, written with point or comma, boards across or down."""

    def written(tenths: int) -> str:
        text = f"{tenths // 10}.{tenths % 10}"
        return text.replace(".", ",") if comma else text

    distances = [str(7 * k) for k in range(len(values))]
    grid = [[d, *map(written, row)] for d, row in zip(distances, values, strict=True)]
    if down:
        header = ["", *all_labels()]
        grid = [list(column) for column in zip(header, *grid, strict=True)]
    parsed = parsed_text("\n".join("\t".join(row) for row in grid))
    assert [list(row) for row in parsed.oil] == [[tenths / 10 for tenths in row] for row in values]
