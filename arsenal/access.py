"""The one place that decides what a person may see and change.

Every query for data shown to a person starts at `visible` or `changeable`; what is not in the answer does not
exist for them, so a stranger's object and a missing one both end in the same 404.

Each model is described by where its team is found, whose it is, and which flag shares it with guests. Apps
above this one register their models in their `access_rules` module when they are ready.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.db.models import Model, Q, QuerySet
from django.http import Http404, HttpRequest

from arsenal.models import Ball, Bowler, Invitation, Layout, Membership, Person, Release, SurfaceEntry, Team
from arsenal.models.people import Role

M = TypeVar("M", bound=Model)
Reader = Person | AnonymousUser

TEAM_IN_SESSION = "team_id"


@dataclass(frozen=True)
class Rule:
    """Lookup paths of one model. `owner` leads to the person whose own thing it is; "" means nobody's.

    `shared` leads to the flags that let guests read it, any of which suffices. `player_may_change`: any
    player of the team may change it (events, shared sheets), not only its owner or a coach.
    """

    team: str
    owner: str = ""
    shared: tuple[str, ...] = ()
    player_may_change: bool = False


OF_A_BALL = Rule(
    team="ball__bowler__team", owner="ball__bowler__person", shared=("ball__shared_with_guests",)
)
# Where a model has several rules, as what may hang on one thing or another, any of them suffices.
RULES: dict[type[Model], tuple[Rule, ...]] = {
    Team: (Rule(team="pk"),),
    Membership: (Rule(team="team"),),
    Invitation: (Rule(team="team"),),
    Bowler: (Rule(team="team", owner="person", shared=("shared_with_guests",)),),
    Release: (Rule(team="bowler__team", owner="bowler__person", shared=("bowler__shared_with_guests",)),),
    Ball: (Rule(team="bowler__team", owner="bowler__person", shared=("shared_with_guests",)),),
    Layout: (OF_A_BALL,),
    SurfaceEntry: (OF_A_BALL,),
}


def register(model: type[Model], *rules: Rule) -> None:
    """Describe a model of an app above this one."""
    RULES[model] = rules


def membership_of(request: HttpRequest) -> Membership | None:
    """The membership this request acts under: the chosen team, else the first joined."""
    if not request.user.is_authenticated:
        return None
    mine = Membership.objects.filter(person=request.user).select_related("team").order_by("joined_at", "pk")
    chosen = request.session.get(TEAM_IN_SESSION) if hasattr(request, "session") else None
    return (mine.filter(team_id=chosen).first() if chosen else None) or mine.first()


def _teams(person: Reader, *roles: Role) -> QuerySet[Membership, Any]:
    if not person.is_authenticated:
        return Membership.objects.none()
    return Membership.objects.filter(person=person, role__in=roles).values("team")


def visible(person: Reader, model: type[M]) -> QuerySet[M]:
    """Rows the person may read: all of their teams' as coach or player, the shared ones as guest."""
    allowed = Q()
    for rule in RULES[model]:
        allowed |= Q(**{f"{rule.team}__in": _teams(person, Role.COACH, Role.PLAYER)})
        as_guest = Q(**{f"{rule.team}__in": _teams(person, Role.GUEST)})
        if model is Team:
            allowed |= as_guest
        for flag in rule.shared:
            allowed |= as_guest & Q(**{flag: True})
    return model._default_manager.filter(allowed)


def changeable(person: Reader, model: type[M]) -> QuerySet[M]:
    """Rows the person may change: a coach all of the team's, a player their own."""
    allowed = Q()
    for rule in RULES[model]:
        allowed |= Q(**{f"{rule.team}__in": _teams(person, Role.COACH)})
        if rule.player_may_change:
            allowed |= Q(**{f"{rule.team}__in": _teams(person, Role.PLAYER)})
        elif rule.owner and person.is_authenticated:
            allowed |= Q(**{rule.owner: person.pk, f"{rule.team}__in": _teams(person, Role.PLAYER)})
    return model._default_manager.filter(allowed)


def may_change(person: Reader, instance: Model) -> bool:
    return changeable(person, type(instance)).filter(pk=instance.pk).exists()


def get_visible(person: Reader, model: type[M], **lookup: Any) -> M:
    """The row, or the 404 that also answers for rows that do not exist."""
    found = visible(person, model).filter(**lookup).first()
    if found is None:
        raise Http404
    return found


def get_changeable(person: Reader, model: type[M], **lookup: Any) -> M:
    """The row if the person may change it; a refusal if they may only read it, the same 404 otherwise."""
    found = get_visible(person, model, **lookup)
    if not may_change(person, found):
        raise PermissionDenied
    return found


class BallNames:
    """What a person may know of balls met in somebody's shots: a shared shot does not share the ball.

    A ball the person sees is called by its name; any other only by whose it is.
    """

    def __init__(self, person: Reader) -> None:
        self.person = person

    @cached_property
    def _teams(self) -> frozenset[int]:
        """Teams of which the person sees every ball."""
        rows = _teams(self.person, Role.COACH, Role.PLAYER).values_list("team_id", flat=True)
        return frozenset(rows)

    @cached_property
    def _balls(self) -> frozenset[int]:
        return frozenset(visible(self.person, Ball).values_list("pk", flat=True))

    def sees(self, ball_id: int | None, bowler: Bowler) -> bool:
        return bowler.team_id in self._teams or ball_id in self._balls

    def sees_all_of(self, bowler: Bowler) -> bool:
        return bowler.team_id in self._teams

    def of(self, ball_id: int | None, name: str, bowler: Bowler) -> str:
        return name if self.sees(ball_id, bowler) else self.unnamed(bowler)

    @staticmethod
    def unnamed(bowler: Bowler) -> str:
        return f"a ball of {bowler.name}"


def may_add_bowler(person: Reader, team: Team) -> bool:
    """A coach adds bowlers; a player makes their own card, once."""
    if not person.is_authenticated:
        return False
    role = Membership.objects.filter(person=person, team=team).values_list("role", flat=True).first()
    if role == Role.PLAYER:
        return not Bowler.objects.filter(team=team, person=person).exists()
    return role == Role.COACH


def is_coach(person: Reader, team: Team) -> bool:
    return (
        person.is_authenticated
        and Membership.objects.filter(person=person, team=team, role=Role.COACH).exists()
    )
