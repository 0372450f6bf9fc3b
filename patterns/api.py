"""The API of patterns and their versions: the rules are those of the page, by the same functions."""

import math
import uuid
from collections.abc import Mapping
from typing import Any, cast

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers, status
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal import access
from arsenal.api_base import Conflict, ReadViewSet
from arsenal.edits import StaleEdit
from patterns.api_fields import SINGLE, TABLE, PassSerializer, PatternInput, raw_from
from patterns.models import Pattern, PatternVersion
from patterns.presentation import VersionView
from patterns.record import Details, create_pattern, update_pattern
from patterns.sheet_form import raw_of
from patterns.sheet_parser import parse_sheet
from patterns.sheet_types import ParsedSheet, RawSheet, SheetError
from patterns.writers import team_to_write_for


class RatioSerializer(serializers.Serializer[Any]):
    """Mean oil of boards 18L-18R over that of boards 3 to 7 on a side; null where there is no oil outside."""

    distance_ft = serializers.FloatField()
    left = serializers.FloatField(allow_null=True)
    right = serializers.FloatField(allow_null=True)
    boards = serializers.CharField()


class VersionSerializer(serializers.ModelSerializer[PatternVersion]):
    created_by: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True)
    distances_ft = serializers.ListField(child=serializers.FloatField(), read_only=True)
    oil = serializers.ListField(child=serializers.ListField(child=serializers.FloatField()), read_only=True)
    passes = PassSerializer(many=True, read_only=True, allow_null=True)
    is_reconstructed = serializers.BooleanField(read_only=True)
    volume_ml = serializers.SerializerMethodField()
    film_scale_sd = serializers.SerializerMethodField()
    ratios = serializers.SerializerMethodField()

    class Meta:
        model = PatternVersion
        fields = (
            "number",
            *SINGLE,
            "distances_ft",
            "oil",
            "passes",
            "is_reconstructed",
            "volume_ml",
            "film_scale_sd",
            "ratios",
            "created_by",
            "created_at",
        )
        read_only_fields = fields

    def get_volume_ml(self, version: PatternVersion) -> float:
        return VersionView.of(version).volume_ml

    def get_film_scale_sd(self, version: PatternVersion) -> float:
        return VersionView.of(version).scale_sd

    @extend_schema_field(RatioSerializer(many=True))
    def get_ratios(self, version: PatternVersion) -> list[dict[str, Any]]:
        view = VersionView.of(version)
        found = []
        for distance in sorted({*view.usual_distances(), *view.own_distances()}):
            ratio = view.ratio_at(distance)
            found.append(
                {
                    "distance_ft": distance,
                    "left": ratio.left if math.isfinite(ratio.left) else None,
                    "right": ratio.right if math.isfinite(ratio.right) else None,
                    "boards": f"{ratio.centre_boards} over {ratio.left_boards} and {ratio.right_boards}",
                }
            )
        return found


class PatternSerializer(serializers.ModelSerializer[Pattern]):
    """A pattern with its newest sheet."""

    team = serializers.SlugRelatedField[Any](slug_field="uuid", read_only=True)
    changed_by: serializers.StringRelatedField[Any] = serializers.StringRelatedField(read_only=True)
    sheet = serializers.SerializerMethodField()

    class Meta:
        model = Pattern
        fields = (
            "uuid",
            "version",
            "created_at",
            "updated_at",
            "changed_by",
            "team",
            "name",
            "note",
            "shared_with_guests",
            "sheet",
        )
        read_only_fields = fields

    @extend_schema_field(VersionSerializer(allow_null=True))
    def get_sheet(self, pattern: Pattern) -> Any:
        newest = pattern.versions.order_by("-number").select_related("created_by").first()
        return VersionSerializer(newest).data if newest else None


def _refused(error: SheetError) -> serializers.ValidationError:
    fields: dict[str, list[str]] = {}
    for problem in error.problems:
        fields.setdefault(problem.field, []).append(problem.message)
    return serializers.ValidationError(fields)


def _parsed(data: Mapping[str, Any], base: RawSheet) -> ParsedSheet:
    try:
        return parse_sheet(raw_from(data, base))
    except SheetError as error:
        raise _refused(error) from error


@extend_schema_view(
    list=extend_schema(
        parameters=[OpenApiParameter("team", OpenApiTypes.UUID, description="Only those of this team.")]
    )
)
class PatternViewSet(ReadViewSet):
    model = Pattern
    filters = {"team": "team__uuid"}
    related = ("team", "changed_by")
    serializer_class = PatternSerializer

    @extend_schema(request=PatternInput)
    def create(self, request: Request) -> Response:
        data = _valid(request)
        team = team_to_write_for(request._request, data.get("team"))
        token = data.get("uuid") or uuid.uuid4()
        parsed = _parsed(data, RawSheet())
        try:
            pattern, new = create_pattern(team, self.person, token, _details(data, None), parsed)
        except SheetError as error:
            raise _refused(error) from error
        code = status.HTTP_201_CREATED if new else status.HTTP_200_OK
        return Response(PatternSerializer(pattern).data, status=code)

    @extend_schema(request=PatternInput)
    def update(self, request: Request, uuid: uuid.UUID) -> Response:
        return self._save(request, partial=False)

    @extend_schema(request=PatternInput)
    def partial_update(self, request: Request, uuid: uuid.UUID) -> Response:
        return self._save(request, partial=True)

    def _save(self, request: Request, *, partial: bool) -> Response:
        pattern = cast(Pattern, self.get_object())
        if not access.may_change(self.person, pattern):
            raise PermissionDenied
        data = _valid(request, partial=partial)
        if data.get("team", pattern.team) != pattern.team:
            words = "team is not allowed to change; it is said once, when the pattern is made."
            raise serializers.ValidationError({"team": [words]})
        if "version" not in data:
            words = "version is missing: send the version you read, 1 or more."
            raise serializers.ValidationError({"version": [words]})
        newest = pattern.versions.order_by("-number").first()
        parsed = None
        if not partial:
            parsed = _parsed(data, RawSheet())
        elif any(name in data for name in (*SINGLE, *TABLE, "passes")):
            parsed = _parsed(data, raw_of(newest) if newest else RawSheet())
        token = data.get("uuid") or uuid.uuid4()
        details = _details(data, pattern if partial else None)
        try:
            saved = update_pattern(pattern, self.person, token, data["version"], details, parsed)
        except StaleEdit as stale:
            raise Conflict(stale.message) from None
        except SheetError as error:
            raise _refused(error) from error
        return Response(PatternSerializer(saved).data)


class VersionViewSet(ReadViewSet):
    """The versions of one pattern. They are never changed; a block keeps the one it was bowled on."""

    model = Pattern  # access is asked of PatternVersion below
    serializer_class = VersionSerializer
    lookup_field = "number"
    lookup_value_converter = "int"

    def get_queryset(self) -> QuerySet[Any]:
        pattern = access.get_visible(self.request.user, Pattern, uuid=self.kwargs["pattern"])
        rows = access.visible(self.request.user, PatternVersion).filter(pattern=pattern)
        return rows.select_related("pattern", "created_by").order_by("number")

    @extend_schema(parameters=[OpenApiParameter("pattern", OpenApiTypes.UUID, OpenApiParameter.PATH)])
    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return super().list(request, *args, **kwargs)

    @extend_schema(
        parameters=[
            OpenApiParameter("pattern", OpenApiTypes.UUID, OpenApiParameter.PATH),
            OpenApiParameter("number", OpenApiTypes.INT, OpenApiParameter.PATH),
        ]
    )
    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return super().retrieve(request, *args, **kwargs)


def _valid(request: Request, *, partial: bool = False) -> dict[str, Any]:
    serializer = PatternInput(data=request.data, partial=partial, context={"request": request})
    serializer.is_valid(raise_exception=True)
    return cast(dict[str, Any], serializer.validated_data)


def _details(data: Mapping[str, Any], saved: Pattern | None) -> Details:
    return Details(
        name=data.get("name", saved.name if saved else ""),
        note=data.get("note", saved.note if saved else ""),
        shared_with_guests=data.get("shared_with_guests", saved.shared_with_guests if saved else False),
    )
