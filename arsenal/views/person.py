"""The signed-in person and the team a page is about."""

from typing import cast

from django.http import Http404, HttpRequest

from arsenal.models import Membership, Person, Team


def person_of(request: HttpRequest) -> Person:
    """The signed-in person; only for views behind `login_required`."""
    return cast(Person, request.user)


def team_in_view(request: HttpRequest) -> Team | None:
    """The team whose lists this person looks at now; None where there is none."""
    membership: Membership | None = getattr(request, "membership", None)
    return membership.team if membership else None


def membership_or_404(request: HttpRequest) -> Membership:
    membership: Membership | None = getattr(request, "membership", None)
    if membership is None:
        raise Http404
    return membership
