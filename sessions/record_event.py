"""Writes of events and blocks: rules of the event, who bowls, with which bag, on which pairs."""

import uuid
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Q
from django.utils import timezone

from arsenal.edits import create_once, save_edit
from arsenal.models import Ball, Bowler, Person
from arsenal.models.surface import WindowKind
from patterns.models import PatternVersion
from sessions.counted import has_deliveries
from sessions.dependents import of_entries, of_house, on_pair
from sessions.facts import refuse_moment
from sessions.jobs import owe, owe_advice_to, owing
from sessions.limits import LANE, MOVE, refusals, refuse
from sessions.models import (
    BagBall,
    Block,
    BlockEntry,
    Event,
    EventWindow,
    Lane,
    Objective,
    PairVisit,
    PracticeWindow,
)
from sessions.pairs import check_span, crossing, lane_of, pair_of
from sessions.record_shot import begin_block, hold, known_before


@dataclass(frozen=True, kw_only=True)
class WindowRule:
    """What an event says of one kind of window. A kind without a rule is unset."""

    allowed: bool
    by_hand: bool = True
    by_machine: bool = False
    where: str = ""


def save_event(
    event: Event,
    windows: Mapping[str, WindowRule] | None,
    *,
    by: Person,
    expected_version: int | None = None,
) -> tuple[Event, bool]:
    """Store a new event, or an edit of the version the editor saw, with its windows: (event, was it new).

    Without `windows` the rules stay as they are. Raises StaleEdit when somebody was faster.
    """
    event.full_clean(exclude=["uuid"], validate_unique=False)
    with transaction.atomic():
        created = False
        if event.pk is None:
            event, created = create_once(event, by)
            if not created:
                return event, False
        else:
            _check_bags_fit(event)
            _check_house_may_change(event)
            save_edit(event, expected_version or 0, by)
        if windows is not None:
            _set_windows(event, windows)
        # The field that is assumed beside the team wears every lane of the house.
        owe(of_house(event.house_id))
    return event, created


def save_block(block: Block, *, by: Person, expected_version: int | None = None) -> tuple[Block, bool]:
    """Store a new block, or an edit of the version the editor saw; StaleEdit when somebody was faster."""
    block.full_clean(exclude=["uuid"], validate_unique=False)
    with transaction.atomic(), owing(block) as owed:
        if block.pk is None:
            return create_once(block, by)
        last = (
            max(block.entries.values_list("games__number", flat=True), key=lambda n: n or 0, default=0) or 0
        )
        if block.games_planned < last:
            raise ValidationError(
                {"games_planned": f"Number of games {block.games_planned} is too few: {last} are begun."}
            )
        _check_sheet_may_change(block)
        save_edit(block, expected_version or 0, by)
        # Blocks after it may run on over its lanes.
        owed.update(of_house(block.event.house_id))
    return block, False


def set_block_state(block: Block, state: str, *, by: Person) -> Block:
    if state not in Block.State.values:
        raise ValidationError({"state": f"State “{state}” is not known: {', '.join(Block.State.values)}."})
    with transaction.atomic(), owing(block) as owed:
        block = Block.objects.select_for_update(of=("self",)).get(pk=block.pk)
        if block.state != state:
            block.state = state
            save_edit(block, block.version, by)
            owed.update(of_entries(block.entries.all()))
    return block


def enter_bowler(
    block: Block, bowler: Bowler, *, objective: str, balls: Collection[Ball], by: Person, uid: uuid.UUID
) -> tuple[BlockEntry, bool]:
    """Put a bowler into a block with a bag: (entry, was it new)."""
    if bowler.team_id != block.event.team_id:
        raise ValidationError({"bowler": f"Bowler {bowler.name} is not allowed: not of this team."})
    with transaction.atomic():
        # Locked, so that of two people who enter the same bowler one is told.
        Block.objects.select_for_update(of=("self",)).get(pk=block.pk)
        there = BlockEntry.objects.filter(block=block, bowler=bowler).first()
        if there is not None and there.uuid != uid:
            raise ValidationError({"bowler": f"{bowler.name} is already in this block: once each."})
        new = BlockEntry(uuid=uid, block=block, bowler=bowler, objective=_objective(objective))
        entry, created = create_once(new, by)
        if created:
            _set_bag(entry, balls)
    return entry, created


def save_entry(
    entry: BlockEntry, *, objective: str, balls: Collection[Ball], by: Person, expected_version: int
) -> BlockEntry:
    """Change what a bowler is after in a block and which balls are in the bag."""
    with transaction.atomic():
        hold(entry)
        entry.objective = _objective(objective)
        save_edit(entry, expected_version, by)
        _set_bag(entry, balls)
        owe_advice_to(BlockEntry.objects.filter(pk=entry.pk))
    return entry


def put_away(entry: BlockEntry, ball: Ball, away: bool) -> BagBall:
    """A ball put away is offered no more in this block; taking it out again offers it again."""
    with transaction.atomic():
        entry = hold(entry)
        place = entry.bag.select_related("ball").filter(ball=ball).first()
        if place is None:
            raise ValidationError({"ball": f"Ball “{ball.name}” is not in the bag of this block."})
        if place.put_away != away:
            place.put_away = away
            place.save(update_fields=["put_away"])
            owe_advice_to(BlockEntry.objects.filter(pk=entry.pk))
    return place


def plan_crossing(
    entry: BlockEntry,
    *,
    start_lane: int,
    move_pairs: int,
    starts_on_left: bool,
    first_lane: int,
    last_lane: int,
) -> list[PairVisit]:
    """Lay out the pairs of all games not yet begun: so many pairs to the right after each game."""
    refuse(
        refusals(
            {
                "start_lane": start_lane,
                "first_lane": first_lane,
                "last_lane": last_lane,
                "move_pairs": move_pairs,
            },
            {"start_lane": LANE, "first_lane": LANE, "last_lane": LANE, "move_pairs": MOVE},
        )
    )
    refuse(check_span(start_lane, first_lane, last_lane))
    with transaction.atomic():
        entry = hold(entry)
        house = entry.block.event.house
        lane_of(house, last_lane, "last_lane")
        begun = set(entry.games.values_list("number", flat=True))
        lefts = crossing(start_lane, move_pairs, entry.block.games_planned, first_lane, last_lane)
        for number, left_number in enumerate(lefts, start=1):
            if number in begun:
                continue
            left, right = pair_of(house, left_number)
            place = {"left_lane": left, "right_lane": right, "starts_on_left": starts_on_left}
            PairVisit.objects.update_or_create(entry=entry, game_number=number, defaults=place)
        owe_advice_to(BlockEntry.objects.filter(pk=entry.pk))
    return list(entry.visits.all())


def open_practice(
    entry: BlockEntry, *, kind: str, lane: Lane, started_at: datetime | None, uid: uuid.UUID
) -> tuple[PracticeWindow, bool]:
    """Begin practice on a pair: (practice, was it new)."""
    with transaction.atomic(), owing(entry.block) as owed:
        entry = hold(entry)
        if known := known_before(PracticeWindow, uid, entry):
            return known, False
        refuse(refuse_moment(started_at, "started_at", "Began"))
        left, right = pair_of(entry.block.event.house, lane.number)
        practice = PracticeWindow.objects.create(
            uuid=uid,
            entry=entry,
            kind=kind,
            left_lane=left,
            right_lane=right,
            started_at=started_at or timezone.now(),
        )
        begin_block(entry.block)
        owed.update(on_pair(entry, left, right))
    return practice, True


# --- only here --------------------------------------------------------------------------------------


def _set_windows(event: Event, windows: Mapping[str, WindowRule]) -> None:
    if unknown := [kind for kind in windows if kind not in WindowKind.values]:
        raise ValidationError(
            {"windows": f"Window “{unknown[0]}” is not known: {', '.join(WindowKind.values)}."}
        )
    event.windows.exclude(kind__in=windows).delete()
    for kind, rule in windows.items():
        EventWindow.objects.update_or_create(event=event, kind=kind, defaults=vars(rule))


def _check_bags_fit(event: Event) -> None:
    if event.max_balls is None:
        return
    entries = BlockEntry.objects.filter(block__event=event).annotate(carried=Count("bag"))
    fullest = entries.select_related("bowler", "block").order_by("-carried").first()
    if fullest is not None and fullest.carried > event.max_balls:
        raise ValidationError(
            {
                "max_balls": f"Balls allowed {event.max_balls} is not allowed: {fullest.bowler.name} carries "
                f"{fullest.carried} in {fullest.block.name}. Take balls out of that bag first."
            }
        )


def _check_house_may_change(event: Event) -> None:
    before = Event.objects.filter(pk=event.pk).values_list("house_id", flat=True).first()
    if before != event.house_id and PairVisit.objects.filter(entry__block__event=event).exists():
        raise ValidationError({"house": "House is not allowed to change: pairs are planned in the old one."})


def _check_sheet_may_change(block: Block) -> None:
    """What was bowled on one sheet is not said to have been bowled on another without a trace.

    A dressing keeps both: the block's sheet, and who said when that the lanes had another one.
    """
    before = PatternVersion.objects.select_related("pattern").filter(blocks=block.pk).first()
    if before is None or before.pk == block.pattern_version_id or not has_deliveries(block):
        return
    raise ValidationError(
        {
            "pattern_version": f"Pattern {block.pattern_version} is not allowed: shots of this block are "
            f"logged on {before}. If the lanes had another sheet, log that they were dressed with it before "
            f"{block.name}."
        }
    )


def _objective(objective: str) -> str:
    if objective not in Objective.values:
        raise ValidationError(
            {"objective": f"Objective “{objective[:20]}” is not known: {', '.join(Objective.values)}."}
        )
    return objective


def _set_bag(entry: BlockEntry, balls: Collection[Ball]) -> None:
    most = entry.block.event.max_balls
    wrong = [ball for ball in balls if ball.bowler_id != entry.bowler_id]
    if wrong:
        raise ValidationError(
            {"balls": f"Ball “{wrong[0].name}” is not allowed: it is not one of {entry.bowler.name}'s balls."}
        )
    if twice := next((ball for ball, count in Counter(balls).items() if count > 1), None):
        raise ValidationError({"balls": f"Ball “{twice.name}” is named twice: each ball once."})
    if most is not None and len(balls) > most:
        raise ValidationError(
            {"balls": f"A bag of {len(balls)} balls is not allowed: this event allows {most}."}
        )
    leaving = entry.bag.exclude(ball__in=balls)
    in_shots, in_lines = Q(ball__shots__entry=entry), Q(ball__stretches__line__game__entry=entry)
    if thrown := leaving.filter(in_shots | in_lines).select_related("ball").first():
        raise ValidationError(
            {"balls": f"Ball “{thrown.ball.name}” was thrown in this block: put it away instead."}
        )
    leaving.delete()
    there = set(entry.bag.values_list("ball_id", flat=True))
    BagBall.objects.bulk_create(BagBall(entry=entry, ball=ball) for ball in balls if ball.pk not in there)
