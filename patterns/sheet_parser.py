"""What was typed for a sheet, turned into numbers: the one place that form, paste, CSV and API go through.

Everything typed stays text in a `RawSheet`, so that a page can show it again exactly as it was. `parse_sheet`
answers with numbers or raises `SheetError` with every problem found, each naming the field, the value and
what is allowed.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from motion.boards import expand_band
from motion.errors import MotionError
from motion.film import Sheet, volume_warning
from motion.units import BOARDS

LENGTH_FT = (20.0, 60.0)
DISTANCE_FT = (0.0, 60.0)
MAX_DISTANCES = 20
MAX_ROWS = 60
MAX_PASSES = 40
# A reading beyond these is a slip of the keyboard: tape readings of 40 to 100 units are quoted (from memory).
OIL_MAX = {"units": 200.0, "ul": 300.0}
OIL_WORDS = {"units": "units", "ul": "µL per board and foot"}
OIL_KINDS = {"units": "units", "ul": "ul_per_board_ft"}
VOLUME_ML = (1.0, 100.0)
RATIO = (1.0, 30.0)
VISCOSITY_CP = (1.0, 500.0)
# Allowed in USBC competition at 70 °F (release of 21 November 2007). Outside it we keep it and say so.
VISCOSITY_RULE_CP = (12.0, 81.0)
PASS_LOADS = (1, 20)
PASS_UL = (0.1, 200.0)
DIRECTIONS = ("outward", "return")
BOARDS_ALLOWED = "1 to 39 counted from the right, or a side as 12R, or a band as 3L-5R allowed"
ENTRIES = ("table", "passes", "summary")

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_SURE_COMMA = re.compile(r"[+-]?(0?,\d+|\d+,\d{0,2}|\d+,\d{4,}|\d{4,},\d+)", re.ASCII)
_SHOWN = 40


@dataclass(frozen=True)
class Problem:
    """One thing wrong. `key` is the name of the input it stands in; `field` what the API calls it."""

    key: str
    field: str
    message: str


class SheetError(ValueError):
    """A sheet that cannot be read, with every problem found in it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(" ".join(problem.message for problem in self.problems))


@dataclass
class RawRow:
    """One row of the table as typed: a board or a band of boards, and its oil at each distance."""

    label: str
    cells: list[str]


@dataclass
class RawTable:
    distances: list[str] = field(default_factory=list)
    rows: list[RawRow] = field(default_factory=list)


@dataclass
class RawPass:
    """One pass as typed: loads times the volume per load on each board of a band, between two distances."""

    boards: str = ""
    loads: str = ""
    volume_ul: str = ""
    from_ft: str = ""
    to_ft: str = ""
    direction: str = "outward"

    def is_blank(self) -> bool:
        return not any(t.strip() for t in (self.boards, self.loads, self.volume_ul, self.from_ft, self.to_ft))


@dataclass
class RawSheet:
    """Everything typed about a sheet, as text."""

    entry: str = "table"
    unit: str = "units"
    length_ft: str = ""
    stated_volume_ml: str = ""
    ratio: str = ""
    viscosity_cp: str = ""
    lane_surface: str = ""
    source_note: str = ""
    table: RawTable = field(default_factory=RawTable)
    passes: list[RawPass] = field(default_factory=list)


@dataclass(frozen=True)
class PassNumbers:
    boards: str
    loads: int
    volume_ul: float
    from_ft: float
    to_ft: float
    direction: str


@dataclass(frozen=True)
class ParsedSheet:
    """The numbers. `oil` is (n, 39), boards from the right; empty unless `entry` is "table"."""

    entry: str
    unit: str
    length_ft: float
    distances_ft: tuple[float, ...]
    oil: tuple[tuple[float, ...], ...]
    passes: tuple[PassNumbers, ...]
    ratio: float | None
    stated_volume_ml: float | None
    viscosity_cp: float | None
    lane_surface: str
    source_note: str

    def as_motion_sheet(self) -> Sheet:
        return Sheet(
            length_ft=self.length_ft,
            distances_ft=list(self.distances_ft),  # type: ignore[arg-type]  # made an array there
            oil=[list(row) for row in self.oil],  # type: ignore[arg-type]
            oil_kind=OIL_KINDS[self.unit],
            stated_volume_ml=self.stated_volume_ml,
            viscosity_mpas=self.viscosity_cp,
        )


class _Bad(Exception):
    """Why one text is not the number asked for."""


def shown(text: str) -> str:
    """The value as a message quotes it: on one line and not without end."""
    flat = " ".join(text.split())
    return f"“{flat}”" if len(flat) <= _SHOWN else f"“{flat[: _SHOWN - 1]}…”"


def read_number(text: str, what: str, low: float, high: float, unit: str = "") -> float:
    """The number typed, or _Bad. A decimal comma is read where it cannot mean thousands."""
    allowed = f"{low:g} to {high:g}{' ' + unit if unit else ''} allowed"
    plain = text.strip().replace("\u2212", "-")
    if not plain:
        raise _Bad(f"{what} is empty: {allowed}.")
    if not _NUMBER.fullmatch(plain):
        raise _Bad(f"{what}: {shown(text)} is not a number, {allowed}.")
    if "," in plain and not _SURE_COMMA.fullmatch(plain):
        point = plain.replace(",", ".")
        raise _Bad(
            f"{what}: {shown(text)} may mean {point} or {plain.replace(',', '')}; write the one meant."
        )
    value = float(plain.replace(",", "."))
    if not math.isfinite(value) or not low <= value <= high:
        raise _Bad(f"{what}: {shown(text)} is not allowed, {allowed}.")
    return value + 0.0  # -0 is 0


def side_name(board: int) -> str:
    """A board counted from the right as a reader of either hand knows it: 12R, 20, 12L."""
    if board == 20:
        return "20"
    return f"{board}R" if board < 20 else f"{BOARDS + 1 - board}L"


def all_labels() -> list[str]:
    return [side_name(board) for board in range(1, BOARDS + 1)]


class _Reader:
    """Collects problems while reading, so that all of them are shown at once."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def note(self, key: str, name: str, message: str) -> None:
        self.problems.append(Problem(key, name, message))

    def number(
        self, key: str, name: str, text: str, what: str, span: tuple[float, float], unit: str = ""
    ) -> float:
        """The number, or nan with a problem noted."""
        try:
            return read_number(text, what, span[0], span[1], unit)
        except _Bad as bad:
            self.note(key, name, str(bad))
            return math.nan

    def optional(
        self, name: str, text: str, what: str, span: tuple[float, float], unit: str = "", needed: bool = False
    ) -> float | None:
        if not text.strip() and not needed:
            return None
        return self.number(name, name, text, what, span, unit)

    def choice(self, name: str, text: str, what: str, allowed: Sequence[str]) -> str:
        if text not in allowed:
            self.note(name, name, f"{what}: {shown(text)} is not allowed, only {', '.join(allowed)}.")
            return allowed[0]
        return text

    def stop_if_any(self) -> None:
        if self.problems:
            raise SheetError(self.problems)


def parse_sheet(raw: RawSheet) -> ParsedSheet:
    """The sheet as numbers; raises SheetError with all that is wrong."""
    reader = _Reader()
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
    for name, text, most in (("lane_surface", raw.lane_surface, 40), ("source_note", raw.source_note, 300)):
        if len(text) > most:
            what = name.replace("_", " ").capitalize()
            reader.note(name, name, f"{what}: {len(text)} characters given, up to {most} allowed.")
        if "\x00" in text:
            reader.note(name, name, "Null characters are not allowed.")
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


def trimmed(table: RawTable) -> RawTable:
    """The table without rows and columns in which nothing was typed but a label."""
    used = [
        j
        for j in range(max([len(table.distances), *(len(row.cells) for row in table.rows)], default=0))
        if _at(table.distances, j).strip() or any(_at(row.cells, j).strip() for row in table.rows)
    ]
    return RawTable(
        distances=[_at(table.distances, j) for j in used],
        rows=[RawRow(row.label, [_at(row.cells, j) for j in used]) for row in table.rows],
    )


def _at(texts: Sequence[str], index: int) -> str:
    return texts[index] if index < len(texts) else ""


def _read_table(
    reader: _Reader, table: RawTable, unit: str, length: float
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


def _read_distances(reader: _Reader, table: RawTable, columns: list[int], length: float) -> list[float]:
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


def _read_labels(reader: _Reader, rows: list[tuple[int, RawRow]]) -> dict[int, tuple[int, ...]]:
    boards_of: dict[int, tuple[int, ...]] = {}
    owner: dict[int, str] = {}
    for i, row in rows:
        key = f"label-{i}"
        try:
            boards = read_band(row.label)
        except _Bad as bad:
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
        message = f"{len(owner)} boards given, all 39 are needed: no oil for {_runs(missing)}."
        reader.note("table", "oil", message)
    return boards_of


def read_band(text: str) -> tuple[int, ...]:
    """The boards of "12", "12R", "3L-5R" or "8-32", counted from the right, or _Bad."""
    if not text.strip():
        raise _Bad(f"Boards are not named: {BOARDS_ALLOWED}.")
    try:
        if not text.isascii() and "–" not in text:
            raise MotionError("boards", text, "")
        return expand_band(text)
    except MotionError:
        raise _Bad(f"Boards {shown(text)}: {BOARDS_ALLOWED}.") from None


def boards_or_none(text: str) -> tuple[int, ...] | None:
    """The boards a label names, or None where it names none."""
    try:
        return read_band(text)
    except _Bad:
        return None


def _runs(boards: list[int]) -> str:
    """Rising boards as runs: 1R-4R, 9R."""
    runs: list[list[int]] = []
    for board in boards:
        if runs and board == runs[-1][-1] + 1:
            runs[-1].append(board)
        else:
            runs.append([board])
    names = (
        side_name(run[0]) if len(run) == 1 else f"{side_name(run[0])}-{side_name(run[-1])}" for run in runs
    )
    return ", ".join(names)


def _read_cell(
    reader: _Reader, place: tuple[int, int], row: RawRow, unit: str, distance: float, length: float
) -> float:
    i, j = place
    key = f"cell-{i}-{j}"
    text = _at(row.cells, j)
    many = len(row.label) > 3 or "-" in row.label
    who = f"{'Boards' if many else 'Board'} {row.label.strip()[:_SHOWN] or f'in row {i + 1}'}"
    where = f"{who} at {distance:g} ft" if not math.isnan(distance) else f"{who}, column {j + 1}"
    if not text.strip():
        reader.note(key, "oil", f"{where} is empty: type 0 where there is no oil.")
        return math.nan
    value = reader.number(key, "oil", text, where, (0.0, OIL_MAX[unit]), OIL_WORDS[unit])
    if value > 0 and distance > length:
        message = f"{where}: {shown(text)} lies beyond the stated length of {length:g} ft, only 0 allowed."
        reader.note(key, "oil", message)
    return value


def _read_passes(reader: _Reader, typed: list[RawPass], length: float) -> tuple[PassNumbers, ...]:
    rows = [(i, row) for i, row in enumerate(typed) if not row.is_blank()]
    if not rows:
        reader.note("passes", "passes", "No pass is given: at least one is needed.")
    if len(rows) > MAX_PASSES:
        reader.note("passes", "passes", f"{len(rows)} passes given, up to {MAX_PASSES} allowed.")
        return ()
    return tuple(_read_pass(reader, i, row, length) for i, row in rows)


def _read_pass(reader: _Reader, i: int, row: RawPass, length: float) -> PassNumbers:
    what = f"Pass {i + 1}"

    def number(name: str, text: str, words: str, span: tuple[float, float], unit: str = "") -> float:
        return reader.number(f"pass-{i}-{name}", "passes", text, f"{what}, {words}", span, unit)

    try:
        read_band(row.boards)
    except _Bad as bad:
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
