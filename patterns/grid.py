"""Edits of the raw table that a page offers: more rows, other bands, one side copied. Text stays text."""

from patterns.sheet_reader import all_labels, boards_or_none, side_name
from patterns.sheet_types import RawRow, RawTable

# A new sheet starts with bands that keep apart what the published ratio compares.
FIRST_BANDS = ("1R-2R", "3R-7R", "8R-12R", "13R-17R", "18R-18L", "17L-13L", "12L-8L", "7L-3L", "2L-1L")
FIRST_COLUMNS = 3


def empty_table() -> RawTable:
    return RawTable([""] * FIRST_COLUMNS, [RawRow(label, [""] * FIRST_COLUMNS) for label in FIRST_BANDS])


def band_name(low: int, high: int) -> str:
    return side_name(low) if low == high else f"{side_name(low)}-{side_name(high)}"


def add_distance(table: RawTable) -> None:
    table.distances.append("")
    for row in table.rows:
        row.cells.append("")


def remove_distance(table: RawTable, column: int) -> None:
    if column < len(table.distances):
        del table.distances[column]
        for row in table.rows:
            del row.cells[column : column + 1]


def add_row(table: RawTable) -> None:
    table.rows.append(RawRow("", [""] * len(table.distances)))


def remove_row(table: RawTable, index: int) -> None:
    del table.rows[index : index + 1]


def every_board(table: RawTable) -> None:
    """One row for each board; a band's text goes to each of its boards, and what is no band stays below."""
    of_board: dict[int, RawRow] = {}
    rest = []
    for row in table.rows:
        boards = boards_or_none(row.label)
        if boards is None or any(board in of_board for board in boards):
            rest.append(row)
            continue
        for board in boards:
            of_board[board] = row
    empty = [""] * len(table.distances)
    table.rows = [
        RawRow(label, list(of_board[board].cells if board in of_board else empty))
        for board, label in enumerate(all_labels(), start=1)
    ] + [row for row in rest if row.label.strip() or any(row.cells)]


def as_bands(table: RawTable) -> None:
    """Neighbouring boards whose text is the same become one band."""
    single: dict[int, RawRow] = {}
    rest = []
    for row in table.rows:
        boards = boards_or_none(row.label)
        if boards is None or any(board in single for board in boards):
            rest.append(row)
        else:
            single.update(dict.fromkeys(boards, row))
    bands: list[list[int]] = []
    for board in sorted(single):
        last = bands[-1] if bands else None
        if last and last[-1] == board - 1 and single[last[0]].cells == single[board].cells:
            last.append(board)
        else:
            bands.append([board])
    table.rows = [RawRow(band_name(b[0], b[-1]), list(single[b[0]].cells)) for b in bands] + rest


def mirror_right_to_left(table: RawTable) -> None:
    """Copy rows right of the middle to the same boards on the left, adding rows where none match."""
    places = {boards_or_none(row.label): row for row in table.rows}
    for row in list(table.rows):
        boards = boards_or_none(row.label)
        if not boards or boards[-1] >= 20:
            continue
        mirrored = tuple(40 - board for board in reversed(boards))
        if mirrored in places:
            places[mirrored].cells = list(row.cells)
        else:
            table.rows.append(RawRow(band_name(mirrored[0], mirrored[-1]), list(row.cells)))
