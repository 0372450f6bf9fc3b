"""The team at a glance."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


@login_required
def desk(request: HttpRequest) -> HttpResponse:
    return render(request, "sessions/desk.html", {"section": "desk"})
