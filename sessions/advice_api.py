"""The API of advice: what stands for a bowler on a pair, and whether it is fresh."""

from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from sessions.advice_state import plain_state
from sessions.advice_views import state_for
from sessions.work_state import work_state

STATUSES = ("none", "fresh", "waiting", "working", "retrying", "stopped", "cancelled")


class LaneAnswerSerializer(serializers.Serializer[dict[str, object]]):
    """The newest answer for one lane; older than what is wanted when the state is stale."""

    lane = serializers.IntegerField(help_text="Number of the lane.")
    action = serializers.ChoiceField(choices=["stay", "move", "change ball", "unknown"])
    ball = serializers.UUIDField(allow_null=True)
    answers = serializers.IntegerField(help_text="Which input this answers; it counts up with every entry.")
    computed_at = serializers.DateTimeField()
    seconds = serializers.FloatField(help_text="How long it took to compute.")
    result = serializers.JSONField(
        help_text="Line, moves, chances with their 80 % interval, reasons. Own-side boards; moves are "
        "positive away from the own gutter."
    )
    inputs = serializers.JSONField(help_text="What it was computed from.")


class AdviceStateSerializer(serializers.Serializer[dict[str, object]]):
    status = serializers.ChoiceField(choices=STATUSES)
    stale = serializers.BooleanField(help_text="Newer entries were logged than the answers know of.")
    behind = serializers.IntegerField(help_text="How many entries the answers do not know of.")
    progress = serializers.FloatField(help_text="Share of the present computation that is done, 0 to 1.")
    failure = serializers.CharField(allow_blank=True)
    said = serializers.CharField(help_text="The state in one sentence.")
    computed_at = serializers.DateTimeField(allow_null=True)
    working_in_background = serializers.BooleanField()
    lanes = LaneAnswerSerializer(many=True)


class AdviceView(APIView):
    @extend_schema(
        operation_id="advice_retrieve",
        parameters=[OpenApiParameter("left_number", int, OpenApiParameter.PATH, description="The odd lane.")],
        responses={200: AdviceStateSerializer, 403: OpenApiTypes.OBJECT, 404: OpenApiTypes.OBJECT},
    )
    def get(self, request: Request, uuid: UUID, left_number: int) -> Response:
        """The advice for one entry on one pair; 404 for a pair or an entry that is not there for you."""
        state = state_for(request.user, uuid, left_number)
        return Response(AdviceStateSerializer(plain_state(state)).data)


class WorkStatusSerializer(serializers.Serializer[dict[str, object]]):
    is_well = serializers.BooleanField()
    worker_seen_seconds_ago = serializers.FloatField(allow_null=True)
    scheduler_seen_seconds_ago = serializers.FloatField(allow_null=True)
    words = serializers.CharField()


class WorkStatusView(APIView):
    @extend_schema(
        operation_id="work_status_retrieve",
        responses={200: WorkStatusSerializer, 403: OpenApiTypes.OBJECT},
    )
    def get(self, request: Request) -> Response:
        """Whether the background worker and its scheduler show life."""
        return Response(work_state().as_dict())
