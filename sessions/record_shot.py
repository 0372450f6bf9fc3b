"""Writes of shots: log, edit, undo. A shot is never deleted, and the same submission is stored once."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import Http404
from django.utils import timezone

from arsenal.models import Person, Stamped
from motion.leaves import FULL_RACK, leave_name
from sessions.counted import counted_shots
from sessions.dependents import on_pair
from sessions.facts import ShotFacts, check_facts, shot_from
from sessions.jobs import owing
from sessions.limits import FRAME, GAME, PRACTICE_THROW, THROW, refusals
from sessions.models import Block, BlockEntry, Game, Lane, PairVisit, PracticeWindow, Shot
from sessions.progress import Place, check_sequence, found_after, next_place
from sessions.whereabouts import where_is

S = TypeVar("S", bound=Stamped)


@dataclass(frozen=True)
class Logged:
    """The stored shot, and whether this submission stored it or an earlier one did."""

    shot: Shot
    created: bool


def log_shot(
    entry: BlockEntry,
    facts: ShotFacts,
    *,
    by: Person,
    uid: uuid.UUID,
    game_number: int | None = None,
    frame_number: int | None = None,
    throw_number: int | None = None,
) -> Logged:
    """Log the next throw of a game, the current one unless a number is given.

    A frame and throw, where given, say which place the person saw as the next; another one is refused, so
    that two people who log the same delivery end with one shot.
    """
    with transaction.atomic(), owing(entry.block) as owed:
        entry = hold(entry)
        if known := known_before(Shot, uid, entry):
            return Logged(known, created=False)
        check_place(game_number, frame_number, throw_number)
        game = game_for_shot(entry, game_number or where_is(entry).game_number, facts)
        shots = counted_shots(game)
        place = next_place(shots)
        if place is None:
            raise _too_many_frames(game)
        _check_expected(place, frame_number, throw_number, shots)
        shot = shot_from(facts, check_facts(facts, entry, place.standing, (game.left_lane, game.right_lane)))
        shot.frame_number, shot.throw_number = place.frame_number, place.throw_number
        shot.pins_before, shot.game = place.standing, game
        _place_on_lane(shot, facts.lane, game.lane_of_frame(place.frame_number))
        _store(shot, entry, by, uid)
        owed.update(on_pair(entry, game.left_lane, game.right_lane))
    return Logged(shot, created=True)


def log_practice_shot(
    practice: PracticeWindow,
    facts: ShotFacts,
    *,
    by: Person,
    uid: uuid.UUID,
    at_pins_left: bool = False,
    throw_number: int | None = None,
) -> Logged:
    """Log a delivery in practice; `at_pins_left` says it was thrown at what the last one left.

    A throw number, where given, says which one the person saw as the next; another one is refused, so that
    two people who log the same delivery end with one shot.
    """
    with transaction.atomic(), owing(practice.entry.block) as owed:
        entry = hold(practice.entry)
        if known := known_before(Shot, uid, entry):
            return Logged(known, created=False)
        if wrong := refusals({"throw_number": throw_number}, {"throw_number": PRACTICE_THROW}):
            raise ValidationError(wrong)
        last = practice.shots.filter(undone_at=None).order_by("-throw_number").first()
        number = last.throw_number + 1 if last is not None else 1
        _check_expected_in_practice(practice, number, throw_number)
        standing = found_after(last) if last is not None and at_pins_left else FULL_RACK
        lanes = (practice.left_lane, practice.right_lane)
        shot = shot_from(facts, check_facts(facts, entry, standing, lanes))
        shot.frame_number, shot.throw_number = 0, number
        shot.pins_before, shot.practice = standing, practice
        # In practice nobody is bound to change lanes, so where it is not said it is the lane of the last one.
        shot.lane = facts.lane or (last.lane if last else practice.left_lane)
        _store(shot, entry, by, uid)
        owed.update(on_pair(entry, *lanes))
    return Logged(shot, created=True)


def edit_shot(old: Shot, facts: ShotFacts, *, by: Person, uid: uuid.UUID) -> Logged:
    """Correct a shot: a new one takes its place and the old one stays in the record, counted no more."""
    with transaction.atomic(), owing(old.entry.block) as owed:
        entry = hold(old.entry)
        if known := known_before(Shot, uid, entry):
            return Logged(known, created=False)
        old.refresh_from_db()
        _check_still_counts(old)
        lanes = _lanes_of(old)
        shot = shot_from(facts, check_facts(facts, entry, old.pins_before, lanes))
        shot.frame_number, shot.throw_number, shot.pins_before = (
            old.frame_number,
            old.throw_number,
            old.pins_before,
        )
        shot.game, shot.practice, shot.replaces = old.game, old.practice, old
        shot.thrown_at = facts.thrown_at or old.thrown_at
        derived = old.game.lane_of_frame(old.frame_number) if old.game else old.lane
        _place_on_lane(shot, facts.lane, derived)
        if old.game is not None:
            check_sequence([shot if other.pk == old.pk else other for other in counted_shots(old.game)])
        _take_back(old, by)
        _store(shot, entry, by, uid)
        owed.update(on_pair(entry, *lanes))
    return Logged(shot, created=True)


def undo_shot(shot: Shot, *, by: Person) -> Shot:
    """Take back the newest shot of its game or practice. Undoing twice is undoing once."""
    with transaction.atomic(), owing(shot.entry.block) as owed:
        entry = hold(shot.entry)
        shot.refresh_from_db()
        if shot.undone_at is not None:
            return shot
        later = Shot.objects.filter(game=shot.game_id, practice=shot.practice_id, undone_at=None)
        newest = later.order_by("frame_number", "throw_number").last()
        if newest is not None and newest.pk != shot.pk:
            raise ValidationError(
                {"shot": f"Undo the newest first: {newest}. This is {shot}, {leave_name(shot.pins_left)}."}
            )
        _take_back(shot, by)
        owed.update(on_pair(entry, *_lanes_of(shot)))
    return shot


# --- shared with the other records ------------------------------------------------------------------


def hold(entry: BlockEntry) -> BlockEntry:
    """Lock the entry, so that its shots are written one after the other.

    Its key stays free: a team-mate's shot owes this entry advice, and a new row of that refers to it. Two who
    wrote at once would otherwise wait for each other's entry.
    """
    rows = BlockEntry.objects.select_for_update(of=("self",), no_key=True)
    locked = rows.select_related("block__event", "bowler")
    return locked.get(pk=entry.pk)


def known_before(model: type[S], uid: uuid.UUID, entry: BlockEntry) -> S | None:
    """The row an earlier submission of this uuid made; somebody else's answers like a missing one."""
    known = model._default_manager.filter(uuid=uid).first()
    if known is None:
        return None
    owner = known.entry_id if hasattr(known, "entry_id") else known.game.entry_id  # type: ignore[attr-defined]
    if owner != entry.pk:
        raise Http404
    return known


def open_game(entry: BlockEntry, number: int, started_at: datetime | None = None) -> Game:
    """The game of that number, begun now on the pair of the crossing plan if it is not there yet."""
    game = entry.games.select_related("left_lane", "right_lane").filter(number=number).first()
    if game is not None:
        return game
    if number > entry.block.games_planned:
        raise ValidationError(
            {"game_number": f"Game {number} is not allowed: 1 to {entry.block.games_planned} here."}
        )
    visit = (
        PairVisit.objects.select_related("left_lane", "right_lane")
        .filter(entry=entry, game_number=number)
        .first()
    )
    if visit is None:
        raise ValidationError({"game_number": f"Game {number} has no pair yet: choose the pair first."})
    return Game.objects.create(
        entry=entry,
        number=number,
        left_lane=visit.left_lane,
        right_lane=visit.right_lane,
        starts_on_left=visit.starts_on_left,
        started_at=started_at or timezone.now(),
    )


def begin_block(block: Block) -> None:
    """The first thing logged opens a block that was only planned."""
    Block.objects.filter(pk=block.pk, state=Block.State.PLANNED).update(state=Block.State.OPEN)


def check_place(game_number: int | None, frame_number: int | None, throw_number: int | None) -> None:
    values = {"game_number": game_number, "frame_number": frame_number, "throw_number": throw_number}
    limits = {"game_number": GAME, "frame_number": FRAME, "throw_number": THROW}
    if wrong := refusals(values, limits):
        raise ValidationError(wrong)


# --- only here --------------------------------------------------------------------------------------


def game_for_shot(entry: BlockEntry, number: int, facts: ShotFacts) -> Game:
    game = open_game(entry, number, facts.thrown_at)
    if game.lines.filter(undone_at=None).exists():
        raise ValidationError(
            {"game_number": f"Game {number} is typed as a line, so no shot is added: undo the line first."}
        )
    return game


def _check_expected(
    place: Place, frame_number: int | None, throw_number: int | None, shots: list[Shot]
) -> None:
    frame = place.frame_number if frame_number is None else frame_number
    throw = place.throw_number if throw_number is None else throw_number
    if (frame, throw) == (place.frame_number, place.throw_number):
        return
    there = next((shot for shot in shots if (shot.frame_number, shot.throw_number) == (frame, throw)), None)
    what = f" was logged meanwhile ({leave_name(there.pins_left)})" if there else " is not the next one"
    raise ValidationError({"frame_number": f"Frame {frame}, throw {throw}{what}. Next is {place}."})


def _check_expected_in_practice(practice: PracticeWindow, number: int, expected: int | None) -> None:
    if expected is None or expected == number:
        return
    there = practice.shots.filter(undone_at=None, throw_number=expected).first()
    what = f" was logged meanwhile ({leave_name(there.pins_left)})" if there else " is not the next one"
    raise ValidationError({"throw_number": f"Throw {expected}{what}. Next is throw {number}."})


def _too_many_frames(game: Game) -> ValidationError:
    text = f"Frame 11 is not allowed: a game has 10 frames, and game {game.number} is finished."
    return ValidationError({"frame_number": text})


def _place_on_lane(shot: Shot, said: Lane | None, derived: Lane) -> None:
    shot.lane = said or derived
    shot.lane_corrected = shot.lane != derived


def _store(shot: Shot, entry: BlockEntry, by: Person, uid: uuid.UUID) -> None:
    shot.uuid, shot.entry, shot.entered_by = uid, entry, by
    try:
        with transaction.atomic():
            shot.save(force_insert=True)
    except IntegrityError:
        # The entry is locked, so only a uuid that somebody else took this very moment is left.
        known_before(Shot, uid, entry)
        raise
    begin_block(entry.block)


def _check_still_counts(shot: Shot) -> None:
    if shot.undone_at is None:
        return
    who = f" by {shot.undone_by}" if shot.undone_by else ""
    raise ValidationError(
        {"shot": f"{str(shot).capitalize()} was changed or undone meanwhile{who}. Open the game again."}
    )


def _take_back(shot: Shot, by: Person) -> None:
    shot.undone_at, shot.undone_by = timezone.now(), by
    shot.save(update_fields=["undone_at", "undone_by", "updated_at"])


def _lanes_of(shot: Shot) -> tuple[Lane, Lane]:
    where = shot.game or shot.practice
    assert where is not None  # noqa: S101  (the database refuses a shot of neither)
    return where.left_lane, where.right_lane
