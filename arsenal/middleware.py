"""Puts the signed-in person's chosen team and time zone on the request."""

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from arsenal.access import membership_of


class CurrentTeamMiddleware:
    """Sets `request.membership` (or None) and shows times in the person's own zone."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.membership = membership_of(request)  # type: ignore[attr-defined]
        with timezone.override(_zone_of(request)):
            return self.get_response(request)


def _zone_of(request: HttpRequest) -> zoneinfo.ZoneInfo | None:
    name = getattr(request.user, "time_zone", "")
    try:
        return zoneinfo.ZoneInfo(name) if name else None
    except (zoneinfo.ZoneInfoNotFoundError, ValueError):
        return None
