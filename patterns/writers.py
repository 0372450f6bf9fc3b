"""For which team somebody writes a new pattern, asked by pages and API before anything is read or stored."""

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest

from arsenal.models import Membership, Person, Team
from arsenal.models.people import Role

WRITERS = (Role.COACH, Role.PLAYER)


def may_write(request: HttpRequest) -> bool:
    """Whether new patterns can be entered for the team one looks at."""
    membership: Membership | None = getattr(request, "membership", None)
    return membership is not None and membership.role in WRITERS


def team_to_write_for(request: HttpRequest, named: Team | None = None) -> Team:
    """The team named, else the one looked at; guests of it get a 403."""
    if named is None:
        membership: Membership | None = getattr(request, "membership", None)
        if membership is None or not may_write(request):
            raise PermissionDenied
        return membership.team
    if not _writes(request).filter(team=named).exists():
        raise PermissionDenied
    return named


def check_writes_somewhere(request: HttpRequest) -> None:
    """For what stores nothing: a 403 for those who write for no team at all."""
    if not _writes(request).exists():
        raise PermissionDenied


def _writes(request: HttpRequest) -> QuerySet[Membership]:
    if not isinstance(request.user, Person):
        raise PermissionDenied
    return Membership.objects.filter(person=request.user, role__in=WRITERS)
