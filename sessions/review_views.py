"""A block afterwards: scores, paths, advice and comments."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from arsenal.access import get_visible
from sessions.models import Block


@login_required
def review(request: HttpRequest, uuid: UUID) -> HttpResponse:
    block = get_visible(request.user, Block, uuid=uuid)
    return render(request, "sessions/review.html", {"section": "events", "block": block})
