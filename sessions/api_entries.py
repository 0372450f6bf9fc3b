"""The API of entries: one bowler in one block, with the bag, the pairs, practice and games."""

from typing import Any
from uuid import uuid4

from django.db.models import Prefetch
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal import access
from arsenal.api import NamedPerson
from arsenal.api_base import BallName, BallRelated, LimitedInteger, OwnRelated, ReadViewSet
from arsenal.models import Ball, Bowler
from sessions import record
from sessions.api_events import STAMP, filtered
from sessions.api_recorded import (
    RecordedEditViewSet,
    RecordedSerializer,
    RecordedViewSet,
    answers,
    refusals_as_answers,
)
from sessions.counted import frames_of, with_what_was_bowled
from sessions.limits import GAME, LANE, MOVE
from sessions.models import BagBall, Block, BlockEntry, Game, PairVisit, PracticeWindow
from sessions.pairs import lane_of
from sessions.scores import notation_of, scored


class BagBallSerializer(serializers.ModelSerializer[BagBall]):
    ball = BallRelated()
    ball_name = BallName()

    class Meta:
        model = BagBall
        fields = ("ball", "ball_name", "put_away")


class VisitSerializer(serializers.ModelSerializer[PairVisit]):
    left_lane = serializers.IntegerField(source="left_lane.number", read_only=True)
    right_lane = serializers.IntegerField(source="right_lane.number", read_only=True)

    class Meta:
        model = PairVisit
        fields = ("game_number", "left_lane", "right_lane", "starts_on_left")


class EntrySerializer(RecordedSerializer):
    """`balls` says the bag when it is written; `bag` shows it with what is put away, empty to guests."""

    apart = ("balls",)
    fixed = ("block", "bowler")
    block = OwnRelated(Block)
    bowler = OwnRelated(Bowler)
    balls = serializers.ListField(child=OwnRelated(Ball), write_only=True, required=False, max_length=100)
    bag = BagBallSerializer(many=True, read_only=True)
    pairs = VisitSerializer(many=True, read_only=True, source="visits")
    changed_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = BlockEntry
        # Once per block is the record's own rule, which knows a second sending from a rival.
        validators: list[Any] = []
        fields = (*STAMP, "changed_by", "block", "bowler", "objective", "balls", "bag", "pairs")


class PutAwaySerializer(serializers.Serializer[Any]):
    ball = OwnRelated(Ball)
    put_away = serializers.BooleanField()


class PairSerializer(serializers.Serializer[Any]):
    game_number = LimitedInteger(limit=GAME)
    lane_number = LimitedInteger(limit=LANE, help_text="The lane it starts on; says the pair and the side.")


class CrossingSerializer(serializers.Serializer[Any]):
    start_lane = LimitedInteger(limit=LANE)
    move_pairs = LimitedInteger(limit=MOVE, help_text="Pairs to the right after each game.")
    first_lane = LimitedInteger(limit=LANE)
    last_lane = LimitedInteger(limit=LANE)


@filtered("block", "bowler")
class EntryViewSet(RecordedEditViewSet):
    model = BlockEntry
    serializer_class = EntrySerializer
    filters = {"block": "block__uuid", "bowler": "bowler__uuid"}
    related = ("block__event__house", "bowler", "changed_by")

    def get_queryset(self) -> Any:
        bag = access.visible(self.person, BagBall).select_related("ball__bowler")
        rows = super().get_queryset().prefetch_related("visits__left_lane", "visits__right_lane")
        return rows.prefetch_related(Prefetch("bag", bag))

    def write_new(self, values: dict[str, Any]) -> tuple[BlockEntry, bool]:
        return record.enter_bowler(
            values["block"],
            values["bowler"],
            objective=values.get("objective", BlockEntry.objective.field.default),
            balls=values.get("balls", ()),
            by=self.person,
            uid=values.get("uuid") or uuid4(),
        )

    def write_edit(self, row: BlockEntry, values: dict[str, Any], expected_version: int) -> BlockEntry:
        balls = values.get("balls")
        return record.save_entry(
            row,
            objective=values.get("objective", row.objective),
            balls=[place.ball for place in row.bag.all()] if balls is None else balls,
            by=self.person,
            expected_version=expected_version,
        )

    @extend_schema(request=PutAwaySerializer, responses=answers(EntrySerializer))
    @action(detail=True, methods=["post"], url_path="put-away")
    def put_away(self, request: Request, uuid: str) -> Response:
        """Put a ball away for this block, or take it out again."""
        entry, data = self.mine(), self._read(PutAwaySerializer)
        with refusals_as_answers():
            record.put_away(entry, data["ball"], data["put_away"])
        return Response(self._answer(entry))

    @extend_schema(request=PairSerializer, responses=answers(EntrySerializer))
    @action(detail=True, methods=["post"], url_path="pair")
    def pair(self, request: Request, uuid: str) -> Response:
        """Say on which lane a game starts; a game already begun is moved with its shots."""
        entry, data = self.mine(), self._read(PairSerializer)
        number = data["lane_number"]
        with refusals_as_answers():
            lane = lane_of(entry.block.event.house, number)
            record.set_pair(entry, data["game_number"], lane=lane, starts_on_left=number % 2 == 1)
        return Response(self._answer(entry))

    @extend_schema(request=CrossingSerializer, responses=answers(EntrySerializer))
    @action(detail=True, methods=["post"], url_path="crossing")
    def crossing(self, request: Request, uuid: str) -> Response:
        """Lay out the pairs of all games not yet begun."""
        entry, data = self.mine(), self._read(CrossingSerializer)
        with refusals_as_answers():
            record.plan_crossing(entry, starts_on_left=data["start_lane"] % 2 == 1, **data)
        return Response(self._answer(entry))

    def _read(self, serializer: type[serializers.Serializer[Any]]) -> Any:
        read = serializer(data=self.request.data, context=self.get_serializer_context())
        read.is_valid(raise_exception=True)
        return read.validated_data


class FrameSerializer(serializers.Serializer[Any]):
    number = serializers.IntegerField()
    marks = serializers.ListField(child=serializers.CharField())
    score = serializers.IntegerField(allow_null=True)
    running = serializers.IntegerField(allow_null=True)
    is_split = serializers.BooleanField()
    complete = serializers.BooleanField()


class ScoreSerializer(serializers.Serializer[Any]):
    """Computed from the shots or the line, never stored."""

    scored_from = serializers.ChoiceField(choices=["shots", "line", "nothing"])
    notation = serializers.CharField(allow_blank=True)
    total = serializers.IntegerField()
    max_possible = serializers.IntegerField()
    complete = serializers.BooleanField()
    frames = FrameSerializer(many=True)


class GameSerializer(serializers.ModelSerializer[Game]):
    entry: serializers.SlugRelatedField[Any] = serializers.SlugRelatedField(slug_field="uuid", read_only=True)
    left_lane = serializers.IntegerField(source="left_lane.number", read_only=True)
    right_lane = serializers.IntegerField(source="right_lane.number", read_only=True)
    score = serializers.SerializerMethodField()

    class Meta:
        model = Game
        fields = (
            "uuid",
            "created_at",
            "updated_at",
            "entry",
            "number",
            "left_lane",
            "right_lane",
            "starts_on_left",
            "started_at",
            "score",
        )
        read_only_fields = fields

    @extend_schema_field(ScoreSerializer)
    def get_score(self, game: Game) -> Any:
        item = scored(game)
        return ScoreSerializer(
            {
                "scored_from": item.source,
                "notation": notation_of(game) if frames_of(game) else "",
                "total": item.score.total,
                "max_possible": item.score.max_possible,
                "complete": item.score.complete,
                "frames": item.score.frames,
            }
        ).data


@filtered("entry", "block")
class GameViewSet(ReadViewSet):
    """Games begin with their first shot or line, so they are read here and written there."""

    model = Game
    serializer_class = GameSerializer
    filters = {"entry": "entry__uuid", "block": "entry__block__uuid"}
    related = ("entry",)

    def get_queryset(self) -> Any:
        return with_what_was_bowled(super().get_queryset())


class PracticeSerializer(RecordedSerializer):
    entry = OwnRelated(BlockEntry)
    lane_number = LimitedInteger(limit=LANE, write_only=True, help_text="A lane of the pair.")
    left_lane = serializers.IntegerField(source="left_lane.number", read_only=True)
    right_lane = serializers.IntegerField(source="right_lane.number", read_only=True)
    apart = ("lane_number",)

    class Meta:
        model = PracticeWindow
        fields = (*STAMP, "entry", "kind", "lane_number", "left_lane", "right_lane", "started_at")
        extra_kwargs = {"started_at": {"required": False}}


@filtered("entry")
class PracticeViewSet(RecordedViewSet):
    model = PracticeWindow
    serializer_class = PracticeSerializer
    filters = {"entry": "entry__uuid"}
    related = ("entry", "left_lane", "right_lane")

    def write_new(self, values: dict[str, Any]) -> tuple[PracticeWindow, bool]:
        entry = values["entry"]
        return record.open_practice(
            entry,
            kind=values.get("kind", PracticeWindow.Kind.WARM_UP),
            lane=lane_of(entry.block.event.house, values["lane_number"], "lane_number"),
            started_at=values.get("started_at"),
            uid=values.get("uuid") or uuid4(),
        )
