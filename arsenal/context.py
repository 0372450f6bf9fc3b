"""What every template knows about the team."""

from django.http import HttpRequest


def current_team(request: HttpRequest) -> dict[str, object]:
    membership = getattr(request, "membership", None)
    return {"membership": membership, "team": membership.team if membership else None}
