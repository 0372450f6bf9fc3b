"""New entries of a ball's surface log, and corrections, which are new entries too."""

import uuid
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from arsenal import access
from arsenal.edits import Clash
from arsenal.forms.surface import SurfaceForm, WithdrawForm
from arsenal.models import Ball, Person, SurfaceEntry
from arsenal.models.surface import ALTERING, SurfaceKind, WindowKind
from arsenal.surface_state import surface_state
from arsenal.views.edit import save_or_show
from arsenal.views.person import person_of
from motion.surface import CAUTIONS, surface_window

COPIED = frozenset(SurfaceForm.Meta.fields)


@login_required
def surface_new(request: HttpRequest, ball: uuid.UUID) -> HttpResponse:
    found = access.get_changeable(person_of(request), Ball, uuid=ball)
    return _page(request, SurfaceEntry(ball=found), {"state": surface_state(found)})


def _page(request: HttpRequest, entry: SurfaceEntry, context: dict[str, Any]) -> HttpResponse:
    ball = entry.ball
    form = SurfaceForm(request.POST or None, instance=entry, person=person_of(request))
    return save_or_show(
        request,
        form,
        template="arsenal/surface_edit.html",
        context={"ball": ball, "cautions": CAUTIONS, **context},
        then=lambda saved: reverse("ball", args=[ball.uuid]),
        said=_said,
    )


def _said(entry: SurfaceEntry) -> str:
    """An entry is a fact and is kept; what the published rules make of it is said with it."""
    if entry.kind not in ALTERING or entry.window == WindowKind.HOME:
        return "The entry is in the surface log."
    answer = surface_window(None, entry.window.replace("_", " "), "machine" if entry.by_machine else "hand")
    return f"The entry is in the surface log. {answer.text}"


@login_required
def surface_correct(request: HttpRequest, entry: uuid.UUID) -> HttpResponse:
    """Replace an entry with a right one, or withdraw it; the old one stays in the log, struck through."""
    old = access.get_changeable(person_of(request), SurfaceEntry, uuid=entry)
    if request.POST.get("part") == "withdraw":
        return _withdraw(request, old)
    return _page(request, _replacement(old), {"old": old, "withdraw_form": WithdrawForm(auto_id=False)})


def _withdraw(request: HttpRequest, old: SurfaceEntry) -> HttpResponse:
    form = WithdrawForm(request.POST, instance=_withdrawal(old), auto_id=False)
    if form.is_valid() and _stored(form, person_of(request)):
        messages.success(request, "The entry is withdrawn; it stays in the log and counts no more.")
        return redirect("ball", old.ball.uuid)
    replace = SurfaceForm(instance=_replacement(old), person=person_of(request))
    context = {"section": "bags", "form": replace, "ball": old.ball, "cautions": CAUTIONS, "old": old}
    return render(request, "arsenal/surface_edit.html", {**context, "withdraw_form": form}, status=400)


def _stored(form: WithdrawForm, person: Person) -> bool:
    try:
        form.store(person)
    except Clash as clash:
        form.add_error(None, str(clash))
        return False
    return True


def _withdrawal(old: SurfaceEntry) -> SurfaceEntry:
    return SurfaceEntry(ball=old.ball, corrects=old, kind=SurfaceKind.WITHDRAWN, done_at=timezone.now())


def _replacement(old: SurfaceEntry) -> SurfaceEntry:
    """A new entry that begins as a copy of the one it corrects."""
    copied = {
        field.name: getattr(old, field.name) for field in SurfaceEntry._meta.fields if field.name in COPIED
    }
    if old.kind == SurfaceKind.WITHDRAWN:
        copied["kind"] = SurfaceKind.CLEANED
    return SurfaceEntry(ball=old.ball, corrects=old, **copied)
