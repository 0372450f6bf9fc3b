"""Every write of a pattern: one function each, whole or not at all, for pages and API alike."""

import uuid
from dataclasses import asdict, dataclass

from django.db import IntegrityError, transaction
from django.db.models import F, Max

from arsenal.access import changeable
from arsenal.models import Person, Team
from motion.errors import MotionError
from patterns.engine_inputs import stored_film
from patterns.models import Pattern, PatternVersion
from patterns.sheet_types import ParsedSheet, Problem, SheetError


class StaleEdit(Exception):
    """Someone saved the pattern after this edit was opened."""

    def __init__(self, current: Pattern) -> None:
        self.current = current
        newest = current.versions.order_by("-number").first()
        who = current.changed_by or "Someone"
        number = newest.number if newest else 0
        self.message = (
            f"Version: {who} saved “{current.name}” (version {number}, edit {current.version}) after "
            "you opened it. What you typed is kept here and not saved; compare it with the saved one first."
        )
        super().__init__(self.message)


class UnknownToken(Exception):
    """The token names something this person cannot see."""


@dataclass(frozen=True)
class Details:
    """What a pattern says about itself beside its sheet."""

    name: str
    note: str = ""
    shared_with_guests: bool = False


def create_pattern(
    team: Team, person: Person, token: uuid.UUID, details: Details, parsed: ParsedSheet
) -> tuple[Pattern, bool]:
    """The new pattern with its first version, and True; or the one this token already made, and False."""
    known = _known(person, token)
    if known is not None:
        return known, False
    try:
        with transaction.atomic():
            pattern = Pattern.objects.create(uuid=token, team=team, changed_by=person, **asdict(details))
            _add_version(pattern, 1, person, token, parsed)
    except IntegrityError:
        # Two submissions of one token at once: the other was quicker.
        known = _known(person, token)
        if known is None:
            raise
        return known, False
    return pattern, True


def _known(person: Person, token: uuid.UUID) -> Pattern | None:
    found = changeable(person, Pattern).filter(uuid=token).first()
    if found is None and (
        Pattern.objects.filter(uuid=token).exists()
        or PatternVersion.objects.filter(submission=token).exists()
    ):
        raise UnknownToken
    return found


def update_pattern(
    pattern: Pattern,
    person: Person,
    token: uuid.UUID,
    seen_version: int,
    details: Details,
    parsed: ParsedSheet | None,
) -> Pattern:
    """Save the edit. A changed sheet becomes the next version; blocks keep the one they were bowled on.

    `parsed` None leaves the sheet alone. Raises StaleEdit if the pattern moved on since `seen_version`.
    """
    with transaction.atomic():
        if pattern.versions.filter(submission=token).exists():
            pattern.refresh_from_db()
            return pattern
        moved = Pattern.objects.filter(pk=pattern.pk, version=seen_version).update(version=F("version") + 1)
        current = Pattern.objects.get(pk=pattern.pk)
        if not moved:
            raise StaleEdit(current)
        if PatternVersion.objects.filter(submission=token).exists():
            raise UnknownToken
        current.name, current.note = details.name, details.note
        current.shared_with_guests = details.shared_with_guests
        current.changed_by = person
        current.save()
        newest = current.versions.order_by("-number").first()
        if parsed is not None and (newest is None or not _same_sheet(newest, parsed)):
            number = (current.versions.aggregate(last=Max("number"))["last"] or 0) + 1
            _add_version(current, number, person, token, parsed)
    return current


def _add_version(
    pattern: Pattern, number: int, person: Person, token: uuid.UUID, parsed: ParsedSheet
) -> PatternVersion:
    return PatternVersion.objects.create(
        pattern=pattern, number=number, created_by=person, submission=token, **_fields(parsed)
    )


def _fields(parsed: ParsedSheet) -> dict[str, object]:
    try:
        film = stored_film(parsed)
    except MotionError as error:
        raise SheetError([Problem(parsed.entry, parsed.entry, f"{error}.")]) from error
    rebuilt = parsed.entry != PatternVersion.Entry.TABLE
    return {
        "entry": parsed.entry,
        "length_ft": parsed.length_ft,
        "unit": PatternVersion.Unit.UNITS if rebuilt else parsed.unit,
        "distances_ft": film.distances_ft,
        "oil": film.oil,
        "passes": [asdict(line) for line in parsed.passes] if parsed.entry == "passes" else None,
        "ratio": parsed.ratio,
        "stated_volume_ml": parsed.stated_volume_ml,
        "viscosity_cp": parsed.viscosity_cp,
        "lane_surface": parsed.lane_surface,
        "source_note": parsed.source_note,
    }


def _same_sheet(version: PatternVersion, parsed: ParsedSheet) -> bool:
    return all(getattr(version, name) == value for name, value in _fields(parsed).items())
