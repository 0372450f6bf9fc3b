"""The API of shots and game lines."""

from typing import Any
from uuid import uuid4

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError as ApiError
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal.api import NamedPerson
from arsenal.api_base import BallName, BallRelated, LimitedFloat, LimitedInteger, OwnRelated
from arsenal.limits import Limit
from arsenal.models import Release
from motion.leaves import pins_of
from motion.pocket import HIT_WORDS
from sessions import record
from sessions.api_events import STAMP, filtered
from sessions.api_recorded import RecordedSerializer, RecordedViewSet, answers, refusals_as_answers
from sessions.limits import GAME, LANE, PRACTICE_THROW, SHOT_LIMITS, STRETCH_LIMITS
from sessions.models import BlockEntry, GameLine, LineStretch, PracticeWindow, Shot
from sessions.pairs import lane_of

PIN = Limit("Pin", 1, 10, whole=True)


class PinsField(serializers.ListField):
    """Pins by number, 1 to 10, each once."""

    child = LimitedInteger(limit=PIN)

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=10, **kwargs)

    def run_child_validation(self, data: Any) -> list[int]:
        # All messages under the field's own name, not under the place in the list.
        wrong: list[Any] = []
        pins: list[int] = []
        for item in data:
            try:
                pins.append(self.child.run_validation(item))
            except ApiError as error:
                wrong += error.detail if isinstance(error.detail, list) else [str(error.detail)]
        if wrong:
            raise ApiError(wrong)
        return pins


class LeftField(PinsField):
    """Stored as a mask, shown as pins."""

    def to_representation(self, data: Any) -> list[int]:
        return list(pins_of(data))


class ShotSerializer(RecordedSerializer):
    """A delivery in a game (`entry`, with the game's number) or in `practice`.

    Where a game, frame or throw is given it must be the next one. Pins are told as those left, those down,
    or both.
    """

    apart = (
        "game_number",
        "frame_number",
        "throw_number",
        "lane_number",
        "pins_left",
        "pins_down",
        "at_pins_left",
        "entry",
        "practice",
    )
    entry = OwnRelated(BlockEntry, required=False)
    practice = OwnRelated(PracticeWindow, required=False, allow_null=True)
    game: serializers.SlugRelatedField[Any] = serializers.SlugRelatedField(
        slug_field="uuid", read_only=True, allow_null=True
    )
    game_number = LimitedInteger(limit=GAME, write_only=True, required=False)
    frame_number = LimitedInteger(limit=Limit("Frame", 0, 10, whole=True), required=False)
    throw_number = LimitedInteger(limit=PRACTICE_THROW, required=False)
    lane_number = LimitedInteger(limit=LANE, source="lane.number", required=False)
    ball = BallRelated()
    ball_name = BallName()
    release = OwnRelated(Release, required=False, allow_null=True)
    pins_before = LeftField(read_only=True)
    pins_left = LeftField(required=False)
    pins_down = PinsField(required=False, write_only=True)
    at_pins_left = serializers.BooleanField(required=False, write_only=True)
    hit_word = serializers.ChoiceField(choices=list(HIT_WORDS), required=False, allow_blank=True)
    thrown_at = serializers.DateTimeField(required=False)
    replaces: serializers.SlugRelatedField[Any] = serializers.SlugRelatedField(
        slug_field="uuid", read_only=True, allow_null=True
    )
    entered_by = NamedPerson(read_only=True, allow_null=True)
    undone_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = Shot
        # One shot per place is the record's own rule, which knows the place.
        validators: list[Any] = []
        fields = (
            *STAMP,
            "entry",
            "game",
            "practice",
            "game_number",
            "frame_number",
            "throw_number",
            "lane_number",
            "lane_corrected",
            "ball",
            "ball_name",
            "release",
            *SHOT_LIMITS,
            "hit_word",
            "pins_before",
            "pins_left",
            "pins_down",
            "at_pins_left",
            "foul",
            "speed_read",
            "note",
            "thrown_at",
            "entered_by",
            "undone_at",
            "undone_by",
            "replaces",
        )
        read_only_fields = ("lane_corrected", "undone_at")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        lane = attrs.pop("lane", None)
        attrs = super().validate(attrs)
        return attrs | ({"lane_number": lane["number"]} if lane else {})


# What a client may send of the facts; the rest says where the shot belongs.
FACTS = (
    "ball",
    "release",
    "pins_left",
    "pins_down",
    "foul",
    "hit_word",
    "speed_read",
    "note",
    "thrown_at",
    *SHOT_LIMITS,
)


def facts_of(values: dict[str, Any], house: Any) -> record.ShotFacts:
    facts = {name: values[name] for name in FACTS if name in values}
    if "lane_number" in values:
        facts["lane"] = lane_of(house, values["lane_number"], "lane_number")
    return record.ShotFacts(**facts)


@filtered("entry", "game", "practice")
class ShotViewSet(RecordedViewSet):
    """Nothing is deleted: a correction is a shot that `replaces` another, and undone ones stay listed."""

    model = Shot
    serializer_class = ShotSerializer
    filters = {"entry": "entry__uuid", "game": "game__uuid", "practice": "practice__uuid"}
    related = (
        "entry__block__event__house",
        "entry__bowler",
        "game",
        "practice",
        "lane",
        "ball__bowler",
        "release",
        "entered_by",
        "undone_by",
        "replaces",
    )

    def write_new(self, values: dict[str, Any]) -> tuple[Shot, bool]:
        uid, practice = values.get("uuid") or uuid4(), values.get("practice")
        entry = practice.entry if practice else values.get("entry")
        if entry is None:
            raise ApiError({"entry": ["entry is missing: the uuid of an entry, or of a practice."]})
        facts = facts_of(values, entry.block.event.house)
        if practice is not None:
            at_left = bool(values.get("at_pins_left"))
            logged = record.log_practice_shot(
                practice,
                facts,
                by=self.person,
                uid=uid,
                at_pins_left=at_left,
                throw_number=values.get("throw_number"),
            )
        else:
            place = {name: values.get(name) for name in ("game_number", "frame_number", "throw_number")}
            logged = record.log_shot(entry, facts, by=self.person, uid=uid, **place)
        return logged.shot, logged.created

    @extend_schema(request=ShotSerializer, responses=answers(ShotSerializer, creates=True))
    @action(detail=True, methods=["post"])
    def correct(self, request: Request, uuid: str) -> Response:
        """Put a new shot in this one's place, in the same frame and throw."""
        old = self.mine()
        known = self._known(request.data)
        if known is not None:
            return Response(self.get_serializer(known).data)
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        values = serializer.validated_data
        with refusals_as_answers():
            facts = facts_of(values, old.entry.block.event.house)
            logged = record.edit_shot(old, facts, by=self.person, uid=values.get("uuid") or uuid4())
        return Response(self._answer(logged.shot), status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=answers(ShotSerializer))
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, uuid: str) -> Response:
        """Take the newest shot of its game or practice back; twice is once."""
        with refusals_as_answers():
            shot = record.undo_shot(self.mine(), by=self.person)
        return Response(self._answer(shot))


class StretchSerializer(serializers.ModelSerializer[LineStretch]):
    first_frame = LimitedInteger(limit=STRETCH_LIMITS["first_frame"])
    last_frame = LimitedInteger(limit=STRETCH_LIMITS["last_frame"])
    ball = BallRelated()
    ball_name = BallName()
    release = OwnRelated(Release, required=False, allow_null=True)
    laydown_board = LimitedFloat(limit=STRETCH_LIMITS["laydown_board"], required=False, allow_null=True)
    target_board = LimitedFloat(limit=STRETCH_LIMITS["target_board"], required=False, allow_null=True)
    target_ft = LimitedFloat(limit=STRETCH_LIMITS["target_ft"], required=False)

    class Meta:
        model = LineStretch
        fields = ("ball", "ball_name", "release", *STRETCH_LIMITS)


class LineSerializer(RecordedSerializer):
    """A whole game typed in trade notation; the newest line of a game that is not undone counts."""

    apart = ("entry", "game_number", "stretches", "instead_of_shots")
    entry = OwnRelated(BlockEntry, source="game.entry")
    game: serializers.SlugRelatedField[Any] = serializers.SlugRelatedField(slug_field="uuid", read_only=True)
    game_number = LimitedInteger(limit=GAME, source="game.number")
    notation = serializers.CharField(max_length=120)
    bowled_at = serializers.DateTimeField(required=False)
    stretches = StretchSerializer(many=True, allow_empty=False)
    instead_of_shots = serializers.BooleanField(
        required=False,
        write_only=True,
        help_text="Shots already logged in the game are undone and stay in the record.",
    )
    entered_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = GameLine
        fields = (
            *STAMP,
            "entry",
            "game",
            "game_number",
            "notation",
            "bowled_at",
            "stretches",
            "instead_of_shots",
            "entered_by",
            "undone_at",
        )
        read_only_fields = ("undone_at",)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        game = attrs.pop("game")
        return super().validate(attrs) | {"entry": game["entry"], "game_number": game["number"]}


@filtered("entry", "game")
class LineViewSet(RecordedViewSet):
    model = GameLine
    serializer_class = LineSerializer
    filters = {"entry": "game__entry__uuid", "game": "game__uuid"}
    related = ("game__entry", "entered_by")

    def get_queryset(self) -> Any:
        return super().get_queryset().prefetch_related("stretches__ball__bowler", "stretches__release")

    def write_new(self, values: dict[str, Any]) -> tuple[GameLine, bool]:
        typed = record.log_line(
            values["entry"],
            values["game_number"],
            notation=values["notation"],
            stretches=[record.StretchFacts(**stretch) for stretch in values["stretches"]],
            bowled_at=values.get("bowled_at"),
            by=self.person,
            uid=values.get("uuid") or uuid4(),
            instead_of_shots=values.get("instead_of_shots", False),
        )
        return typed.line, typed.created

    @extend_schema(request=None, responses=answers(LineSerializer))
    @action(detail=True, methods=["post"])
    def undo(self, request: Request, uuid: str) -> Response:
        """Take the newest line of its game back; the one before it counts again."""
        with refusals_as_answers():
            line = record.undo_line(self.mine())
        return Response(self._answer(line))
