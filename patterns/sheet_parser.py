"""What was typed for a sheet, turned into numbers: the one place that form, paste, CSV and API go through.

Everything typed stays text in a `RawSheet`, so that a page can show it again exactly as it was. `parse_sheet`
answers with numbers or raises `SheetError` with every problem found, each naming the field, the value and
what is allowed.
"""

import math
import re
from collections.abc import Sequence

from motion.errors import MotionError
from motion.film import volume_warning
from motion.units import BOARDS
from patterns.sheet_reader import SHOWN, Reader, Unreadable, read_band, runs_of, shown, side_name
from patterns.sheet_types import (
    DIRECTIONS,
    DISTANCE_FT,
    ENTRIES,
    LENGTH_FT,
    MAX_DISTANCES,
    MAX_PASSES,
    MAX_ROWS,
    OIL_MAX,
    OIL_WORDS,
    PASS_LOADS,
    PASS_UL,
    RATIO,
    VISCOSITY_CP,
    VISCOSITY_RULE_CP,
    VOLUME_ML,
    ParsedSheet,
    PassNumbers,
    Problem,
    RawPass,
    RawRow,
    RawSheet,
    RawTable,
    SheetError,
)


def parse_sheet(raw: RawSheet) -> ParsedSheet:
    """The sheet as numbers; raises SheetError with all that is wrong."""
    reader = Reader()
    entry = reader.choice("entry", raw.entry, "Kind of entry", ENTRIES)
    unit = reader.choice("unit", raw.unit, "Unit", tuple(OIL_MAX))
    length = reader.number("length_ft", "length_ft", raw.length_ft, "Length", LENGTH_FT, "ft")
    summary = entry == "summary"
    volume = reader.optional(
        "stated_volume_ml", raw.stated_volume_ml, "Volume", VOLUME_ML, "mL", needed=summary
    )
    viscosity = reader.optional("viscosity_cp", raw.viscosity_cp, "Viscosity", VISCOSITY_CP, "cP")
    ratio = reader.optional("ratio", raw.ratio, "Ratio", RATIO, needed=summary) if summary else None
    distances: tuple[float, ...] = ()
    oil: tuple[tuple[float, ...], ...] = ()
    passes: tuple[PassNumbers, ...] = ()
    if entry == "table":
        distances, oil = _read_table(reader, raw.table, unit, length)
    elif entry == "passes":
        passes = _read_passes(reader, raw.passes, length)
    _check_words(reader, "lane_surface", raw.lane_surface, 40)
    _check_words(reader, "source_note", raw.source_note, 300)
    reader.stop_if_any()
    parsed = ParsedSheet(
        entry=entry,
        unit=unit,
        length_ft=length,
        distances_ft=distances,
        oil=oil,
        passes=passes,
        ratio=ratio,
        stated_volume_ml=volume,
        viscosity_cp=viscosity,
        lane_surface=raw.lane_surface.strip(),
        source_note=raw.source_note.strip(),
    )
    if entry == "table":
        try:
            parsed.as_motion_sheet()
        except MotionError as error:  # the engine has the last word on what a sheet is
            raise SheetError([Problem("table", "oil", f"{error}.")]) from error
    return parsed


def _check_words(reader: Reader, name: str, text: str, most: int) -> None:
    what = name.replace("_", " ").capitalize()
    if len(text) > most:
        reader.note(name, name, f"{what}: {len(text)} characters given, up to {most} allowed.")
    if "\x00" in text:
        reader.note(name, name, f"{what}: null characters are not allowed.")


def warnings(parsed: ParsedSheet) -> list[str]:
    """What is said about a sheet that is kept all the same."""
    said = []
    if parsed.entry == "table":
        apart = volume_warning(parsed.as_motion_sheet())
        if apart:
            said.append(apart)
    low, high = VISCOSITY_RULE_CP
    if parsed.viscosity_cp is not None and not low <= parsed.viscosity_cp <= high:
        said.append(
            f"Viscosity {parsed.viscosity_cp:g} cP is outside the {low:g} to {high:g} cP at 70 °F that a "
            "published rule allowed in competition (release of 21 November 2007); the rule book decides."
        )
    return said


def _at(texts: Sequence[str], index: int) -> str:
    return texts[index] if index < len(texts) else ""


def _read_table(
    reader: Reader, table: RawTable, unit: str, length: float
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    columns = [
        j
        for j in range(max([len(table.distances), *(len(row.cells) for row in table.rows)], default=0))
        if _at(table.distances, j).strip() or any(_at(row.cells, j).strip() for row in table.rows)
    ]
    rows = [
        (i, row) for i, row in enumerate(table.rows) if row.label.strip() or any(t.strip() for t in row.cells)
    ]
    if not columns:
        reader.note(
            "table", "distances_ft", "The table is empty: at least one distance with its oil is needed."
        )
        return (), ()
    if len(columns) > MAX_DISTANCES:
        reader.note(
            "table", "distances_ft", f"{len(columns)} distances given, up to {MAX_DISTANCES} allowed."
        )
        return (), ()
    if len(rows) > MAX_ROWS:
        reader.note("table", "oil", f"{len(rows)} rows given, up to {MAX_ROWS} allowed.")
        return (), ()
    distances = _read_distances(reader, table, columns, length)
    boards_of = _read_labels(reader, rows)
    oil = [[math.nan] * BOARDS for _ in columns]
    for i, row in rows:
        for place, j in enumerate(columns):
            value = _read_cell(reader, (i, j), row, unit, distances[place], length)
            for board in boards_of.get(i, ()):
                oil[place][board - 1] = value
    return tuple(distances), tuple(tuple(values) for values in oil)


def _read_distances(reader: Reader, table: RawTable, columns: list[int], length: float) -> list[float]:
    found: list[float] = []
    for j in columns:
        text = re.sub(r"\s*(ft|feet|'|′)\.?\s*$", "", _at(table.distances, j), flags=re.IGNORECASE)
        key = f"distance-{j}"
        value = reader.number(key, "distances_ft", text, f"Distance {j + 1}", DISTANCE_FT, "ft")
        earlier = [d for d in found if not math.isnan(d)]
        if earlier and value == earlier[-1]:
            reader.note(key, "distances_ft", f"Distance {j + 1}: {value:g} ft is there twice, allowed once.")
        elif earlier and value < earlier[-1]:
            message = (
                f"Distance {j + 1}: {value:g} ft follows {earlier[-1]:g} ft; only rising order is allowed."
            )
            reader.note(key, "distances_ft", message)
        found.append(value)
    known = [d for d in found if not math.isnan(d)]
    if known and not math.isnan(length) and min(known) > length:
        message = f"Every distance lies beyond the stated length of {length:g} ft; one within it is needed."
        reader.note(f"distance-{columns[0]}", "distances_ft", message)
    return found


def _read_labels(reader: Reader, rows: list[tuple[int, RawRow]]) -> dict[int, tuple[int, ...]]:
    boards_of: dict[int, tuple[int, ...]] = {}
    owner: dict[int, str] = {}
    for i, row in rows:
        key = f"label-{i}"
        try:
            boards = read_band(row.label)
        except Unreadable as bad:
            reader.note(key, "oil", str(bad))
            continue
        twice = [board for board in boards if board in owner]
        if twice:
            first = owner[twice[0]]
            name = side_name(twice[0])
            message = f"Boards {shown(row.label)}: board {name} is already in {shown(first)}, allowed once."
            reader.note(key, "oil", message)
        for board in boards:
            owner.setdefault(board, row.label)
        boards_of[i] = boards
    missing = [board for board in range(1, BOARDS + 1) if board not in owner]
    if missing and len(boards_of) == len(rows):
        message = f"{len(owner)} boards given, all 39 are needed: no oil for {runs_of(missing)}."
        reader.note("table", "oil", message)
    return boards_of


def _read_cell(
    reader: Reader, place: tuple[int, int], row: RawRow, unit: str, distance: float, length: float
) -> float:
    i, j = place
    key = f"cell-{i}-{j}"
    text = _at(row.cells, j)
    many = len(row.label) > 3 or "-" in row.label
    who = f"{'Boards' if many else 'Board'} {row.label.strip()[:SHOWN] or f'in row {i + 1}'}"
    where = f"{who} at {distance:g} ft" if not math.isnan(distance) else f"{who}, column {j + 1}"
    if not text.strip():
        reader.note(key, "oil", f"{where} is empty: type 0 where there is no oil.")
        return math.nan
    value = reader.number(key, "oil", text, where, (0.0, OIL_MAX[unit]), OIL_WORDS[unit])
    if value > 0 and distance > length:
        message = f"{where}: {shown(text)} lies beyond the stated length of {length:g} ft, only 0 allowed."
        reader.note(key, "oil", message)
    return value


def _read_passes(reader: Reader, typed: list[RawPass], length: float) -> tuple[PassNumbers, ...]:
    rows = [(i, row) for i, row in enumerate(typed) if not row.is_blank()]
    if not rows:
        reader.note("passes", "passes", "No pass is given: at least one is needed.")
    if len(rows) > MAX_PASSES:
        reader.note("passes", "passes", f"{len(rows)} passes given, up to {MAX_PASSES} allowed.")
        return ()
    return tuple(_read_pass(reader, i, row, length) for i, row in rows)


def _read_pass(reader: Reader, i: int, row: RawPass, length: float) -> PassNumbers:
    what = f"Pass {i + 1}"

    def number(name: str, text: str, words: str, span: tuple[float, float], unit: str = "") -> float:
        return reader.number(f"pass-{i}-{name}", "passes", text, f"{what}, {words}", span, unit)

    try:
        read_band(row.boards)
    except Unreadable as bad:
        reader.note(f"pass-{i}-boards", "passes", f"{what}: {bad}")
    loads = number("loads", row.loads.strip() or "1", "loads", PASS_LOADS)
    if not math.isnan(loads) and loads != int(loads):
        message = f"{what}, loads: {shown(row.loads)} is not a whole number, 1 to {PASS_LOADS[1]} allowed."
        reader.note(f"pass-{i}-loads", "passes", message)
    volume = number("volume_ul", row.volume_ul, "volume per board and load", PASS_UL, "µL")
    start = number("from_ft", row.from_ft, "start", DISTANCE_FT, "ft")
    end = number("to_ft", row.to_ft, "end", DISTANCE_FT, "ft")
    if start == end:
        reader.note(
            f"pass-{i}-to_ft", "passes", f"{what}: starts and ends at {start:g} ft; two distances are needed."
        )
    for name, value in (("from_ft", start), ("to_ft", end)):
        if value > length:
            message = (
                f"{what}: {value:g} ft lies beyond the stated length of {length:g} ft, up to that allowed."
            )
            reader.note(f"pass-{i}-{name}", "passes", message)
    direction = row.direction
    if direction not in DIRECTIONS:
        message = f"{what}, direction: {shown(direction)} is not allowed, only {' or '.join(DIRECTIONS)}."
        reader.note(f"pass-{i}-direction", "passes", message)
    return PassNumbers(
        row.boards.strip(), 0 if math.isnan(loads) else int(loads), volume, start, end, direction
    )
