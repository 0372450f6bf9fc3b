"""Pages on which a pattern is entered and changed."""

import uuid
from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from arsenal import access
from arsenal.edits import SentBefore, StaleEdit
from arsenal.views.person import person_of
from patterns.models import Pattern
from patterns.record import Details, create_pattern, update_pattern
from patterns.sheet_form import SheetEntry, blank_entry, change, entry_of, read_post, take_text
from patterns.sheet_parser import parse_sheet, warnings
from patterns.sheet_types import ParsedSheet, Problem, SheetError
from patterns.stale import Difference, differences
from patterns.writers import check_writes_somewhere, team_to_write_for


@login_required
def pattern_new(request: HttpRequest) -> HttpResponse:
    person, team = person_of(request), team_to_write_for(request)
    if request.method != "POST":
        return _form(request, blank_entry(), None)
    entry = read_post(request.POST, request.FILES)
    ready = _ready(request, entry)
    if ready is None:
        return _form(request, entry, None)
    details, parsed = ready
    try:
        pattern, new = create_pattern(team, person, entry.token, details, parsed)
        if not new and (apart := differences(entry, pattern)):
            _refuse_sent_before(pattern, apart)
    except SheetError as error:
        entry.show(error)
        return _form(request, entry, None)
    return _saved(request, pattern, entry, parsed)


@login_required
def pattern_edit(request: HttpRequest, pattern: uuid.UUID) -> HttpResponse:
    person = person_of(request)
    found = access.get_changeable(person, Pattern, uuid=pattern)
    if request.method != "POST":
        return _form(request, entry_of(found, found.versions.order_by("-number").first()), found)
    entry = read_post(request.POST, request.FILES)
    ready = _ready(request, entry)
    if ready is None:
        return _form(request, entry, found)
    details, parsed = ready
    try:
        saved = update_pattern(found, person, entry.token, entry.version, details, parsed)
    except StaleEdit as stale:
        current = cast(Pattern, stale.current)
        found_apart = differences(entry, current)
        if found_apart:
            return _stale(request, entry, stale.message, current, found_apart)
        saved = current  # a second tap on Save: everything typed is stored already
    except SheetError as error:
        entry.show(error)
        return _form(request, entry, found)
    return _saved(request, saved, entry, parsed)


@login_required
@require_POST
def pattern_parse(request: HttpRequest) -> HttpResponse:
    """The sheet part of the form after one of its buttons, with its problems; saves nothing."""
    check_writes_somewhere(request)
    entry = read_post(request.POST, request.FILES)
    _act(request.POST.get("action", ""), entry)
    context = _context(entry, None) | {"checked": request.POST.get("action") in ("check", "take-text")}
    return render(request, "patterns/_sheet.html", context)


def _ready(request: HttpRequest, entry: SheetEntry) -> tuple[Details, ParsedSheet] | None:
    """What to save, or None: another button was pressed, or something is wrong and marked."""
    action = request.POST.get("action", "save")
    if action != "save":
        _act(action, entry)
        return None
    try:
        take_text(entry)
        parsed = parse_sheet(entry.raw)
    except SheetError as error:
        entry.show(error)
        return None
    if not entry.fields.is_valid():
        return None
    clean = entry.fields.cleaned_data
    return Details(clean["name"], clean["note"], clean["shared_with_guests"]), parsed


def _act(action: str, entry: SheetEntry) -> None:
    try:
        change(entry, action)
        if action in ("check", "take-text"):
            parse_sheet(entry.raw)
    except SheetError as error:
        entry.show(error)


def _context(entry: SheetEntry, pattern: Pattern | None) -> dict[str, object]:
    return {
        "section": "patterns",
        "pattern": pattern,
        "entry": entry,
        "form": entry.fields,
        "grid": entry.grid(),
        "passes": entry.pass_rows(),
        "passes_general": entry.messages("passes"),
        "problem_count": len(entry.problems),
    }


def _form(
    request: HttpRequest, entry: SheetEntry, pattern: Pattern | None, status: int = 200
) -> HttpResponse:
    if entry.fields.is_bound and (entry.problems or entry.fields.errors):
        status = 400 if request.POST.get("action", "save") == "save" else status
    return render(request, "patterns/pattern_form.html", _context(entry, pattern), status=status)


def _refuse_sent_before(pattern: Pattern, apart: list[Difference]) -> None:
    words = str(SentBefore(pattern, [difference.what for difference in apart]))
    raise SheetError([Problem("name", "name", words)])


def _stale(
    request: HttpRequest, entry: SheetEntry, message: str, current: Pattern, apart: list[Difference]
) -> HttpResponse:
    context = _context(entry, current)
    context |= {"stale": message, "current_version": current.version, "differences": apart}
    return render(request, "patterns/pattern_form.html", context, status=409)


def _saved(request: HttpRequest, pattern: Pattern, entry: SheetEntry, parsed: ParsedSheet) -> HttpResponse:
    messages.success(request, f"“{pattern.name}” is saved.")
    for words in warnings(parsed):
        messages.warning(request, words, extra_tags="warn")
    return redirect(f"{reverse('pattern', args=[pattern.uuid])}?saved={entry.token}")
