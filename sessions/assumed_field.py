"""The rest of the field on the lanes, as the event describes it: so many others on each pair, game by game.

The field bowls along with the team. A half game of it is counted when the team's first bowler has finished
five frames of a game, the other half after ten; so what is assumed follows from the log alone and not from
the clock.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, cast

from django.db.models import F, Min

from motion.advice_types import FieldTraffic
from motion.notation import parse_game
from sessions.counted import counting_lines
from sessions.deliveries import frame_times
from sessions.models import Block, Event, House, Shot
from sessions.traffic import FieldStretch

HALF = 0.5
HALF_MARKS = (5, 10)


def field_of(event: Event, games: float) -> FieldTraffic | None:
    """So many games of the others on one pair, by the event's share of hands; None when nobody is assumed."""
    others, share = event.others_per_pair, event.right_handed_share
    if not others or games <= 0.0:
        return None
    return FieldTraffic(right_bowlers=others * share, left_bowlers=others * (1.0 - share), games=games)


def field_since(house: House, dressed: Mapping[int, datetime]) -> list[FieldStretch]:
    """The field's stretches on every pair of the house since the earliest of these dressings."""
    if not dressed:
        return []
    marks = _marks({"game__entry__block__event__house": house}, min(dressed.values()))
    events = {event.pk: event for event in Event.objects.filter(pk__in={key[0] for key in marks})}
    found = []
    for (event_id, *_), moment in marks.items():
        if (traffic := field_of(events[event_id], HALF)) is not None:
            found.append(FieldStretch(moment, traffic))
    return sorted(found, key=lambda stretch: stretch.by)


# Event, block, game number and half.
Mark = tuple[int, int, int, int]


def marks_of(block: Block) -> dict[Mark, datetime]:
    """The marks that this block gives the field of its house; none where the event assumes nobody."""
    if block.pk is None or not block.event.others_per_pair:
        return {}
    return _marks({"game__entry__block": block})


def _marks(where: Mapping[str, Any], since: datetime | None = None) -> dict[Mark, datetime]:
    """When each half of each game of each block was first bowled by somebody of the team."""
    names = {"block": "game__entry__block", "event": "game__entry__block__event", "number": "game__number"}
    here = {**where, "undone_at": None}
    columns: dict[str, Any] = {name: F(path) for name, path in names.items()}
    thrown = {"thrown_at__gte": since} if since else {}
    shots = (
        Shot.objects.filter(**here, **thrown, frame_number__in=HALF_MARKS)
        .values(**columns, half=F("frame_number"))
        .annotate(moment=Min("thrown_at"))
    )
    typed = {"bowled_at__gte": since} if since else {}
    lines = (
        counting_lines()
        .filter(**here, **typed)
        .values("notation", **columns, moment=F("bowled_at"), begun=F("game__started_at"))
    )
    marks: dict[Mark, datetime] = {}
    row: dict[str, Any]
    for row in cast(Iterable[dict[str, Any]], shots):
        _note(marks, (row["event"], row["block"], row["number"], row["half"]), row["moment"])
    for row in cast(Iterable[dict[str, Any]], lines):
        key = (row["event"], row["block"], row["number"])
        times = frame_times(row["begun"], row["moment"], len(parse_game(row["notation"])))
        for half in HALF_MARKS:
            if half <= len(times):
                _note(marks, (*key, half), times[half - 1])
    return marks


def _note(marks: dict[Mark, datetime], key: Mark, moment: datetime) -> None:
    marks[key] = min(moment, marks.get(key, moment))
