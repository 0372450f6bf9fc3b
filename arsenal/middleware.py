"""Puts the signed-in person's chosen team on the request."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from arsenal.access import membership_of


class CurrentTeamMiddleware:
    """Sets `request.membership` (or None) and, through it, the team and role of this request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.membership = membership_of(request)  # type: ignore[attr-defined]
        return self.get_response(request)
