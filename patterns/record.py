"""Every write of a pattern: one function each, whole or not at all, for pages and API alike."""

import uuid
from dataclasses import asdict, dataclass

from django.db import transaction
from django.http import Http404

from arsenal.edits import create_once, save_edit
from arsenal.models import Person, Team
from motion.errors import MotionError
from patterns.engine_inputs import stored_film
from patterns.models import Pattern, PatternVersion
from patterns.sheet_types import ParsedSheet, Problem, SheetError


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
    if PatternVersion.objects.filter(submission=token).exclude(pattern__uuid=token).exists():
        raise Http404
    with transaction.atomic():
        pattern, new = create_once(Pattern(uuid=token, team=team, **asdict(details)), person)
        if new:
            _add_version(pattern, 1, person, token, parsed)
    return pattern, new


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
            if _says(pattern, details, parsed):
                return pattern
            # The page came again with other words, as after the browser's back button: an edit of its own.
            token = uuid.uuid4()
        pattern.name, pattern.note = details.name, details.note
        pattern.shared_with_guests = details.shared_with_guests
        save_edit(pattern, seen_version, person)
        if PatternVersion.objects.filter(submission=token).exists():
            raise Http404
        newest = pattern.versions.order_by("-number").first()
        if parsed is not None and (newest is None or not _same_sheet(newest, parsed)):
            _add_version(pattern, newest.number + 1 if newest else 1, person, token, parsed)
    return pattern


def _says(pattern: Pattern, details: Details, parsed: ParsedSheet | None) -> bool:
    """Whether all of this is what is stored."""
    newest = pattern.versions.order_by("-number").first()
    stored = Details(pattern.name, pattern.note, pattern.shared_with_guests)
    return stored == details and (parsed is None or (newest is not None and _same_sheet(newest, parsed)))


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
