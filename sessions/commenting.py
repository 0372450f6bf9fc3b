"""Comments on a ball, a game or a shot: who reads them, who writes them, and what one may be."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model, QuerySet
from django.http import Http404

from arsenal.access import get_visible, may_change, visible
from arsenal.forms.voice import PlainForm
from arsenal.models import Ball, Person
from sessions.models import Comment, Game, Shot

# What may be commented on, by the name used in addresses.
KINDS: dict[str, type[Model]] = {"ball": Ball, "game": Game, "shot": Shot}
LONGEST = 1000


@dataclass(frozen=True)
class Subject:
    """The thing commented on. Readers are those who see it; a coach and its owner may write."""

    person: Person
    kind: str
    thing: Ball | Game | Shot
    may_write: bool

    @property
    def comments(self) -> QuerySet[Comment]:
        return _on(self.person, **{self.kind: self.thing})


def subject_of(person: Person, kind: str, uuid: UUID) -> Subject:
    """A thing this person sees; 404 for one they do not, for one that is not there, and for other kinds."""
    if kind not in KINDS:
        raise Http404
    thing = get_visible(person, KINDS[kind], uuid=uuid)
    return Subject(person, kind, thing, may_change(person, thing))  # type: ignore[arg-type]


def _on(person: Person, **things: Any) -> QuerySet[Comment]:
    return visible(person, Comment).filter(**things).select_related("written_by")


class CommentForm(PlainForm, forms.Form):
    """The uuid makes a doubled submission find the first one."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    text = forms.CharField(label="Comment", required=False, widget=forms.Textarea(attrs={"rows": 2}))


def write_comment(subject: Subject, person: Person, text: str, uuid: UUID) -> tuple[Comment, bool]:
    """Store a comment, once however often it is sent: (comment, was it new).

    Somebody else's uuid answers like a missing thing.
    """
    if not text.strip():
        raise ValidationError({"text": f"Comment is empty: write 1 to {LONGEST} characters."})
    if len(text) > LONGEST:
        raise ValidationError(
            {"text": f"Comment of {len(text)} characters is too long: 1 to {LONGEST} characters."}
        )
    try:
        with transaction.atomic():
            return Comment.objects.create(
                uuid=uuid, written_by=person, text=text, **{subject.kind: subject.thing}
            ), True
    except IntegrityError:
        known = subject.comments.filter(uuid=uuid, written_by=person).first()
        if known is None:
            raise Http404 from None
        return known, False


def comments_by(person: Person, kind: str, keys: Iterable[int]) -> dict[int, list[Comment]]:
    """The comments this person reads, by primary key of the thing, in one query."""
    found: dict[int, list[Comment]] = {}
    for comment in _on(person, **{f"{kind}__in": list(keys)}):
        found.setdefault(getattr(comment, f"{kind}_id"), []).append(comment)
    return found
