"""How the logbook's API writes: through sessions.record, with its refusals as field errors."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import ValidationError as ModelError
from drf_spectacular.types import OpenApiTypes
from rest_framework import status
from rest_framework.exceptions import PermissionDenied
from rest_framework.exceptions import ValidationError as ApiError
from rest_framework.fields import get_error_detail
from rest_framework.request import Request
from rest_framework.response import Response

from arsenal import access
from arsenal.api_base import Conflict, CreateViewSet, StoredSerializer
from arsenal.edits import Clash, StaleEdit
from arsenal.models.base import Stamped


@contextmanager
def refusals_as_answers() -> Iterator[None]:
    """What record refuses becomes a 400 with the field's own words, a stale edit a 409."""
    try:
        yield
    except ModelError as error:
        raise ApiError(get_error_detail(error)) from None
    except StaleEdit as stale:
        raise Conflict(stale.message) from None
    except Clash as clash:
        raise Conflict(str(clash)) from None


def answers(serializer: Any, *, creates: bool = False) -> dict[int, Any]:
    """What an action of its own may answer, for the schema."""
    refusals = dict.fromkeys((400, 403, 404, 409, 415), OpenApiTypes.OBJECT)
    return {200: serializer, **({201: serializer} if creates else {}), **refusals}


class RecordedSerializer(StoredSerializer):
    """A row written by sessions.record; `apart` names fields that are no columns of it."""

    apart: tuple[str, ...] = ()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        kept = {name: attrs.pop(name) for name in self.apart if name in attrs}
        return super().validate(attrs) | kept


class RecordedViewSet(CreateViewSet):
    """Adds rows through `write_new`; the same uuid sent again answers with the row it made."""

    def create(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        known = self._known(request.data)
        if known is not None:
            return Response(self.get_serializer(known).data)
        serializer = self.get_serializer(data=request.data)
        serializer.is_valid(raise_exception=True)
        values = {name: value for name, value in serializer.validated_data.items() if name != "version"}
        with refusals_as_answers():
            row, new = self.write_new(values)
        code = status.HTTP_201_CREATED if new else status.HTTP_200_OK
        return Response(self._answer(row), status=code)

    def write_new(self, values: dict[str, Any]) -> tuple[Stamped, bool]:
        raise NotImplementedError

    def mine(self) -> Any:
        """The row of the address, if the person may change it."""
        row = self.get_object()
        if not access.may_change(self.person, row):
            raise PermissionDenied
        return row

    def _answer(self, row: Stamped) -> Any:
        fresh = self.get_queryset().filter(pk=row.pk).first()
        return self.get_serializer(fresh or row).data


class RecordedEditViewSet(RecordedViewSet):
    """Adds and changes rows; deleting is no part of it."""

    def update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        row = self.mine()
        serializer = self.get_serializer(row, data=request.data, partial=kwargs.pop("partial", False))
        serializer.is_valid(raise_exception=True)
        values = dict(serializer.validated_data)
        expected = values.pop("version")
        with refusals_as_answers():
            row = self.write_edit(row, values, expected)
        return Response(self._answer(row))

    def partial_update(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return self.update(request, *args, partial=True, **kwargs)

    def write_edit(self, row: Any, values: dict[str, Any], expected_version: int) -> Stamped:
        raise NotImplementedError
