"""Practice on a pair: a window of its own, with shots that belong to no game."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from arsenal.access import get_changeable, get_visible, may_change
from arsenal.views.person import person_of
from sessions import record
from sessions.forms_base import written
from sessions.forms_entry import PracticeForm
from sessions.forms_shot import ShotForm
from sessions.lane_side import PracticeSide, balls_to_choose
from sessions.lane_side_views import first_values
from sessions.models import BlockEntry, PracticeWindow
from sessions.recent_shots import told


@login_required
def practice_new(request: HttpRequest, uuid: UUID) -> HttpResponse:
    entry = get_changeable(person_of(request), BlockEntry, uuid=uuid)
    form = PracticeForm(entry, request.POST or None)
    begun = written(form, lambda data: _begin(entry, data))
    if begun is not None:
        return redirect("practice", begun.uuid)
    context = {"section": "events", "entry": entry, "form": form}
    return render(request, "sessions/practice_new.html", context, status=400 if form.is_bound else 200)


def _begin(entry: BlockEntry, data: dict[str, Any]) -> PracticeWindow:
    practice, _ = record.open_practice(
        entry, kind=data["kind"], lane=data["lane"], started_at=data["started_at"], uid=data["uuid"]
    )
    return practice


@login_required
def practice(request: HttpRequest, uuid: UUID) -> HttpResponse:
    window = get_visible(person_of(request), PracticeWindow, uuid=uuid)
    side = PracticeSide(window, at_pins_left="at_left" in request.GET)
    form = ShotForm(window.entry, side.pair, initial=first_values(side))
    return _show(request, side, form)


@login_required
@require_POST
def practice_log(request: HttpRequest, uuid: UUID) -> HttpResponse:
    window = get_changeable(person_of(request), PracticeWindow, uuid=uuid)
    side = PracticeSide(window, at_pins_left=bool(request.POST.get("at_pins_left")))
    form = ShotForm(window.entry, side.pair, request.POST)
    logged = written(form, lambda _: _log(request, window, form))
    if logged is None:
        return _show(request, side, _at_next_throw(request, form, side), status=400)
    return after_practice(request, window, f"Logged {told(logged.shot)}, {logged.shot.ball.name}.")


def after_practice(
    request: HttpRequest, window: PracticeWindow, said: str, *, is_refusal: bool = False
) -> HttpResponse:
    """The panel for the next throw with what was just said; without htmx the page itself."""
    if not request.htmx:  # type: ignore[attr-defined]
        (messages.error if is_refusal else messages.success)(request, said)
        return redirect("practice", window.uuid)
    fresh = PracticeSide(window)
    form = ShotForm(window.entry, fresh.pair, initial=first_values(fresh))
    status = 400 if is_refusal else 200
    return _show(request, fresh, form, said=said, is_refusal=is_refusal, status=status)


def _at_next_throw(request: HttpRequest, form: ShotForm, side: PracticeSide) -> ShotForm:
    """The refused form at the throw that is next now: who has read what was logged meanwhile may go on."""
    data = request.POST.copy()
    data["throw_number"] = str(side.place.throw_number)
    form.data = data
    return form


def _log(request: HttpRequest, window: PracticeWindow, form: ShotForm) -> record.Logged:
    data = form.cleaned_data
    return record.log_practice_shot(
        window,
        form.facts(),
        by=person_of(request),
        uid=data["uuid"],
        at_pins_left=data["at_pins_left"],
        throw_number=data["throw_number"],
    )


def _show(
    request: HttpRequest,
    side: PracticeSide,
    form: ShotForm,
    *,
    said: str = "",
    is_refusal: bool = False,
    status: int = 200,
) -> HttpResponse:
    entry = side.entry
    context = {
        "section": "events",
        "entry": entry,
        "bowler": entry.bowler,
        "practice": side.practice,
        "side": side,
        "form": form,
        "balls": balls_to_choose(entry),
        "chosen_ball": str(form["ball"].value() or ""),
        "chosen_lane": str(form["lane"].value() or ""),
        "touched": {str(pin) for pin in form["left"].value() or ()},
        "may_change": may_change(person_of(request), entry),
        "log_url": reverse("practice-log", args=[side.practice.uuid]),
        "said": said,
        "is_refusal": is_refusal,
    }
    name = "_practice.html" if request.htmx else "practice.html"  # type: ignore[attr-defined]
    return render(request, f"sessions/{name}", context, status=status)
