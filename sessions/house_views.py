"""Houses of the team: lanes, and when each was dressed."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import Count, Max, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from arsenal.access import get_changeable, get_visible, may_change, visible
from arsenal.views.person import membership_or_404, person_of, team_in_view
from sessions import record
from sessions.access_rules import dressing_to_undo
from sessions.edit_page import edit_page
from sessions.event_views import may_add
from sessions.forms_base import written
from sessions.forms_house import NOT_DRESSED, DressForm, HouseForm
from sessions.lane_films import films_of
from sessions.models import Dressing, House


@login_required
def house_list(request: HttpRequest) -> HttpResponse:
    own = visible(person_of(request), House).filter(team=team_in_view(request))
    counted = Q(lanes__dressings__undone_at=None)
    houses = own.annotate(
        number_of_lanes=Count("lanes", distinct=True),
        last_dressed=Max("lanes__dressings__done_at", filter=counted),
    )
    return render(
        request,
        "sessions/houses.html",
        {"section": "events", "houses": houses.order_by("name"), "may_add": may_add(request)},
    )


@login_required
def house_new(request: HttpRequest) -> HttpResponse:
    if not may_add(request):
        raise PermissionDenied
    house = House(team=membership_or_404(request).team)
    return _edit(request, HouseForm(request.POST or None, instance=house), "The house is saved.")


@login_required
def house_edit(request: HttpRequest, uuid: UUID) -> HttpResponse:
    house = get_changeable(person_of(request), House, uuid=uuid)
    return _edit(request, HouseForm(request.POST or None, instance=house), "The house is saved.")


@login_required
def house(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_visible(person_of(request), House, uuid=uuid)
    return _house_page(request, found, DressForm(found))


@login_required
@require_POST
def house_dress(request: HttpRequest, uuid: UUID) -> HttpResponse:
    found = get_changeable(person_of(request), House, uuid=uuid)
    form = DressForm(found, request.POST)
    said = written(form, lambda data: _dress(request, found, data))
    if said is not None:
        messages.success(request, said)
        return redirect("house", found.uuid)
    return _house_page(request, found, form, status=400)


@login_required
@require_POST
def dressing_undo(request: HttpRequest, uuid: UUID) -> HttpResponse:
    dressing = dressing_to_undo(person_of(request), uuid)
    record.undo_dressing(dressing)
    messages.success(request, f"{dressing.lane}: entry taken back. It stays in the record.")
    return redirect("house", dressing.lane.house.uuid)


def _dress(request: HttpRequest, house: House, data: dict[str, Any]) -> str:
    by = person_of(request)
    lanes, block = list(data["lanes"]), data["before_block"]
    named = f"{len(lanes)} lane{'' if len(lanes) == 1 else 's'}"
    if data["what"] == NOT_DRESSED:
        record.leave_undressed(lanes, block, by=by)
        return f"{named} not dressed again before {block.name}."
    record.dress_lanes(
        house,
        lanes,
        data["pattern_version"],
        done_at=data["done_at"],
        before_block=block,
        note=data["note"],
        by=by,
        uid=data["uuid"],
    )
    return f"{named} dressed with {data['pattern_version']}."


def _house_page(request: HttpRequest, house: House, form: DressForm, status: int = 200) -> HttpResponse:
    dressings = Dressing.objects.filter(lane__house=house).select_related(
        "lane", "pattern_version__pattern", "before_block", "entered_by"
    )
    lanes = list(house.lanes.order_by("number"))
    context = {
        "section": "events",
        "house": house,
        "lanes": lanes,
        "films": films_of(lanes),
        "recent": dressings.order_by("-done_at", "lane__number")[:30],
        "form": form,
        "chosen_lanes": {str(number) for number in form["lanes"].value() or ()},
        "may_change": may_change(person_of(request), house),
    }
    return render(request, "sessions/house.html", context, status=status)


def _edit(request: HttpRequest, form: HouseForm, said: str) -> HttpResponse:
    return edit_page(
        request,
        form,
        template="sessions/house_form.html",
        context={},
        then=lambda saved: reverse("house", args=[saved.uuid]),
        said=said,
    )
