"""What is known of the film each lane began with, told in as few rows as say it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from sessions.models import Block, BlockEntry, Dressing, Lane, NotDressed


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


def films_of(lanes: Iterable[Lane], block: Block | None = None) -> list[Film]:
    """The lanes in order with their last dressing; with a block, also what is known before the block."""
    ordered = sorted(lanes, key=lambda lane: lane.number)
    dressings = Dressing.objects.filter(lane__in=ordered).select_related("pattern_version__pattern")
    latest = {dressing.lane_id: dressing for dressing in dressings.order_by("done_at", "pk")}
    not_dressed = set(
        NotDressed.objects.filter(lane__in=ordered, before_block=block).values_list("lane_id", flat=True)
        if block
        else ()
    )
    singles = [
        Film(
            lanes=(lane,),
            dressing=latest.get(lane.pk),
            known_not_dressed=lane.pk in not_dressed,
            other_sheet=block is not None
            and lane.pk in latest
            and latest[lane.pk].pattern_version_id != block.pattern_version_id,
        )
        for lane in ordered
    ]
    return [_together(list(group)) for _, group in groupby(enumerate(singles), key=_alike)]


def films_of_block(block: Block, entries: Sequence[BlockEntry]) -> list[Film]:
    """The lanes that this block is planned on."""
    visits = [visit for entry in entries for visit in entry.visits.all()]
    lanes = {lane.pk: lane for visit in visits for lane in (visit.left_lane, visit.right_lane)}
    return films_of(lanes.values(), block)


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
