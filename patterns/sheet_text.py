"""A table pasted from a spreadsheet or read from a CSV file, turned into the raw table of the entry form.

Two shapes are read: boards across (each row a distance, then 39 values; a first row with the boards or bands
is optional) and boards down (first column the boards or bands, first row the distances).
"""

import csv
import io
import re

from django.core.files import File

from patterns.sheet_reader import boards_or_none, side_name
from patterns.sheet_types import MAX_DISTANCES, MAX_ROWS, Problem, RawRow, RawTable, SheetError

MAX_BYTES = 256 * 1024
_DISTANCE_WORD = re.compile(r"\b(ft|feet|distance|dist)\b", re.IGNORECASE)
_BOARD_WORD = re.compile(r"\b(boards?|bands?)\b", re.IGNORECASE)
_PLAIN_BOARD = re.compile(r"\d{1,2}(\s*(-|–|to)\s*\d{1,2})?", re.ASCII)


def _refuse(message: str, key: str = "paste") -> SheetError:
    return SheetError([Problem(key, "text", message)])


def read_file(file: "File[bytes]") -> str:
    """The text of an uploaded file; one that is too large is refused before it is read."""
    if file.size > MAX_BYTES:
        raise _refuse(f"The file has {file.size:,} bytes, up to {MAX_BYTES:,} allowed.", key="csv")
    return decode(file.read())


def decode(content: bytes) -> str:
    """The text as spreadsheets write it: UTF-8, UTF-16 with a mark, else Western."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def table_from_text(text: str, *, counted_from: str = "right") -> RawTable:
    """The raw table in a delimited text; raises SheetError if its shape cannot be told.

    Boards without a side of their own are counted from `counted_from`.
    """
    if len(text) > MAX_BYTES:
        raise _refuse(f"The text has {len(text):,} characters, up to {MAX_BYTES:,} allowed.")
    lines = _split(text)
    if not lines:
        raise _refuse("Nothing was pasted: a distance and 39 values in each row are needed.")
    if _boards_down(lines):
        return _from_boards_down(lines, counted_from)
    return _from_boards_across(lines, counted_from)


def _split(text: str) -> list[list[str]]:
    plain = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n\ufeff")
    delimiter = next((mark for mark in ("\t", ";", ",") if mark in plain), " ")
    try:
        if delimiter == " ":
            lines = [line.split() for line in plain.split("\n")]
        else:
            lines = list(csv.reader(io.StringIO(plain), delimiter=delimiter))
    except csv.Error as error:
        raise _refuse(f"The text cannot be split into columns ({error}).") from error
    lines = [[cell.strip() for cell in line] for line in lines]
    lines = [line for line in lines if any(line)]
    # Spreadsheets end short rows with empty cells; only columns empty in every row are no columns.
    width = max((max(i + 1 for i, cell in enumerate(line) if cell) for line in lines), default=0)
    return [(line + [""] * width)[:width] for line in lines]


def _is_board(text: str) -> bool:
    return boards_or_none(text) is not None


def _covers_the_lane(labels: list[str]) -> bool:
    """All are boards or bands and, together, near enough a whole lane to be meant as one."""
    if not labels or not all(_is_board(label) for label in labels):
        return False
    boards = [board for label in labels for board in boards_or_none(label) or ()]
    return len(boards) >= 30 and len(set(boards)) >= 30


def _boards_down(lines: list[list[str]]) -> bool:
    corner = lines[0][0]
    first_column = [line[0] for line in lines[1:]]
    if _covers_the_lane(lines[0][1:]):
        return False
    if _covers_the_lane(first_column):
        return True
    if _BOARD_WORD.search(corner):
        return not _DISTANCE_WORD.search(corner)
    return any(_is_board(label) and not label.isdigit() for label in first_column)


def _sided(label: str, counted_from: str) -> str:
    """The board or band counted from the right, where it names no side itself."""
    named = boards_or_none(label)
    if counted_from != "left" or not _PLAIN_BOARD.fullmatch(label) or named is None:
        return label
    low, high = 40 - named[-1], 40 - named[0]
    return side_name(low) if low == high else f"{side_name(low)}-{side_name(high)}"


def _checked_counts(distances: int, rows: int) -> None:
    if distances > MAX_DISTANCES:
        raise _refuse(f"{distances} distances given, up to {MAX_DISTANCES} allowed.")
    if rows > MAX_ROWS:
        raise _refuse(f"{rows} rows of boards given, up to {MAX_ROWS} allowed.")


def _from_boards_down(lines: list[list[str]], counted_from: str) -> RawTable:
    distances = lines[0][1:]
    if not distances:
        raise _refuse("There is no column of oil: the first row needs the distances after its first cell.")
    _checked_counts(len(distances), len(lines) - 1)
    rows = [RawRow(_sided(line[0], counted_from), line[1:]) for line in lines[1:]]
    return RawTable(distances=distances, rows=rows)


def _from_boards_across(lines: list[list[str]], counted_from: str) -> RawTable:
    header = lines[0][1:]
    if not _looks_numeric(lines[0][0]):
        labels = [_sided(label, counted_from) for label in header]
        body = lines[1:]
        if not body:
            raise _refuse("There is a row of boards but no row of oil below it.")
    else:
        width = len(lines[0])
        if width != 40:
            raise _refuse(
                f"Each row has {width} columns, which leaves {width - 1} boards after the distance: 39 are "
                "needed. Bands need a first row that names them. Where a comma stands between columns "
                "a decimal comma cannot be told from it: use tabs or semicolons there."
            )
        boards = range(1, 40) if counted_from != "left" else range(39, 0, -1)
        labels = [side_name(board) for board in boards]
        body = lines
    _checked_counts(len(body), len(labels))
    rows = [RawRow(label, [line[k + 1] for line in body]) for k, label in enumerate(labels)]
    return RawTable(distances=[line[0] for line in body], rows=rows)


def _looks_numeric(text: str) -> bool:
    return bool(re.match(r"[+-]?[.,]?\d", text))
