"""The API of houses, dressings, events and blocks."""

from typing import Any
from uuid import uuid4

from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.exceptions import ValidationError as ApiError
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal.api import NamedPerson
from arsenal.api_base import LARGEST_VERSION, LimitedInteger, OwnRelated, uuid_or_none
from arsenal.limits import Limit
from arsenal.models import Team
from patterns.models import Pattern, PatternVersion
from sessions import record
from sessions.access_rules import dressing_to_undo, may_record
from sessions.api_recorded import (
    RecordedEditViewSet,
    RecordedSerializer,
    RecordedViewSet,
    answers,
)
from sessions.limits import LANE, LANES
from sessions.models import Block, Dressing, Event, EventWindow, House

STAMP = ("uuid", "version", "created_at", "updated_at")
SHEET_NUMBER = Limit("Pattern version", 1, LARGEST_VERSION, whole=True)


def filtered(*names: str) -> Any:
    """Say in the schema which lists can be narrowed by the uuid of what."""
    parameters = [
        OpenApiParameter(name, OpenApiTypes.UUID, description=f"Only those of this {name}.") for name in names
    ]
    return extend_schema_view(list=extend_schema(parameters=parameters))


def sheet_of(pattern: Pattern, number: int) -> PatternVersion:
    found = pattern.versions.filter(number=number).first()
    if found is None:
        raise ApiError(
            {"pattern_version": [f"Pattern version {number} is not allowed: not of this pattern."]}
        )
    return found


class HouseSerializer(RecordedSerializer):
    apart = ("lane_count",)
    fixed = ("team",)
    team = OwnRelated(Team, readable=True)
    lane_count = LimitedInteger(limit=LANES, help_text="An even number: lanes come in pairs.")
    changed_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = House
        fields = (*STAMP, "changed_by", "team", "name", "note", "lane_count")


@filtered("team")
class HouseViewSet(RecordedEditViewSet):
    model = House
    serializer_class = HouseSerializer
    filters = {"team": "team__uuid"}
    related = ("team", "changed_by")

    def write_new(self, values: dict[str, Any]) -> tuple[House, bool]:
        lanes = values.pop("lane_count")
        if not may_record(self.person, values["team"]):
            raise PermissionDenied
        return record.save_house(House(**values), lanes, by=self.person)

    def write_edit(self, row: House, values: dict[str, Any], expected_version: int) -> House:
        lanes = values.pop("lane_count", row.lane_count)
        for name, value in values.items():
            setattr(row, name, value)
        return record.save_house(row, lanes, by=self.person, expected_version=expected_version)[0]


class DressingSerializer(RecordedSerializer):
    """One lane freshly oiled."""

    house = OwnRelated(House, source="lane.house")
    lane_number = LimitedInteger(limit=LANE, source="lane.number")
    pattern = OwnRelated(Pattern, readable=True, source="pattern_version.pattern")
    pattern_version = LimitedInteger(limit=SHEET_NUMBER, source="pattern_version.number")
    before_block = OwnRelated(Block, required=False, allow_null=True)
    entered_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = Dressing
        fields = (
            *STAMP,
            "house",
            "lane_number",
            "done_at",
            "pattern",
            "pattern_version",
            "before_block",
            "note",
            "entered_by",
            "undone_at",
        )
        read_only_fields = ("undone_at",)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        # Dotted sources arrive as nested values and are no columns of a dressing.
        nested = {name: attrs.pop(name) for name in ("lane", "pattern_version")}
        return super().validate(attrs) | nested


@filtered("house", "block")
class DressingViewSet(RecordedViewSet):
    """Append only; a wrong one is undone. Those undone are not listed."""

    model = Dressing
    serializer_class = DressingSerializer
    related = ("lane__house", "pattern_version__pattern", "before_block", "entered_by")
    filters = {"house": "lane__house__uuid", "block": "before_block__uuid"}

    def write_new(self, values: dict[str, Any]) -> tuple[Dressing, bool]:
        house, number = values["lane"]["house"], values["lane"]["number"]
        sheet = values["pattern_version"]
        lane = house.lanes.filter(number=number).first()
        if lane is None:
            raise ApiError({"lane_number": [f"Lane {number} is not allowed: {house.name} has no such lane."]})
        return record.dress_lane(
            lane,
            sheet_of(sheet["pattern"], sheet["number"]),
            done_at=values["done_at"],
            before_block=values.get("before_block"),
            note=values.get("note", ""),
            by=self.person,
            uid=values.get("uuid") or uuid4(),
        )

    @extend_schema(request=None, responses=answers(DressingSerializer))
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, uuid: str) -> Response:
        """Take a wrong entry back; it stays in the record. Twice is once."""
        key = uuid_or_none(str(uuid))
        if key is None:
            raise Http404
        dressing = record.undo_dressing(dressing_to_undo(self.person, key))
        return Response(self.get_serializer(dressing).data)


class WindowSerializer(serializers.ModelSerializer[EventWindow]):
    class Meta:
        model = EventWindow
        fields = ("kind", "allowed", "by_hand", "by_machine", "where")


class EventSerializer(RecordedSerializer):
    """An event with its own rules; a kind of window that is not listed is unset."""

    apart = ("windows",)
    fixed = ("team",)
    team = OwnRelated(Team, readable=True)
    house = OwnRelated(House)
    windows = WindowSerializer(many=True, required=False)
    changed_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = Event
        fields = (
            *STAMP,
            "changed_by",
            "team",
            "house",
            "name",
            "starts_on",
            "ends_on",
            "time_zone",
            *Event.LIMITS,
            "windows",
            "rules_confirmed_by",
            "rules_confirmed_on",
            "rules_note",
            "shared_with_guests",
        )

    def validate_windows(self, windows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        # In a partial change nothing is required, but half a rule is no rule.
        for name in ("kind", "allowed"):
            if any(name not in window for window in windows):
                raise ApiError(f"windows without “{name}” is not allowed: say kind and allowed of each.")
        kinds = [window["kind"] for window in windows]
        if twice := next((kind for kind in kinds if kinds.count(kind) > 1), None):
            raise ApiError(f"windows “{twice}” is not allowed twice: one rule per kind.")
        return windows


@filtered("team")
class EventViewSet(RecordedEditViewSet):
    model = Event
    serializer_class = EventSerializer
    filters = {"team": "team__uuid"}
    related = ("team", "house", "changed_by")

    def get_queryset(self) -> Any:
        return super().get_queryset().prefetch_related("windows")

    def write_new(self, values: dict[str, Any]) -> tuple[Event, bool]:
        windows = _rules(values.pop("windows", []))
        if not may_record(self.person, values["team"]):
            raise PermissionDenied
        return record.save_event(Event(**values), windows, by=self.person)

    def write_edit(self, row: Event, values: dict[str, Any], expected_version: int) -> Event:
        windows = _rules(values.pop("windows")) if "windows" in values else None
        for name, value in values.items():
            setattr(row, name, value)
        return record.save_event(row, windows, by=self.person, expected_version=expected_version)[0]


def _rules(windows: list[dict[str, Any]]) -> dict[str, record.WindowRule]:
    return {window.pop("kind"): record.WindowRule(**window) for window in map(dict, windows)}


class BlockSerializer(RecordedSerializer):
    fixed = ("event",)
    event = OwnRelated(Event)
    pattern = OwnRelated(Pattern, readable=True, source="pattern_version.pattern")
    pattern_version = LimitedInteger(limit=SHEET_NUMBER, source="pattern_version.number")
    changed_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = Block
        fields = (
            *STAMP,
            "changed_by",
            "event",
            "name",
            "squad",
            "format",
            "games_planned",
            "starts_at",
            "pattern",
            "pattern_version",
            "state",
        )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        named = attrs.pop("pattern_version", None)
        if named and set(named) != {"pattern", "number"}:
            raise ApiError({"pattern_version": ["pattern and pattern_version belong together: send both."]})
        attrs = super().validate(attrs)
        if named:
            attrs["pattern_version"] = sheet_of(named["pattern"], named["number"])
        return attrs


@filtered("event")
class BlockViewSet(RecordedEditViewSet):
    model = Block
    serializer_class = BlockSerializer
    filters = {"event": "event__uuid"}
    related = ("event", "pattern_version__pattern", "changed_by")

    def write_new(self, values: dict[str, Any]) -> tuple[Block, bool]:
        return record.save_block(Block(**values), by=self.person)

    def write_edit(self, row: Block, values: dict[str, Any], expected_version: int) -> Block:
        for name, value in values.items():
            setattr(row, name, value)
        return record.save_block(row, by=self.person, expected_version=expected_version)[0]
