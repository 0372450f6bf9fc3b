"""A block afterwards: scores, paths, advice and comments."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from arsenal.access import BallNames, get_visible, visible
from arsenal.views.person import person_of
from patterns.models import Pattern
from sessions.models import Block, Game
from sessions.page_request import PageRequest
from sessions.review import review_of


@login_required
@require_safe
def review(request: PageRequest, uuid: UUID) -> HttpResponse:
    block = get_visible(request.user, Block, uuid=uuid)
    # Not "block": within the blocks of a template that name is the template's own.
    context = {"section": "events", "bowled": block, "entries": review_of(person_of(request), block)}
    context["sees_pattern"] = (
        visible(request.user, Pattern).filter(pk=block.pattern_version.pattern_id).exists()
    )
    return render(request, "sessions/review.html", context)


@login_required
@require_safe
def review_paths(request: PageRequest, uuid: UUID) -> HttpResponse:
    """The paths of one game, computed when they are asked for."""
    game = get_visible(request.user, Game, uuid=uuid)
    # The engine is heavy; pages that draw nothing have no use for it.
    from sessions.shot_paths import paths_of

    lanes = paths_of(game, BallNames(person_of(request)))
    template = "sessions/_paths.html" if request.htmx else "sessions/paths.html"
    return render(request, template, {"section": "events", "game": game, "lanes": lanes})
