"""Who may see the logbook; read by arsenal.access."""

from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import Http404

from arsenal.access import OF_A_BALL, Reader, Rule, may_change, register, visible
from arsenal.models import Membership, Team
from arsenal.models.people import Role
from sessions import models

SHARED_EVENT = "shared_with_guests"

register(models.House, Rule(team="team", player_may_change=True))
register(models.Lane, Rule(team="house__team", player_may_change=True))
register(models.Dressing, Rule(team="lane__house__team", player_may_change=True))
register(models.NotDressed, Rule(team="lane__house__team", player_may_change=True))
register(models.Event, Rule(team="team", shared=(SHARED_EVENT,), player_may_change=True))
register(
    models.EventWindow, Rule(team="event__team", shared=(f"event__{SHARED_EVENT}",), player_may_change=True)
)
register(models.Block, Rule(team="event__team", shared=(f"event__{SHARED_EVENT}",), player_may_change=True))


def _of_entry(path: str) -> Rule:
    """Rows that belong to one bowler's block: the bowler and the coach may change them."""
    dot = f"{path}__" if path else ""
    return Rule(
        team=f"{dot}block__event__team",
        owner=f"{dot}bowler__person",
        shared=(f"{dot}block__event__{SHARED_EVENT}",),
    )


register(models.BlockEntry, _of_entry(""))
# What somebody carries is theirs and the team's, whatever else of the event is shared.
register(models.BagBall, Rule(team="entry__block__event__team", owner="entry__bowler__person"))
register(models.PairVisit, _of_entry("entry"))
register(models.Game, _of_entry("entry"))
register(models.GameLine, _of_entry("game__entry"))
register(models.PracticeWindow, _of_entry("entry"))
register(models.Shot, _of_entry("entry"))
register(models.OwedAdvice, _of_entry("entry"))
register(models.Advice, _of_entry("owed__entry"))
# A comment hangs on one of three things, and whoever sees that thing reads it.
register(models.Comment, OF_A_BALL, _of_entry("game__entry"), _of_entry("shot__entry"))


def dressing_to_undo(person: Reader, uuid: UUID) -> models.Dressing:
    """As `get_changeable`, but finds one already undone too, so that undoing twice is undoing once."""
    rows = models.Dressing.with_undone.select_related("lane__house")
    found = rows.filter(uuid=uuid, lane__house__in=visible(person, models.House)).first()
    if found is None:
        raise Http404
    if not may_change(person, found.lane.house):
        raise PermissionDenied
    return found


def may_record(person: Reader, team: Team) -> bool:
    """Coaches and players add houses and events to their team; guests read."""
    roles = (Role.COACH, Role.PLAYER)
    return (
        person.is_authenticated
        and Membership.objects.filter(person=person, team=team, role__in=roles).exists()
    )
