"""The team desk."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from arsenal.models.people import Role
from sessions import desk as glance
from sessions.work_state import work_state


@login_required
def desk(request: HttpRequest) -> HttpResponse:
    """The team at a glance; the list of open blocks alone when it looks for news by itself."""
    membership = request.membership  # type: ignore[attr-defined]
    context: dict[str, object] = {"section": "desk", "work": work_state(), "team": None}
    if membership is None:
        return render(request, "sessions/desk.html", context)
    team = membership.team
    context |= {"team": team, "blocks": glance.open_blocks(request.user, team)}
    if request.htmx:
        return render(request, "sessions/_desk_blocks.html", context)
    return render(
        request,
        "sessions/desk.html",
        context
        | {
            "is_guest": membership.role == Role.GUEST,
            "due": glance.due_balls(request.user, team),
            "refresh": (glance.REFRESH_FROM, glance.REFRESH_BY),
            "next_blocks": glance.next_blocks(request.user, team),
            "last_blocks": glance.last_blocks(request.user, team),
            "steps": glance.first_steps(request.user, team),
        },
    )
