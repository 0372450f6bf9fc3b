"""What differs between a saved pattern and what somebody typed meanwhile: shown when an edit is stale."""

import copy
from dataclasses import dataclass
from itertools import zip_longest

from patterns import grid
from patterns.models import Pattern
from patterns.sheet_form import SHEET_FIELDS, SheetEntry, raw_of
from patterns.sheet_types import RawPass, RawSheet, RawTable

WORDS = {
    "entry": "Kind of entry",
    "unit": "Unit",
    "length_ft": "Length, ft",
    "stated_volume_ml": "Volume, mL",
    "ratio": "Ratio",
    "viscosity_cp": "Viscosity, cP",
    "lane_surface": "Lane surface",
    "source_note": "Source",
}


@dataclass(frozen=True)
class Difference:
    what: str
    saved: str
    typed: str


def differences(entry: SheetEntry, pattern: Pattern) -> list[Difference]:
    """Field by field, and the table by how many of its boards and distances differ."""
    typed_name, typed_note = entry.fields.data.get("name", ""), entry.fields.data.get("note", "")
    found = [Difference("Name", pattern.name, typed_name), Difference("Note", pattern.note, typed_note)]
    typed_shared = bool(entry.fields.data.get("shared_with_guests"))
    found.append(
        Difference("Guests may see it", _yes_or_no(pattern.shared_with_guests), _yes_or_no(typed_shared))
    )
    newest = pattern.versions.order_by("-number").first()
    if newest is not None:
        saved = raw_of(newest)
        for name in SHEET_FIELDS:
            found.append(Difference(WORDS[name], getattr(saved, name), getattr(entry.raw, name)))
        found += _tables(saved, entry.raw) + _passes(saved, entry.raw)
    return [item for item in found if _same(item.saved) != _same(item.typed)]


def _tables(saved: RawSheet, typed: RawSheet) -> list[Difference]:
    if saved.entry != "table" or typed.entry != "table":
        return []
    distances = (", ".join(table.distances).strip(", ") for table in (saved.table, typed.table))
    found = [Difference("Distances, ft", *distances)]
    before, after = _cells(saved.table), _cells(typed.table)
    changed = [key for key in before.keys() | after.keys() if before.get(key, "") != after.get(key, "")]
    if changed:
        board, distance = min(changed)
        words = f"{len(changed)} cells, the first on {board} at {distance} ft"
        values = (before.get((board, distance), ""), after.get((board, distance), ""))
        found.append(Difference(f"Oil: {words}", *values))
    return found


def _passes(saved: RawSheet, typed: RawSheet) -> list[Difference]:
    if saved.entry != "passes" or typed.entry != "passes":
        return []
    before, after = (
        [_pass_words(line) for line in sheet.passes if not line.is_blank()] for sheet in (saved, typed)
    )
    return [
        Difference(f"Pass {number}", was, now)
        for number, (was, now) in enumerate(zip_longest(before, after, fillvalue=""), start=1)
    ]


def _pass_words(line: RawPass) -> str:
    volume = f"{_same(line.loads) or '1'} × {_same(line.volume_ul)} µL"
    return (
        f"{line.boards.strip()}, {volume}, {_same(line.from_ft)} to {_same(line.to_ft)} ft, {line.direction}"
    )


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"


def _cells(table: RawTable) -> dict[tuple[str, str], str]:
    """Every cell by board and distance, with bands spread over their boards."""
    spread = copy.deepcopy(table)
    grid.every_board(spread)
    return {
        (row.label, _same(distance)): _same(text)
        for row in spread.rows
        for distance, text in zip(spread.distances, row.cells, strict=False)
        if distance.strip() or text.strip()
    }


def _same(text: str) -> str:
    """Text by its meaning: 40, 40.0 and 40,0 are one number."""
    plain = " ".join(text.split())
    try:
        return f"{float(plain.replace(',', '.')):.12g}"
    except ValueError:
        return plain
