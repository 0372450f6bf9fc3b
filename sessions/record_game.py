"""Writes of games: the pair they are bowled on, and a whole game typed as a line."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from arsenal.models import Ball, Person, Release
from motion.errors import MotionError
from motion.notation import format_game, parse_game
from sessions.counted import counted_shots
from sessions.deliveries import FRAME_TAKES
from sessions.dependents import Debt, of_entries, on_pair
from sessions.facts import refuse_ball, refuse_moment, refuse_release
from sessions.jobs import owe, owing
from sessions.limits import GAME, STRETCH_LIMITS, refusals
from sessions.models import BlockEntry, Game, GameLine, Lane, LineStretch, PairVisit, Shot
from sessions.pairs import pair_of
from sessions.record_shot import begin_block, hold, known_before, open_game

NOTATION_LENGTH = 120


@dataclass(frozen=True, kw_only=True)
class StretchFacts:
    """Ball and line for frames `first_frame` to `last_frame`; boards are the bowler's own side."""

    first_frame: int
    last_frame: int
    ball: Ball | None
    release: Release | None = None
    laydown_board: float | None = None
    target_board: float | None = None
    target_ft: float | None = None


@dataclass(frozen=True)
class TypedLine:
    """The stored line, and whether this submission stored it or an earlier one did."""

    line: GameLine
    created: bool


def log_line(
    entry: BlockEntry,
    number: int,
    *,
    notation: str,
    stretches: Sequence[StretchFacts],
    bowled_at: datetime | None,
    by: Person,
    uid: uuid.UUID,
    instead_of_shots: bool = False,
) -> TypedLine:
    """Store a game typed in trade notation; the newest line counts, older ones stay in the record.

    A game has shots or a line, never both, so that no delivery counts twice. While shots count, a line is
    refused, unless the person says that it takes their place: then they count no more, until it is undone.
    """
    with transaction.atomic(), owing(entry.block) as owed:
        entry = hold(entry)
        if known := known_before(GameLine, uid, entry):
            return TypedLine(known, created=False)
        frames_text, frame_count = _read(notation)
        wrong = refuse_moment(bowled_at, "bowled_at", "When bowled") | refusals(
            {"game_number": number}, {"game_number": GAME}
        )
        if wrong:
            raise ValidationError(wrong)
        check_stretches(stretches, entry, frame_count)
        moment = bowled_at or _time_of_corrected(entry, number, frame_count) or timezone.now()
        game = open_game(entry, number, moment - FRAME_TAKES * frame_count)
        shots = _shots_in_the_way(game, instead_of_shots)
        line = GameLine.objects.create(
            uuid=uid, game=game, notation=frames_text, bowled_at=moment, entered_by=by
        )
        LineStretch.objects.bulk_create(_stretch(line, facts) for facts in stretches)
        shots.update(undone_at=timezone.now(), undone_by=by, set_aside_by=line)
        begin_block(entry.block)
        owed.update(on_pair(entry, game.left_lane, game.right_lane))
    return TypedLine(line, created=True)


def undo_line(line: GameLine) -> GameLine:
    """Take back a line; what it took the place of counts again: an earlier line, or shots. Twice is once."""
    with transaction.atomic(), owing(line.game.entry.block) as owed:
        entry = hold(line.game.entry)
        line.refresh_from_db()
        if line.undone_at is not None:
            return line
        newest = line.game.lines.filter(undone_at=None).order_by("created_at", "pk").last()
        if newest is not None and newest.pk != line.pk:
            raise ValidationError({"line": "Undo the newest line of this game first."})
        line.undone_at = timezone.now()
        line.save(update_fields=["undone_at", "updated_at"])
        line.set_aside.update(undone_at=None, undone_by=None, set_aside_by=None)
        owed.update(on_pair(entry, line.game.left_lane, line.game.right_lane))
    return line


def set_pair(entry: BlockEntry, number: int, *, lane: Lane, starts_on_left: bool) -> PairVisit:
    """Say on which pair a game is bowled and where it starts; a game already begun is moved with its shots.

    A shot whose lane was said apart keeps its side of the pair.
    """
    with transaction.atomic():
        entry = hold(entry)
        if number > entry.block.games_planned or number < 1:
            raise ValidationError(
                {"game_number": f"Game {number} is not allowed: 1 to {entry.block.games_planned}."}
            )
        left, right = pair_of(entry.block.event.house, lane.number)
        place = {"left_lane": left, "right_lane": right, "starts_on_left": starts_on_left}
        visit, _ = PairVisit.objects.update_or_create(entry=entry, game_number=number, defaults=place)
        game = entry.games.select_related("left_lane", "right_lane").filter(number=number).first()
        owed: set[Debt] = set()
        if game is not None and any(getattr(game, name) != value for name, value in place.items()):
            owed |= _move_game(game, left, right, starts_on_left)
        owe(owed | of_entries(BlockEntry.objects.filter(pk=entry.pk)))
    return visit


def check_stretches(stretches: Sequence[StretchFacts], entry: BlockEntry, frame_count: int) -> None:
    """Every frame bowled has one ball; messages name the row."""
    wrong: dict[str, str] = {}
    covered: list[int] = []
    for row, facts in enumerate(stretches, start=1):
        found = refusals(vars(facts), STRETCH_LIMITS)
        found |= refuse_ball(facts.ball, entry) | refuse_release(facts.release, entry)
        if not found and facts.last_frame < facts.first_frame:
            found["last_frame"] = (
                f"Last frame {facts.last_frame} is not allowed: {facts.first_frame}, the first, to 10."
            )
        wrong |= {f"stretch_{row}_{field}": text for field, text in found.items()}
        covered += range(facts.first_frame, facts.last_frame + 1) if not found else ()
    if wrong:
        raise ValidationError(wrong)
    if twice := sorted({frame for frame in covered if covered.count(frame) > 1}):
        raise ValidationError(
            {"stretches": f"Frame {twice[0]} is in two stretches: each frame has one ball."}
        )
    if missing := sorted(set(range(1, frame_count + 1)) - set(covered)):
        raise ValidationError(
            {"stretches": f"Frame {missing[0]} has no ball: the stretches cover every frame bowled."}
        )


def _read(notation: str) -> tuple[str, int]:
    """The notation in its one written form, and how many frames it has."""
    try:
        frames = parse_game(notation[: NOTATION_LENGTH * 2])
    except MotionError as error:
        where = error.field.capitalize()
        raise ValidationError(
            {"notation": f"{where} “{error.value}” is not allowed: {error.allowed}."}
        ) from None
    if not frames:
        raise ValidationError({"notation": "Frames are missing: type them like X 9/ 81 7- (8)1."})
    return format_game(frames), len(frames)


def _time_of_corrected(entry: BlockEntry, number: int, frame_count: int) -> datetime | None:
    """When the line was bowled that a new one corrects; None where there is none, or the game went on."""
    lines = GameLine.objects.filter(game__entry=entry, game__number=number, undone_at=None)
    corrected = lines.order_by("created_at", "pk").last()
    if corrected is None or frame_count > _read(corrected.notation)[1]:
        return None
    return corrected.bowled_at


def _stretch(line: GameLine, facts: StretchFacts) -> LineStretch:
    return LineStretch(
        line=line,
        first_frame=facts.first_frame,
        last_frame=facts.last_frame,
        ball=facts.ball,
        release=facts.release,
        laydown_board=facts.laydown_board,
        target_board=facts.target_board,
        target_ft=15.0 if facts.target_ft is None else facts.target_ft,
    )


def _shots_in_the_way(game: Game, instead_of_shots: bool) -> "QuerySet[Shot]":
    """The counted shots of the game; refused unless the line is said to take their place."""
    shots = game.shots.filter(undone_at=None)
    if not instead_of_shots and (count := shots.count()):
        text = (
            f"Game {game.number} already has {count} logged shot{'s' if count > 1 else ''}, and a game has "
            "shots or a line. Log the rest as shots, or say that this line takes their place."
        )
        raise ValidationError({"instead_of_shots": text})
    return shots


def _move_game(game: Game, left: Lane, right: Lane, starts_on_left: bool) -> set[Debt]:
    """Move the game with its shots: everyone who is owed advice for it, on the old pair and the new."""
    old = (game.left_lane, game.right_lane)
    game.left_lane, game.right_lane, game.starts_on_left = left, right, starts_on_left
    game.save(update_fields=["left_lane", "right_lane", "starts_on_left", "updated_at"])
    for shot in counted_shots(game):
        if shot.lane_corrected:
            shot.lane = left if shot.lane_id == old[0].pk else right
            shot.lane_corrected = shot.lane != game.lane_of_frame(shot.frame_number)
        else:
            shot.lane = game.lane_of_frame(shot.frame_number)
        shot.save(update_fields=["lane", "lane_corrected", "updated_at"])
    return on_pair(game.entry, *old) | on_pair(game.entry, left, right)
