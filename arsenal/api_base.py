"""What the API of every stored thing shares: access, one row per uuid, no stale edits, plain errors."""

import copy
import uuid
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, cast

from django.core.exceptions import ValidationError as ModelError
from django.db.models import Model, QuerySet
from django.http import Http404
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.exceptions import APIException, ErrorDetail, PermissionDenied
from rest_framework.exceptions import ValidationError as ApiError
from rest_framework.fields import get_error_detail
from rest_framework.pagination import LimitOffsetPagination
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal import access
from arsenal.edits import Clash, StaleEdit, create_once, save_edit
from arsenal.limits import Limit
from arsenal.models import Ball, Person
from arsenal.models.base import Stamped

if TYPE_CHECKING:
    ModelSerializer = serializers.ModelSerializer[Any]
    SlugRelatedField = serializers.SlugRelatedField[Any]
    Field = serializers.Field[Any, Any, Any, Any]
    GenericViewSet = viewsets.GenericViewSet[Any]
else:
    ModelSerializer = serializers.ModelSerializer
    SlugRelatedField = serializers.SlugRelatedField
    Field = serializers.Field
    GenericViewSet = viewsets.GenericViewSet

# The code of a refusal whose words name field, value and range already.
SAID = "said"
# What the smallest of the databases holds in an integer column.
LARGEST_VERSION = 2**31 - 1


class Conflict(APIException):
    """Somebody was faster; the answer says who and what."""

    status_code = status.HTTP_409_CONFLICT

    def __init__(self, message: str) -> None:
        super().__init__({"version": [message]})


class Pages(LimitOffsetPagination):
    max_limit = 200


class StoredSchema(AutoSchema):
    """Names the refusals beside the answers, so a client's author meets them in the schema."""

    def get_response_serializers(self) -> Any:
        answer = super().get_response_serializers()
        refusals: dict[int, Any] = {403: OpenApiTypes.OBJECT, 404: OpenApiTypes.OBJECT}
        if self.method == "POST":
            answers: dict[int, Any] = {200: answer, 201: answer}
        else:
            answers = {200: answer}
        if self.method in ("POST", "PUT", "PATCH"):
            refusals |= dict.fromkeys((400, 409, 415), OpenApiTypes.OBJECT)
        elif getattr(self.view, "action", "") == "list":
            refusals[400] = OpenApiTypes.OBJECT
        return answers | refusals


class LimitedFloat(serializers.FloatField):
    """A number in a range; the words of a refusal are the limit's own."""

    def __init__(self, *, limit: Limit, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.limit = limit
        self.min_value, self.max_value = limit.low, limit.high

    def to_internal_value(self, data: Any) -> float:
        return _limited(self.limit, data)


class LimitedInteger(serializers.IntegerField):
    """A whole number in a range."""

    def __init__(self, *, limit: Limit, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.limit = limit
        self.min_value, self.max_value = int(limit.low), int(limit.high)

    def to_internal_value(self, data: Any) -> int:
        return int(_limited(self.limit, data))


def _limited(limit: Limit, data: Any) -> float:
    if isinstance(data, bool) or not isinstance(data, int | float):
        raise ApiError(limit.not_a_number(data), SAID)
    if refusal := limit.refusal(data):
        raise ApiError(refusal, SAID)
    return float(data)


class OwnRelated(SlugRelatedField):
    """Another row by its uuid. One the person may not change answers like one that does not exist.

    `readable`: it is enough to read it; whoever uses the row then asks for more themselves.
    """

    def __init__(self, model: type[Model], *, readable: bool = False, **kwargs: Any) -> None:
        self.model, self.readable = model, readable
        super().__init__(slug_field="uuid", queryset=model._default_manager.none(), **kwargs)

    def get_queryset(self) -> QuerySet[Any]:
        allowed = access.visible if self.readable else access.changeable
        return allowed(self.context["request"].user, self.model)

    def to_internal_value(self, data: Any) -> Any:
        name = str(self.model._meta.verbose_name)
        found = None
        if (key := uuid_or_none(data)) is not None:
            found = self.get_queryset().filter(uuid=key).first()
        if found is None:
            shown = str(data)[:40]
            raise ApiError(
                f"{name.capitalize()} “{shown}” is not allowed: the uuid of a {name} of yours.", SAID
            )
        return found


class BallRelated(OwnRelated):
    """A ball by its uuid; null for readers of a shared shot who do not see the ball itself."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(Ball, allow_null=True, **kwargs)

    def to_representation(self, obj: Any) -> Any:
        names = ball_names(self.context)
        return super().to_representation(obj) if names.sees(obj.pk, obj.bowler) else None


@extend_schema_field(OpenApiTypes.STR)
class BallName(Field):
    """The ball's name, or for whoever does not see the ball whose it is."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(source="ball", read_only=True, **kwargs)

    def to_representation(self, ball: Ball) -> str:
        return ball_names(self.context).of(ball.pk, ball.name, ball.bowler)


def ball_names(context: Mapping[str, Any]) -> access.BallNames:
    """One for all rows of an answer, so that a list asks the database once."""
    found: access.BallNames | None = context.get("ball_names")
    if found is None:
        found = access.BallNames(context["request"].user)
        cast(dict[str, Any], context)["ball_names"] = found
    return found


def uuid_or_none(data: Any) -> uuid.UUID | None:
    try:
        return uuid.UUID(data) if isinstance(data, str) else None
    except ValueError:
        return None


class StoredSerializer(ModelSerializer):
    """Numbers by the model's limits, rules by its `clean`, and `version` to refuse stale edits.

    `fixed` names the fields that are said when a row is made and never change after.
    """

    fixed: tuple[str, ...] = ()

    uuid = serializers.UUIDField(
        required=False, help_text="Choose your own, and sending the same one again finds the first row."
    )
    version = serializers.IntegerField(
        required=False,
        min_value=1,
        max_value=LARGEST_VERSION,
        help_text="Required to change a row: the version you read. Another one stored meanwhile gives 409.",
    )

    def build_standard_field(self, field_name: str, model_field: Any) -> Any:
        field_class, kwargs = super().build_standard_field(field_name, model_field)
        limits: Mapping[str, Limit] = getattr(self.Meta.model, "LIMITS", {})
        limit = limits.get(field_name)
        if limit is None:
            return field_class, kwargs
        kept: dict[str, Any] = {
            key: kwargs[key] for key in ("required", "allow_null", "default") if key in kwargs
        }
        return (LimitedInteger if limit.whole else LimitedFloat), {**kept, "limit": limit}

    def to_internal_value(self, data: Any) -> Any:
        try:
            return super().to_internal_value(data)
        except ApiError as error:
            raise ApiError(self._explained(cast(dict[str, Any], error.detail), data)) from None

    def _explained(self, detail: dict[str, Any], data: Any) -> dict[str, list[str]]:
        """Every message names the field and the value; ours do already, the framework's do not."""
        return {
            name: [self._named(name, message, data) for message in _flat(messages)]
            for name, messages in detail.items()
        }

    def _named(self, name: str, message: ErrorDetail, data: Any) -> str:
        field = self.fields.get(name)
        if field is None or message.code == SAID or not isinstance(data, dict):
            return str(message)
        if name not in data:
            return f"{name}: {message}"
        allowed = ""
        if isinstance(field, serializers.ChoiceField):
            allowed = f" Allowed: {', '.join(str(choice) for choice in field.choices)}."
        return f"{name} {str(data[name])[:60]!r}: {message}{allowed}"

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if self.instance is not None:
            self._refuse_moves(attrs)
            if "version" not in attrs:
                raise ApiError({"version": "version is missing: send the version you read, 1 or more."})
        row = copy.copy(self.instance) if self.instance is not None else self._blank()
        for name, value in attrs.items():
            setattr(row, name, value)
        try:
            row.clean()
        except ModelError as error:
            raise ApiError(get_error_detail(error)) from None
        return attrs

    def _blank(self) -> Any:
        model: type[Model] = self.Meta.model
        return model()

    def _refuse_moves(self, attrs: dict[str, Any]) -> None:
        attrs.pop("uuid", None)
        for name in self.fixed:
            if name in attrs and attrs.pop(name) != getattr(self.instance, name):
                raise ApiError(
                    {name: f"{name} is not allowed to change; it is said once, when the row is made."}
                )


def _flat(messages: Any) -> Iterable[ErrorDetail]:
    if isinstance(messages, dict):
        for inner in messages.values():
            yield from _flat(inner)
    elif isinstance(messages, list):
        for inner in messages:
            yield from _flat(inner)
    else:
        yield messages


class ReadViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, GenericViewSet):
    """Lists and shows what the person may read; `filters` maps a query parameter to the uuid it compares."""

    schema = StoredSchema()
    model: type[Stamped]
    lookup_field = "uuid"
    lookup_value_converter = "uuid"
    pagination_class = Pages
    filters: dict[str, str] = {}
    related: tuple[str, ...] = ()

    @property
    def person(self) -> Person:
        return cast(Person, self.request.user)

    def readable(self) -> QuerySet[Any]:
        return access.visible(self.request.user, self.model)

    def get_queryset(self) -> QuerySet[Any]:
        rows = self.readable().select_related(*self.related).order_by("pk")
        for name, path in self.filters.items():
            text = self.request.query_params.get(name)
            if text is None or self.action != "list":
                continue
            key = uuid_or_none(text)
            if key is None:
                raise ApiError({name: [f"{name} “{text[:40]}” is not a uuid."]})
            rows = rows.filter(**{path: key})
        return rows


class CreateViewSet(ReadViewSet):
    """Adds rows once: the same uuid sent again answers with the row it made (200 instead of 201)."""

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        known = self._known(request.data)
        if known is not None:
            return Response(self.get_serializer(known).data)
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        values = {name: value for name, value in serializer.validated_data.items() if name != "version"}
        row = self.new_row(values)
        try:
            row, new = create_once(row, self.person)
        except Clash as clash:
            raise Conflict(str(clash)) from None
        answer = self.get_serializer(row).data
        return Response(answer, status=status.HTTP_201_CREATED if new else status.HTTP_200_OK)

    def new_row(self, values: dict[str, Any]) -> Stamped:
        return self.model(**values)

    def _known(self, data: Any) -> Stamped | None:
        """The row an earlier submission made; somebody else's uuid answers like nothing at all."""
        key = uuid_or_none(data.get("uuid")) if isinstance(data, dict) else None
        if key is None or not self.model._default_manager.filter(uuid=key).exists():
            return None
        mine = access.changeable(self.person, self.model).filter(uuid=key).first()
        if mine is None:
            raise Http404
        return mine


class EditViewSet(CreateViewSet):
    """Adds and changes rows; deleting is no part of it, because a logbook points at them."""

    def update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        row = self.get_object()
        if not access.may_change(self.person, row):
            raise PermissionDenied
        serializer = self.get_serializer(row, data=request.data, partial=kwargs.pop("partial", False))
        serializer.is_valid(raise_exception=True)
        expected = serializer.validated_data.pop("version")
        for name, value in serializer.validated_data.items():
            setattr(row, name, value)
        try:
            save_edit(row, expected, self.person)
        except StaleEdit as stale:
            raise Conflict(stale.message) from None
        return Response(self.get_serializer(row).data)

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.update(request, *args, partial=True, **kwargs)
