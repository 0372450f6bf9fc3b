"""Pages of the patterns app."""

import uuid

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from arsenal import access
from patterns.models import Pattern


@login_required
def pattern_list(request: HttpRequest) -> HttpResponse:
    patterns = access.visible(request.user, Pattern)
    return render(request, "patterns/patterns.html", {"section": "patterns", "patterns": patterns})


@login_required
def pattern_page(request: HttpRequest, pattern: uuid.UUID) -> HttpResponse:
    found = access.get_visible(request.user, Pattern, uuid=pattern)
    return render(request, "patterns/pattern.html", {"section": "patterns", "pattern": found})


@login_required
def pattern_new(request: HttpRequest) -> HttpResponse:
    raise Http404


@login_required
def pattern_parse(request: HttpRequest) -> HttpResponse:
    raise Http404


@login_required
def pattern_edit(request: HttpRequest, pattern: uuid.UUID) -> HttpResponse:
    raise Http404


@login_required
def version_page(request: HttpRequest, pattern: uuid.UUID, number: int) -> HttpResponse:
    raise Http404


@login_required
def version_csv(request: HttpRequest, pattern: uuid.UUID, number: int) -> HttpResponse:
    raise Http404
