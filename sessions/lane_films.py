"""What is known of the film each lane began with, told in as few rows as say it."""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.db.models import Max
from django.utils import timezone

from sessions.counted import counting_lines
from sessions.lane_state import dressed_lanes
from sessions.models import Block, BlockEntry, Dressing, Lane, NotDressed, Shot


@dataclass(frozen=True)
class Film:
    """Neighbouring lanes with the same last dressing."""

    lanes: tuple[Lane, ...]
    dressing: Dressing | None
    known_not_dressed: bool = False
    other_sheet: bool = False

    @property
    def label(self) -> str:
        first, last = self.lanes[0].number, self.lanes[-1].number
        return f"Lane {first}" if first == last else f"Lanes {first}–{last}"


def films_of(lanes: Iterable[Lane]) -> list[Film]:
    """The lanes in order with their last dressing, as the house knows it now."""
    ordered = list(lanes)
    dressings = Dressing.objects.filter(lane__in=ordered).select_related("pattern_version__pattern")
    latest = {dressing.lane_id: dressing for dressing in dressings.order_by("done_at", "pk")}
    return _in_rows([Film((lane,), latest.get(lane.pk)) for lane in ordered])


def films_of_block(block: Block, entries: Sequence[BlockEntry]) -> list[Film]:
    """The lanes that this block is planned on, each with the dressing that this block is bowled on.

    What was dressed for another day, or after the last ball of a block that is over, is not this block's.
    """
    visits = [visit for entry in entries for visit in entry.visits.all()]
    lanes = {lane.pk: lane for visit in visits for lane in (visit.left_lane, visit.right_lane)}
    dressed = dressed_lanes(lanes.values(), block, _over_at(block)) if lanes else {}
    known = NotDressed.objects.filter(lane__in=lanes, before_block=block)
    not_dressed = set(known.values_list("lane_id", flat=True)) if lanes else set()
    return _in_rows([_of_block(block, lane, dressed[pk].dressing, not_dressed) for pk, lane in lanes.items()])


def other_sheets(films: Iterable[Film]) -> Mapping[str, Dressing]:
    """By label, the dressings with another sheet than their block's."""
    return {film.label: film.dressing for film in films if film.other_sheet and film.dressing}


def _of_block(block: Block, lane: Lane, dressing: Dressing | None, not_dressed: Container[int]) -> Film:
    is_other = dressing is not None and dressing.pattern_version_id != block.pattern_version_id
    return Film((lane,), dressing, known_not_dressed=lane.pk in not_dressed, other_sheet=is_other)


def _over_at(block: Block) -> datetime | None:
    """When a block that is over had its last ball: one that is finished, or was bowled on an earlier day."""
    zone = block.event.zone
    is_finished = block.state == Block.State.FINISHED
    if not is_finished and block.starts_at.astimezone(zone).date() >= timezone.now().astimezone(zone).date():
        return None
    thrown = Shot.objects.filter(entry__block=block, undone_at=None).aggregate(at=Max("thrown_at"))["at"]
    typed = counting_lines().filter(game__entry__block=block).aggregate(at=Max("bowled_at"))["at"]
    if thrown is None and typed is None and not is_finished:
        return None
    return max(moment for moment in (block.starts_at, thrown, typed) if moment is not None)


def _in_rows(singles: Sequence[Film]) -> list[Film]:
    ordered = sorted(singles, key=lambda film: film.lanes[0].number)
    return [_together(list(group)) for _, group in groupby(enumerate(ordered), key=_alike)]


def _alike(item: tuple[int, Film]) -> tuple[object, ...]:
    """Equal for lanes that stand in one row: side by side, dressed alike at the same minute."""
    place, film = item
    dressing = film.dressing
    when = dressing and (dressing.pattern_version_id, dressing.done_at.replace(second=0, microsecond=0))
    return film.lanes[0].number - place, when, film.known_not_dressed, film.other_sheet


def _together(group: list[tuple[int, Film]]) -> Film:
    films = [film for _, film in group]
    first = films[0]
    lanes = tuple(lane for film in films for lane in film.lanes)
    return Film(lanes, first.dressing, first.known_not_dressed, first.other_sheet)
