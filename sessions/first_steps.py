"""What a coach and a player do first, in order: each with the page where it is done, and whether it is."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, QuerySet
from django.urls import reverse
from django.utils.translation import gettext as _

from arsenal.access import visible
from arsenal.models import Ball, Bowler, Membership, Person, Release, SurfaceEntry, Team
from arsenal.models.bowler import ReleaseKind
from arsenal.models.people import Role
from patterns.models import Pattern
from sessions.models import Block, BlockEntry, Dressing, Event, House, NotDressed, Shot


@dataclass(frozen=True)
class Step:
    """`needed`: without it nothing can be bowled and advised."""

    title: str
    detail: str
    url: str
    done: bool
    needed: bool = True


def first_steps(person: Person, membership: Membership) -> list[Step]:
    """The steps that fit the person's role; empty once nothing needed is left, and for guests."""
    if membership.role == Role.GUEST:
        return []
    of_role = _of_a_coach if membership.role == Role.COACH else _of_a_player
    steps = of_role(person, membership.team)
    return steps if any(step.needed and not step.done for step in steps) else []


def _of_a_player(person: Person, team: Team) -> list[Step]:
    own = visible(person, Bowler).filter(team=team, person=person).order_by("pk").first()
    begin = reverse("bowler-new")
    card, bag, ball = begin, begin, begin
    if own is not None:
        card, bag, ball = (reverse(name, args=[own.uuid]) for name in ("bowler-edit", "bag", "ball-new"))
    entry = BlockEntry.objects.filter(bowler=own, bowler__isnull=False).order_by("-block__starts_at").first()
    balls = Ball.objects.filter(bowler=own, bowler__isnull=False)
    return [
        Step(_("Make your card"), _("your hand, your axis point, your feet."), card, own is not None),
        _release_step([own] if own else [], begin),
        Step(
            _("Put your balls in the bag"),
            _("weight, radius of gyration, cover; the layout comes after."),
            ball,
            balls.exists(),
        ),
        Step(
            _("Log each ball's surface"),
            _("on the ball's own page: what was last done to it. Games are counted from there."),
            bag,
            SurfaceEntry.objects.filter(ball__in=balls).exists(),
            needed=False,
        ),
        Step(
            _("Enter a block"), _("with your bag and your pairs."), _entering(person, team), entry is not None
        ),
        Step(
            _("Log your first shot"),
            _("beside the lane; advice then appears there by itself."),
            reverse("lane-side", args=[entry.uuid]) if entry else reverse("events"),
            entry is not None and Shot.objects.filter(entry__bowler=own).exists(),
        ),
    ]


def _of_a_coach(person: Person, team: Team) -> list[Step]:
    return [
        Step(
            _("Invite your players"),
            _("a link for each of them; it works once."),
            f"{reverse('team')}#invite",
            Membership.objects.filter(team=team, role=Role.PLAYER).exists(),
            needed=False,
        ),
        *_arsenal_steps(person, team),
        *_event_steps(person, team),
    ]


def _arsenal_steps(person: Person, team: Team) -> list[Step]:
    bowlers = visible(person, Bowler).filter(team=team).order_by("pk")
    without_ball = bowlers.filter(balls__isnull=True).first()
    return [
        Step(_("Add a bowler"), _("hand, axis point, feet."), reverse("bowler-new"), bowlers.exists()),
        _release_step(bowlers, reverse("bags")),
        Step(
            _("Put balls in the bag"),
            _("weight, radius of gyration, cover, layout, and what was last done to the surface."),
            reverse("ball-new", args=[without_ball.uuid]) if without_ball else reverse("bags"),
            _of(person, Ball, bowler__team=team).exists(),
        ),
        Step(
            _("Type in a pattern sheet"),
            _("oil by board at several distances, or paste it from a spreadsheet."),
            reverse("pattern-new"),
            _of(person, Pattern, team=team).exists(),
        ),
    ]


def _event_steps(person: Person, team: Team) -> list[Step]:
    house = _of(person, House, team=team).order_by("pk").first()
    event = _of(person, Event, team=team).order_by("-starts_on", "-pk").first()
    blocks = _of(person, Block, event__team=team)
    newest = blocks.order_by("-starts_at", "-pk").first()
    to_open = blocks.filter(state=Block.State.PLANNED).order_by("starts_at", "pk").first() or newest
    dressed = any(_of(person, model, lane__house__team=team).exists() for model in (Dressing, NotDressed))
    if newest is not None:
        house = newest.event.house
    return [
        Step(
            _("Add the house"),
            _("where you bowl, and how many lanes it has."),
            reverse("house-new"),
            house is not None,
        ),
        Step(
            _("Enter an event"),
            _("the days, and when its rules let surfaces be altered."),
            reverse("event-new"),
            event is not None,
        ),
        Step(
            _("Plan a block in it"),
            _("games, start and pattern."),
            reverse("block-new", args=[event.uuid]) if event else reverse("events"),
            newest is not None,
        ),
        Step(
            _("Enter bowlers in the block"),
            _("who bowls, with which bag, on which pairs."),
            reverse("entry-new", args=[newest.uuid]) if newest else reverse("events"),
            _of(person, BlockEntry, block__event__team=team).exists(),
        ),
        Step(
            _("Dress the lanes"),
            _("say when the lanes were oiled, and with which sheet."),
            reverse("house", args=[house.uuid]) if house else reverse("houses"),
            dressed,
        ),
        Step(
            _("Open the block"),
            _("begin it on its page. Then log the first shot lane-side, and advice appears."),
            reverse("block", args=[to_open.uuid]) if to_open else reverse("events"),
            blocks.exclude(state=Block.State.PLANNED).exists(),
        ),
    ]


def _release_step(bowlers: "Iterable[Bowler] | QuerySet[Bowler]", otherwise: str) -> Step:
    """A strike release of one bowler is enough to begin with."""
    known = list(bowlers)
    thrown = set(
        Release.objects.filter(bowler__in=known, kind=ReleaseKind.STRIKE).values_list("bowler_id", flat=True)
    )
    without = next((bowler for bowler in known if bowler.pk not in thrown), None)
    if without is not None:
        url = reverse("release-new", args=[without.uuid])
    else:
        url = reverse("bag", args=[known[0].uuid]) if known else otherwise
    return Step(_("Add a strike release"), _("speed, rev rate, rotation and tilt."), url, bool(thrown))


def _entering(person: Person, team: Team) -> str:
    """The next block that is not over and has not got this person yet."""
    blocks = _of(person, Block, event__team=team).exclude(state=Block.State.FINISHED)
    free = blocks.exclude(entries__bowler__person=person).order_by("starts_at", "pk").first()
    return reverse("entry-new", args=[free.uuid]) if free else reverse("events")


def _of(person: Person, model: type[Model], **where: Any) -> "QuerySet[Any]":
    return visible(person, model).filter(**where)
