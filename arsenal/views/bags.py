"""The team's bags, one bowler's bag, and the bowler's card."""

import uuid
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from arsenal import access
from arsenal.bag import bag_rows
from arsenal.forms.bowler import BowlerForm, ReleaseForm
from arsenal.models import Bowler, Release, Team
from arsenal.models.people import Role
from arsenal.views.edit import save_or_show
from arsenal.views.person import membership_or_404, person_of, team_in_view


@login_required
def bags(request: HttpRequest) -> HttpResponse:
    """Every bowler of the team that the person may read, their own first."""
    person, membership = person_of(request), getattr(request, "membership", None)
    found = access.visible(person, Bowler).filter(team=team_in_view(request))
    found = found.annotate(ball_count=Count("balls", filter=Q(balls__in_bag=True))).select_related("person")
    bowlers = sorted(
        found, key=lambda bowler: (bowler.person_id != person.pk, not bowler.is_active, bowler.name)
    )
    may_add = membership is not None and access.may_add_bowler(person, membership.team)
    context = {"section": "bags", "bowlers": bowlers, "may_add": may_add}
    return render(request, "arsenal/bags.html", context)


@login_required
def bag(request: HttpRequest, bowler: uuid.UUID) -> HttpResponse:
    person = person_of(request)
    found = access.get_visible(person, Bowler, uuid=bowler)
    rows = bag_rows(person, found)
    context = {
        "section": "bags",
        "bowler": found,
        "releases": access.visible(person, Release).filter(bowler=found),
        "carried": [row for row in rows if row.ball.in_bag],
        "at_home": [row for row in rows if not row.ball.in_bag],
        "may_change": access.may_change(person, found),
    }
    return render(request, "arsenal/bag.html", context)


def _bowler_page(request: HttpRequest, instance: Bowler, team: Team, context: dict[str, Any]) -> HttpResponse:
    by_coach = access.is_coach(person_of(request), team)
    form = BowlerForm(request.POST or None, instance=instance, team=team, by_coach=by_coach)
    return save_or_show(
        request,
        form,
        template="arsenal/bowler_edit.html",
        context=context,
        then=lambda saved: reverse("bag", args=[saved.uuid]),
        said="The bowler's card is saved.",
    )


@login_required
def bowler_new(request: HttpRequest) -> HttpResponse:
    person, membership = person_of(request), membership_or_404(request)
    own = access.visible(person, Bowler).filter(team=membership.team, person=person)
    sent_before = any(str(card.uuid) == request.POST.get("uuid") for card in own)
    if not (sent_before or access.may_add_bowler(person, membership.team)):
        raise PermissionDenied
    instance = Bowler(team=membership.team, person=None if membership.role == Role.COACH else person)
    return _bowler_page(request, instance, membership.team, {"bowler": None})


@login_required
def bowler_edit(request: HttpRequest, bowler: uuid.UUID) -> HttpResponse:
    found = access.get_changeable(person_of(request), Bowler, uuid=bowler)
    return _bowler_page(request, found, found.team, {"bowler": found, "name": found.name})


def _release_page(request: HttpRequest, release: Release) -> HttpResponse:
    return save_or_show(
        request,
        ReleaseForm(request.POST or None, instance=release),
        template="arsenal/release_edit.html",
        context={"bowler": release.bowler, "release": release},
        then=lambda saved: reverse("bag", args=[saved.bowler.uuid]),
        said="The release is saved.",
    )


@login_required
def release_new(request: HttpRequest, bowler: uuid.UUID) -> HttpResponse:
    found = access.get_changeable(person_of(request), Bowler, uuid=bowler)
    return _release_page(request, Release(bowler=found))


@login_required
def release_edit(request: HttpRequest, release: uuid.UUID) -> HttpResponse:
    return _release_page(request, access.get_changeable(person_of(request), Release, uuid=release))
