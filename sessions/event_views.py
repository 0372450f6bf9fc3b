"""Events of the team, each with its own rules."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from arsenal.access import get_changeable, get_visible, may_change, visible
from arsenal.models import Membership
from arsenal.views.person import membership_or_404, person_of, team_in_view
from sessions.access_rules import may_record
from sessions.edit_page import edit_page
from sessions.forms_event import WINDOW_KINDS, EventForm
from sessions.models import Event, House


@login_required
def event_list(request: HttpRequest) -> HttpResponse:
    events = (
        visible(person_of(request), Event)
        .filter(team=team_in_view(request))
        .select_related("house")
        .prefetch_related("blocks")
    )
    context = {
        "section": "events",
        "events": events,
        "may_add": may_add(request),
        "has_house": visible(person_of(request), House).filter(team=team_in_view(request)).exists(),
    }
    return render(request, "sessions/events.html", context)


@login_required
def event(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_visible(person_of(request), Event, uuid=uuid)
    known = {window.kind: window for window in found.windows.all()}
    context = {
        "section": "events",
        "event": found,
        "windows": [(kind.label, known.get(kind)) for kind in WINDOW_KINDS],
        "blocks": found.blocks.select_related("pattern_version__pattern").prefetch_related("entries__bowler"),
        "may_change": may_change(person_of(request), found),
    }
    return render(request, "sessions/event.html", context)


@login_required
def event_new(request: HttpRequest) -> HttpResponse:
    if not may_add(request):
        raise PermissionDenied
    team = membership_or_404(request).team
    new = Event(team=team, time_zone=person_of(request).time_zone)
    return _edit(request, EventForm(request.POST or None, instance=new), "The event is saved.")


@login_required
def event_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_changeable(person_of(request), Event, uuid=uuid)
    return _edit(request, EventForm(request.POST or None, instance=found), "The event is saved.")


def _edit(request: HttpRequest, form: EventForm, said: str) -> HttpResponse:
    return edit_page(
        request,
        form,
        template="sessions/event_form.html",
        context={"event": form.instance if form.instance.pk else None},
        then=lambda saved: reverse("event", args=[saved.uuid]),
        said=said,
    )


def may_add(request: HttpRequest) -> bool:
    membership: Membership | None = getattr(request, "membership", None)
    return membership is not None and may_record(person_of(request), membership.team)
