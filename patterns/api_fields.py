"""What the API takes for a sheet. Numbers stay text until `sheet_parser` reads them, as on the page."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from arsenal.api_base import LARGEST_VERSION, OwnRelated
from arsenal.models import Team
from patterns.models import PatternVersion
from patterns.sheet_reader import all_labels, shown
from patterns.sheet_text import MAX_BYTES, table_from_text
from patterns.sheet_types import (
    DIRECTIONS,
    MAX_DISTANCES,
    Problem,
    RawPass,
    RawRow,
    RawSheet,
    RawTable,
    SheetError,
)

NUMBER = {"oneOf": [{"type": "number"}, {"type": "string"}]}
SINGLE = (
    "entry",
    "unit",
    "length_ft",
    "stated_volume_ml",
    "ratio",
    "viscosity_cp",
    "lane_surface",
    "source_note",
)
TABLE = ("distances_ft", "oil", "rows", "text")


@extend_schema_field(NUMBER)
class Typed(serializers.Field):  # type: ignore[type-arg]
    """A number, or the text of one, kept as text."""

    default_error_messages = {"invalid": "“{value}” is not a number or the text of one."}

    def to_internal_value(self, data: Any) -> str:
        if isinstance(data, bool) or not isinstance(data, int | float | str):
            self.fail("invalid", value=str(data)[:40])
        return str(data)

    def to_representation(self, value: Any) -> Any:
        return value


def _choice(choices: Any) -> serializers.ChoiceField:
    names = [str(choice[0] if isinstance(choice, tuple) else choice) for choice in choices]
    words = f"“{{input}}” is not allowed, only {', '.join(names)}."
    return serializers.ChoiceField(choices=choices, required=False, error_messages={"invalid_choice": words})


class RowSerializer(serializers.Serializer[Any]):
    boards = serializers.CharField(max_length=20, help_text="A board or a band: 12, 12R, 8-32, 3L-5R.")
    oil = serializers.ListField(child=Typed(), max_length=MAX_DISTANCES)


class PassSerializer(serializers.Serializer[Any]):
    boards = serializers.CharField(max_length=20, help_text="A band such as 2L-2R.")
    loads = Typed(required=False, help_text="1 if left out.")
    volume_ul = Typed(help_text="Microlitres on each board, per load.")
    from_ft = Typed()
    to_ft = Typed()
    direction = _choice(DIRECTIONS)


class PatternInput(serializers.Serializer[Any]):
    """A pattern and its sheet; the table comes as `oil`, as `rows` of boards or bands, or as `text`."""

    uuid = serializers.UUIDField(
        required=False, help_text="Choose your own; sending the same one again finds the first."
    )
    version = serializers.IntegerField(
        required=False,
        min_value=1,
        max_value=LARGEST_VERSION,
        help_text="Required to change a pattern: the version you read. A newer one gives 409.",
    )
    team = OwnRelated(
        Team,
        readable=True,
        required=False,
        help_text="Said when a pattern is made and fixed from then on; left out: the team you look at now.",
    )
    name = serializers.CharField(min_length=1, max_length=80)
    note = serializers.CharField(required=False, allow_blank=True, max_length=5000, trim_whitespace=False)
    shared_with_guests = serializers.BooleanField(required=False)
    entry = _choice(PatternVersion.Entry.choices)
    unit = _choice(PatternVersion.Unit.choices)
    length_ft = Typed(help_text="Feet, 20 to 60.")
    stated_volume_ml = Typed(required=False, allow_null=True)
    ratio = Typed(required=False, allow_null=True)
    viscosity_cp = Typed(required=False, allow_null=True)
    lane_surface = serializers.CharField(required=False, allow_blank=True, max_length=40)
    source_note = serializers.CharField(required=False, allow_blank=True, max_length=300)
    distances_ft = serializers.ListField(child=Typed(), required=False, max_length=MAX_DISTANCES)
    oil = serializers.ListField(
        child=serializers.ListField(child=Typed()),
        required=False,
        max_length=MAX_DISTANCES,
        help_text="One row for each distance, 39 boards from the right.",
    )
    rows = RowSerializer(many=True, required=False)
    text = serializers.CharField(required=False, max_length=MAX_BYTES, trim_whitespace=False)
    counted_from = _choice(("right", "left"))
    # A list field: with many=True the null would be allowed for each pass as well.
    passes = serializers.ListField(child=PassSerializer(), required=False, allow_null=True)

    def to_internal_value(self, data: Any) -> Any:
        try:
            return super().to_internal_value(data)
        except serializers.ValidationError as error:
            raise serializers.ValidationError(flat_errors(error.detail)) from None


def flat_errors(detail: Any) -> dict[str, list[str]]:
    """Messages by top field; where a message stood deeper, it says where and names its field."""
    if not isinstance(detail, Mapping):
        return {"non_field_errors": [str(message) for message in detail]}
    return {name: [f"{name}{words}" for words in _deep(messages)] for name, messages in detail.items()}


def _deep(detail: Any, path: str = "") -> list[str]:
    if isinstance(detail, Mapping):
        return [
            words
            for key, inner in detail.items()
            for words in _deep(inner, f"{path} {int(key) + 1}" if str(key).isdigit() else f"{path} {key}")
        ]
    if isinstance(detail, list):
        found = []
        for i, inner in enumerate(detail):
            deeper = isinstance(inner, Mapping | list)
            found += _deep(inner, f"{path} {i + 1}" if deeper else path)
        return found
    return [f"{path}: {detail}"]


def raw_from(data: Mapping[str, Any], base: RawSheet) -> RawSheet:
    """The sheet as typed, over what `base` holds; raises SheetError where the table has no shape."""
    for name in SINGLE:
        if name in data:
            setattr(base, name, data[name] if data[name] is not None else "")
    if "text" in data:
        base.table = table_from_text(data["text"], counted_from=data.get("counted_from", "right"))
    elif "rows" in data:
        rows = [RawRow(row["boards"], list(row["oil"])) for row in data["rows"]]
        base.table = RawTable(list(data.get("distances_ft", base.table.distances)), rows)
    elif "oil" in data:
        base.table = _table(list(data.get("distances_ft", base.table.distances)), data["oil"])
    elif "distances_ft" in data:
        base.table.distances = list(data["distances_ft"])
    if data.get("passes") is not None:
        base.passes = [_pass(line) for line in data["passes"]]
    return base


def _table(distances: list[str], oil: list[list[str]]) -> RawTable:
    if len(distances) != len(oil):
        words = f"oil: {len(oil)} rows given, one for each of the {len(distances)} distances needed."
        raise SheetError([Problem("table", "oil", words)])
    problems = []
    for distance, row in zip(distances, oil, strict=True):
        if len(row) != 39:
            words = f"oil at {shown(distance)} ft: {len(row)} boards given, exactly 39 needed."
            problems.append(Problem("table", "oil", words))
    if problems:
        raise SheetError(problems)
    labels = all_labels()
    return RawTable(distances, [RawRow(labels[k], [row[k] for row in oil]) for k in range(39)])


def _pass(line: Mapping[str, Any]) -> RawPass:
    return RawPass(
        boards=line["boards"],
        loads=line.get("loads", ""),
        volume_ul=line["volume_ul"],
        from_ft=line["from_ft"],
        to_ft=line["to_ft"],
        direction=line.get("direction", "outward"),
    )
