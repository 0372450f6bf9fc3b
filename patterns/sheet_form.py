"""The entry form: what was posted, as the text it is, given back to the page with its problems."""

import re
import uuid
from dataclasses import dataclass, field
from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext_lazy as _

from patterns import grid
from patterns.models import Pattern, PatternVersion
from patterns.sheet_reader import all_labels
from patterns.sheet_text import read_file, table_from_text
from patterns.sheet_types import (
    MAX_DISTANCES,
    MAX_PASSES,
    MAX_ROWS,
    Problem,
    RawPass,
    RawRow,
    RawSheet,
    RawTable,
    SheetError,
)

PASS_FIELDS = ("boards", "loads", "volume_ul", "from_ft", "to_ft", "direction")
SHEET_FIELDS = (
    "entry",
    "unit",
    "length_ft",
    "stated_volume_ml",
    "ratio",
    "viscosity_cp",
    "lane_surface",
    "source_note",
)
SIDES = (("right", _("the right gutter")), ("left", _("the left gutter")))


class SheetFieldsForm(forms.Form):
    """The single fields. Numbers stay text here: `sheet_parser` reads them, as it does for the API."""

    # Needed on saving only: the form's other buttons must not complain of what is not typed yet.
    name = forms.CharField(label=_("Name"), max_length=80, required=False)
    length_ft = forms.CharField(
        label=_("Length, ft"), required=False, help_text=_("20 to 60; the oil ends there")
    )
    stated_volume_ml = forms.CharField(
        label=_("Volume, mL"), required=False, help_text=_("As the sheet states it, if it does")
    )
    viscosity_cp = forms.CharField(
        label=_("Viscosity, cP"),
        required=False,
        help_text=_("Of the conditioner at 70 °F, if known. A published rule allowed 12 to 81."),
    )
    lane_surface = forms.CharField(label=_("Lane surface"), required=False)
    source_note = forms.CharField(label=_("Source"), required=False, widget=forms.TextInput)
    entry = forms.ChoiceField(
        label=_("What you have"),
        choices=PatternVersion.Entry.choices,
        widget=forms.RadioSelect,
        required=False,
    )
    unit = forms.ChoiceField(label=_("Oil is given in"), choices=PatternVersion.Unit.choices, required=False)
    ratio = forms.CharField(
        label=_("Ratio, middle to outside"),
        required=False,
        help_text=_("Boards 18L–18R over boards 3–7: 3.5 means 3.5:1"),
    )
    paste = forms.CharField(
        label=_("Paste from a spreadsheet"),
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text=_(
            "Columns split by tab, semicolon or comma. Either each row is a distance and 39 values, or the "
            "first column names boards or bands (8-32, 3L-5R) and the first row the distances."
        ),
    )
    counted_from = forms.ChoiceField(label=_("Board 1 is at"), choices=SIDES, required=False)
    csv = forms.FileField(
        label=_("Or a CSV file"), required=False, widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv"})
    )
    note = forms.CharField(
        label=_("Note"), required=False, strip=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    shared_with_guests = forms.BooleanField(label=_("Guests may see it"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        for name in ("length_ft", "stated_volume_ml", "viscosity_cp", "ratio"):
            self.fields[name].widget.attrs["inputmode"] = "decimal"

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if not name and self.data.get("action", "save") == "save":
            raise forms.ValidationError(_("Name is empty: 1 to 80 characters allowed."))
        return name


@dataclass
class SheetEntry:
    """One state of the form: all that was typed, and what is wrong with it."""

    fields: SheetFieldsForm
    raw: RawSheet
    token: uuid.UUID
    version: int = 0
    problems: list[Problem] = field(default_factory=list)

    def show(self, error: SheetError) -> None:
        """Mark the problems where they stand."""
        self.problems += error.problems
        for problem in error.problems:
            if problem.key in self.fields.fields and self.fields.is_bound:
                self.fields.add_error(problem.key, problem.message)

    def messages(self, key: str) -> list[str]:
        return [problem.message for problem in self.problems if problem.key == key]

    def grid(self) -> dict[str, Any]:
        """The table with its problems, ready for the template."""
        table = self.raw.table
        rows = []
        for i, row in enumerate(table.rows):
            cells = [self._cell(f"cell-{i}-{j}", text) for j, text in enumerate(row.cells)]
            label = self._cell(f"label-{i}", row.label)
            reasons = [m for item in (label, *cells) for m in item["messages"]]
            rows.append({"label": label, "cells": cells, "reasons": reasons, "index": i})
        heads = [self._cell(f"distance-{j}", text) for j, text in enumerate(table.distances)]
        return {
            "heads": heads,
            "rows": rows,
            "reasons": [m for head in heads for m in head["messages"]],
            "general": self.messages("table"),
            "full": len(table.distances) >= MAX_DISTANCES,
        }

    def pass_rows(self) -> list[dict[str, Any]]:
        found = []
        for i, row in enumerate(self.raw.passes):
            cells = {name: self._cell(f"pass-{i}-{name}", getattr(row, name)) for name in PASS_FIELDS}
            found.append(
                {"index": i, "cells": cells, "reasons": [m for c in cells.values() for m in c["messages"]]}
            )
        return found

    def _cell(self, key: str, text: str) -> dict[str, Any]:
        return {"key": key, "text": text, "messages": self.messages(key)}


def read_post(data: QueryDict, files: MultiValueDict[str, Any] | None = None) -> SheetEntry:
    """All that was posted, whatever it is."""
    raw = RawSheet()
    for name in SHEET_FIELDS:
        setattr(raw, name, data.get(name, ""))
    raw.entry = raw.entry or "table"
    raw.unit = raw.unit or "units"
    columns = _count(data, "column-count", MAX_DISTANCES)
    raw.table = RawTable(
        [data.get(f"distance-{j}", "") for j in range(columns)],
        [
            RawRow(data.get(f"label-{i}", ""), [data.get(f"cell-{i}-{j}", "") for j in range(columns)])
            for i in range(_count(data, "row-count", MAX_ROWS))
        ],
    )
    raw.passes = [
        RawPass(*(data.get(f"pass-{i}-{name}", "") for name in PASS_FIELDS))
        for i in range(_count(data, "pass-count", MAX_PASSES))
    ]
    for row in raw.passes:
        row.direction = row.direction or "outward"
    return SheetEntry(
        fields=SheetFieldsForm(data, files),
        raw=raw,
        token=_token(data.get("token", "")),
        version=_count(data, "version", 2**31 - 1),
    )


def _count(data: QueryDict, name: str, most: int) -> int:
    text = data.get(name, "")
    return min(int(text), most) if re.fullmatch(r"[0-9]{1,10}", text) else 0


def _token(text: str) -> uuid.UUID:
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()


def blank_entry() -> SheetEntry:
    raw = RawSheet(table=grid.empty_table(), passes=[RawPass() for _ in range(3)])
    fields = SheetFieldsForm(initial={"entry": "table", "unit": "units", "counted_from": "right"})
    return SheetEntry(fields=fields, raw=raw, token=uuid.uuid4())


def entry_of(pattern: Pattern, version: PatternVersion | None) -> SheetEntry:
    """The form as it stands for an edit of a saved pattern."""
    entry = blank_entry()
    entry.version = pattern.version
    if version is not None:
        entry.raw = raw_of(version)
        initial = {name: getattr(entry.raw, name) for name in SHEET_FIELDS}
    else:
        initial = {}
    initial |= {
        "name": pattern.name,
        "note": pattern.note,
        "shared_with_guests": pattern.shared_with_guests,
        "counted_from": "right",
    }
    entry.fields = SheetFieldsForm(initial=initial)
    return entry


def plain(value: float | None) -> str:
    """A stored number as one would type it."""
    return "" if value is None else f"{value:.12g}"


def raw_of(version: PatternVersion) -> RawSheet:
    """A stored version as text again."""
    raw = RawSheet(
        entry=version.entry,
        unit=version.unit,
        length_ft=plain(version.length_ft),
        stated_volume_ml=plain(version.stated_volume_ml),
        ratio=plain(version.ratio),
        viscosity_cp=plain(version.viscosity_cp),
        lane_surface=version.lane_surface,
        source_note=version.source_note,
        table=grid.empty_table(),
        passes=[RawPass() for _ in range(3)],
    )
    if not version.is_reconstructed:
        raw.table = RawTable(
            [plain(d) for d in version.distances_ft],
            [
                RawRow(label, [plain(row[board]) for row in version.oil])
                for board, label in enumerate(all_labels())
            ],
        )
        grid.as_bands(raw.table)
    if version.passes:
        raw.passes = [
            RawPass(
                line["boards"],
                str(line["loads"]),
                plain(line["volume_ul"]),
                plain(line["from_ft"]),
                plain(line["to_ft"]),
                line["direction"],
            )
            for line in version.passes
        ]
    return raw


def take_text(entry: SheetEntry) -> None:
    """Fill the table from a pasted text or a chosen file; raises SheetError and then changes nothing."""
    data, files = cast(QueryDict, entry.fields.data), entry.fields.files
    upload = files.get("csv") if files else None
    pasted = data.get("paste", "")
    if upload is None and not pasted.strip():
        return
    try:
        text = read_file(upload) if upload is not None else pasted
        table = table_from_text(text, counted_from=data.get("counted_from", "right"))
    except SheetError as error:
        key = "csv" if upload is not None else "paste"
        raise SheetError([Problem(key, "text", p.message) for p in error.problems]) from error
    entry.raw.table = table
    entry.raw.entry = "table"
    # Once in the table the text must not be taken again over what is corrected there.
    entry.fields = SheetFieldsForm({**data.dict(), "paste": "", "entry": "table"})


def change(entry: SheetEntry, action: str) -> None:
    """Apply a button of the form other than save; an unknown one changes nothing."""
    table = entry.raw.table
    name, _, number = action.partition(":")
    index = int(number) if re.fullmatch(r"[0-9]{1,3}", number) else 0
    if name == "take-text":
        take_text(entry)
    elif name == "add-distance" and len(table.distances) < MAX_DISTANCES:
        grid.add_distance(table)
    elif name == "remove-distance":
        grid.remove_distance(table, index)
    elif name == "add-row" and len(table.rows) < MAX_ROWS:
        grid.add_row(table)
    elif name == "remove-row":
        grid.remove_row(table, index)
    elif name == "every-board":
        grid.every_board(table)
    elif name == "as-bands":
        grid.as_bands(table)
    elif name == "mirror":
        grid.mirror_right_to_left(table)
    elif name == "add-pass" and len(entry.raw.passes) < MAX_PASSES:
        entry.raw.passes.append(RawPass())
    elif name == "remove-pass":
        del entry.raw.passes[index : index + 1]
