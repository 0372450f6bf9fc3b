"""Who may write patterns at all, asked by pages and API before anything is read from a request."""

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from arsenal.models import Membership, Person
from arsenal.models.people import Role


def may_write(request: HttpRequest) -> bool:
    membership: Membership | None = getattr(request, "membership", None)
    return membership is not None and membership.role in (Role.COACH, Role.PLAYER)


def writer(request: HttpRequest) -> tuple[Person, Membership]:
    """The person and the team they write for, or the 403 that guests get."""
    membership: Membership | None = getattr(request, "membership", None)
    if membership is None or not may_write(request) or not isinstance(request.user, Person):
        raise PermissionDenied
    return request.user, membership
