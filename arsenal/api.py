"""The API of bowlers, balls and the surface log."""

from typing import TYPE_CHECKING, Any, cast

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from arsenal import access
from arsenal.api_base import (
    CreateViewSet,
    EditViewSet,
    LimitedInteger,
    OwnRelated,
    ReadViewSet,
    StoredSerializer,
)
from arsenal.models import Ball, Bowler, Layout, Membership, Person, Release, SurfaceEntry, Team
from arsenal.models.surface import MOST_PADS
from arsenal.surface_state import SurfaceState, surface_state, surface_states

STAMP = ("uuid", "version", "created_at", "updated_at")
CHANGED = (*STAMP, "changed_by")


def _filtered(name: str) -> Any:
    parameter = OpenApiParameter(name, OpenApiTypes.UUID, description=f"Only those of this {name}.")
    return extend_schema_view(list=extend_schema(parameters=[parameter]))


class TeamSerializer(serializers.ModelSerializer[Team]):
    class Meta:
        model = Team
        fields = ("uuid", "name")


class MembershipSerializer(serializers.ModelSerializer[Membership]):
    team = TeamSerializer(read_only=True)

    class Meta:
        model = Membership
        fields = ("team", "role", "joined_at")


class MeSerializer(serializers.ModelSerializer[Person]):
    memberships = MembershipSerializer(many=True, read_only=True)

    class Meta:
        model = Person
        fields = ("username", "first_name", "units", "time_zone", "memberships")


if TYPE_CHECKING:
    NamedPerson = serializers.StringRelatedField[Person]
else:
    NamedPerson = serializers.StringRelatedField


class ChangedSerializer(StoredSerializer):
    changed_by = NamedPerson(read_only=True, allow_null=True)


class BowlerSerializer(ChangedSerializer):
    fixed = ("team",)
    team = OwnRelated(Team, readable=True)
    signs_in_as = NamedPerson(source="person", read_only=True, allow_null=True)

    class Meta:
        model = Bowler
        fields = (
            *CHANGED,
            "team",
            "signs_in_as",
            "name",
            "hand",
            "hands_used",
            *Bowler.LIMITS,
            "is_active",
            "shared_with_guests",
            "note",
        )


@extend_schema_field(
    {
        "type": "array",
        "nullable": True,
        "minItems": 5,
        "maxItems": 5,
        "items": {
            "type": "array",
            "minItems": 5,
            "maxItems": 5,
            "items": {"type": "number", "minimum": -1, "maximum": 1},
        },
        "description": "Order: speed, launch, laydown, rev rate, rotation; null means independent.",
    }
)
class CorrelationField(serializers.JSONField):
    """Five by five; the release itself judges it."""


class ReleaseSerializer(ChangedSerializer):
    fixed = ("bowler",)
    bowler = OwnRelated(Bowler)
    scatter_correlation = CorrelationField(required=False, allow_null=True)

    class Meta:
        model = Release
        # One card per kind is the model's own rule, which knows a second sending from a rival.
        validators: list[Any] = []
        fields = (
            *CHANGED,
            "bowler",
            "kind",
            *Release.LIMITS,
            "scatter_correlation",
            "origin",
            "origin_note",
        )


class SurfaceSerializer(serializers.Serializer[SurfaceState]):
    """The surface now, derived from the log and the games logged."""

    roughness_um = serializers.FloatField()
    sd_um = serializers.FloatField()
    games_since_sanded = serializers.FloatField(allow_null=True)
    games_since_cleaned = serializers.FloatField(allow_null=True)
    games_total = serializers.FloatField()
    measured = serializers.BooleanField()
    altered_in_competition_at = serializers.DateTimeField(allow_null=True)
    words = serializers.CharField()


class BallSerializer(ChangedSerializer):
    fixed = ("bowler",)
    bowler = OwnRelated(Bowler)
    surface = serializers.SerializerMethodField()

    class Meta:
        model = Ball
        fields = (
            *CHANGED,
            "bowler",
            "name",
            "cover",
            *Ball.LIMITS,
            "role",
            "drilled_on",
            "serial_number",
            "approval_note",
            "approved_on",
            "in_bag",
            "shared_with_guests",
            "note",
            "surface",
        )

    @extend_schema_field(SurfaceSerializer)
    def get_surface(self, ball: Ball) -> Any:
        known: dict[int, SurfaceState] = self.context.get("surfaces", {})
        return SurfaceSerializer(known.get(ball.pk) or surface_state(ball)).data


class LayoutSerializer(ChangedSerializer):
    fixed = ("ball",)
    ball = OwnRelated(Ball)

    class Meta:
        model = Layout
        fields = (*CHANGED, "ball", *Layout.LIMITS, "balance_hole", "drilled_by")


class PadsField(serializers.ListField):
    """The pads in the order used."""

    child = LimitedInteger(limit=SurfaceEntry.GRIT)


class SurfaceEntrySerializer(StoredSerializer):
    ball = OwnRelated(Ball)
    corrects = OwnRelated(SurfaceEntry, required=False, allow_null=True)
    corrected_by = serializers.SlugRelatedField(slug_field="uuid", read_only=True, allow_null=True)  # type: ignore[var-annotated]
    entered_by = NamedPerson(read_only=True, allow_null=True)
    grits = PadsField(required=False, max_length=MOST_PADS)

    class Meta:
        model = SurfaceEntry
        fields = (
            *STAMP,
            "ball",
            "kind",
            "done_at",
            "grits",
            "by_machine",
            "wet",
            "window",
            *SurfaceEntry.LIMITS,
            "lane_kind",
            "note",
            "entered_by",
            "corrects",
            "corrected_by",
        )


class TeamViewSet(ReadViewSet):
    model = Team
    serializer_class = TeamSerializer


@_filtered("team")
class BowlerViewSet(EditViewSet):
    model = Bowler
    serializer_class = BowlerSerializer
    filters = {"team": "team__uuid"}
    related = ("team", "person", "changed_by")

    def new_row(self, values: dict[str, Any]) -> Bowler:
        if not access.may_add_bowler(self.person, values["team"]):
            raise PermissionDenied
        by_coach = access.is_coach(self.person, values["team"])
        return Bowler(**values, person=None if by_coach else self.person)


@_filtered("bowler")
class ReleaseViewSet(EditViewSet):
    model = Release
    serializer_class = ReleaseSerializer
    filters = {"bowler": "bowler__uuid"}
    related = ("bowler", "changed_by")


@_filtered("bowler")
class BallViewSet(EditViewSet):
    model = Ball
    serializer_class = BallSerializer
    filters = {"bowler": "bowler__uuid"}
    related = ("bowler", "changed_by")

    def paginate_queryset(self, queryset: QuerySet[Any] | Any) -> Any:
        """Surfaces of a whole page are derived at once, in the same few queries as one."""
        page = super().paginate_queryset(queryset)
        self.surfaces = surface_states(page or [])
        return page

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "surfaces": getattr(self, "surfaces", {})}


@_filtered("ball")
class LayoutViewSet(EditViewSet):
    model = Layout
    serializer_class = LayoutSerializer
    filters = {"ball": "ball__uuid"}
    related = ("ball", "changed_by")


@_filtered("ball")
class SurfaceEntryViewSet(CreateViewSet):
    """Append only: a correction is a new entry whose `corrects` names the one it takes the place of."""

    model = SurfaceEntry
    serializer_class = SurfaceEntrySerializer
    filters = {"ball": "ball__uuid"}
    related = ("ball", "entered_by", "corrects", "corrected_by")

    def new_row(self, values: dict[str, Any]) -> SurfaceEntry:
        return SurfaceEntry(**values, entered_by=self.person)


class MeView(APIView):
    """Who is signed in, and the teams they are on."""

    @extend_schema(responses=MeSerializer)
    def get(self, request: Request) -> Response:
        return Response(MeSerializer(cast(Person, request.user)).data)
