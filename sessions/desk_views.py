"""The team desk."""

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render

from arsenal.models.people import Role
from arsenal.views.person import person_of
from sessions import desk as glance
from sessions.first_steps import first_steps
from sessions.page_request import PageRequest
from sessions.work_state import work_state


@login_required
def desk(request: PageRequest) -> HttpResponse:
    """The team at a glance; the list of open blocks alone when it looks for news by itself."""
    person, membership = person_of(request), request.membership
    context: dict[str, object] = {"section": "desk", "work": work_state(), "team": None}
    if membership is None:
        return render(request, "sessions/desk.html", context)
    team = membership.team
    context |= {"team": team, "blocks": glance.open_blocks(person, team)}
    if request.htmx:
        return render(request, "sessions/_desk_blocks.html", context)
    return render(
        request,
        "sessions/desk.html",
        context
        | {
            "is_guest": membership.role == Role.GUEST,
            "due": glance.due_balls(person, team),
            "refresh": (glance.REFRESH_FROM, glance.REFRESH_BY),
            "next_blocks": glance.next_blocks(person, team),
            "last_blocks": glance.last_blocks(person, team),
            "is_player": membership.role == Role.PLAYER,
            "steps": first_steps(person, membership),
        },
    )
