"""The API of comments: listed by what they are on, written by those who may change it."""

from typing import Any
from uuid import uuid4

from django.http import Http404
from rest_framework import serializers
from rest_framework.exceptions import ValidationError as ApiError

from arsenal.access import visible
from arsenal.api import NamedPerson
from arsenal.api_base import OwnRelated, uuid_or_none
from arsenal.models import Ball
from sessions.api_events import STAMP, filtered
from sessions.api_recorded import RecordedSerializer, RecordedViewSet
from sessions.commenting import KINDS, subject_of, write_comment
from sessions.models import Comment, Game, Shot


class CommentSerializer(RecordedSerializer):
    """On exactly one of `ball`, `game` and `shot`."""

    ball = OwnRelated(Ball, required=False, allow_null=True)
    game = OwnRelated(Game, required=False, allow_null=True)
    shot = OwnRelated(Shot, required=False, allow_null=True)
    text = serializers.CharField()
    written_by = NamedPerson(read_only=True, allow_null=True)

    class Meta:
        model = Comment
        fields = (*STAMP, *KINDS, "text", "written_by")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        named = [kind for kind in KINDS if attrs.get(kind) is not None]
        if len(named) != 1:
            said = " and ".join(named) or "nothing"
            raise ApiError({"ball": [f"A comment on {said} is not allowed: one of {', '.join(KINDS)}."]})
        return super().validate(attrs)


@filtered(*KINDS)
class CommentViewSet(RecordedViewSet):
    """Comments stay as they were written."""

    model = Comment
    serializer_class = CommentSerializer
    filters = {kind: f"{kind}__uuid" for kind in KINDS}
    related = (*KINDS, "written_by")

    def write_new(self, values: dict[str, Any]) -> tuple[Comment, bool]:
        kind = next(kind for kind in KINDS if values.get(kind) is not None)
        subject = subject_of(self.person, kind, values[kind].uuid)
        return write_comment(subject, self.person, values["text"], values.get("uuid") or uuid4())

    def _known(self, data: Any) -> Comment | None:
        key = uuid_or_none(data.get("uuid")) if isinstance(data, dict) else None
        if key is None or not Comment.objects.filter(uuid=key).exists():
            return None
        mine = visible(self.person, Comment).filter(uuid=key, written_by=self.person).first()
        if mine is None:
            raise Http404
        return mine
