"""Saving what people send, once and never over somebody else's work."""

from collections.abc import Iterable
from typing import TypeVar

from django.core.exceptions import ObjectDoesNotExist
from django.db import IntegrityError, transaction
from django.db.models import F
from django.http import Http404

from arsenal.access import changeable
from arsenal.models import Person, Stamped
from arsenal.models.base import Edited

S = TypeVar("S", bound=Stamped)


class StaleEdit(Exception):
    """Somebody saved this row after the editor opened it; `current` is what is stored now."""

    def __init__(self, current: Stamped) -> None:
        self.current = current
        super().__init__(self.message)

    @property
    def message(self) -> str:
        who = getattr(self.current, "changed_by", None) or "Somebody"
        name = self.current._meta.verbose_name
        return (
            f"{who} changed this {name} at {self.current.updated_at:%Y-%m-%d %H:%M} UTC, after you opened it."
            f" Nothing was saved: the saved version is {self.current.version}."
        )


class Clash(Exception):
    """A new row cannot stand beside what is stored already; the text says why."""


class SentBefore(Clash):
    """A page that was sent already came again with other values, as after the browser's back button."""

    def __init__(self, row: Stamped, differing: Iterable[str]) -> None:
        super().__init__(
            f"This page was sent before and saved the {row._meta.verbose_name} “{row}”. What differs now is "
            f"not saved: {', '.join(differing)}. Open what is saved and change it there."
        )


def save_edit(instance: Stamped, expected_version: int, person: Person) -> None:
    """Store an edited row if it is still the version the editor saw; raise StaleEdit otherwise.

    The conditional update takes the row's lock, so of two people saving at once one is told.
    """
    manager = type(instance)._default_manager
    with transaction.atomic():
        held = manager.filter(pk=instance.pk, version=expected_version).update(version=F("version") + 1)
        if not held:
            try:
                current = manager.get(pk=instance.pk)
            except ObjectDoesNotExist:
                raise Http404 from None
            raise StaleEdit(current)
        instance.version = expected_version + 1
        if isinstance(instance, Edited):
            instance.changed_by = person
        instance.save()


def create_once(instance: S, person: Person) -> tuple[S, bool]:
    """Store a new row, or find the one an earlier submission of the same uuid stored: (row, was it new).

    A uuid that belongs to a row the person may not change answers like a row that does not exist.
    """
    if isinstance(instance, Edited):
        instance.changed_by = person
    if (known := _known(instance, person)) is not None:
        return known, False
    try:
        with transaction.atomic():
            instance.save(force_insert=True)
    except IntegrityError:
        # The same submission, sent twice at once, may have won the race.
        if (known := _known(instance, person)) is not None:
            return known, False
        name = instance._meta.verbose_name
        raise Clash(f"Somebody saved another {name} here a moment ago; look at it first.") from None
    return instance, True


def _known(instance: S, person: Person) -> S | None:
    model = type(instance)
    if not model._default_manager.filter(uuid=instance.uuid).exists():
        return None
    mine = changeable(person, model).filter(uuid=instance.uuid).first()
    if mine is None:
        raise Http404
    return mine
