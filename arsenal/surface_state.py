"""A ball's surface now and its games since, derived from its log and the games logged; never stored.

Games are read through the ball's reverse relations, so this module knows nothing of the app that logs them.
"""

import bisect
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, cast

from django.db.models import Exists, Model, OuterRef, Q

from arsenal.models import Ball, SurfaceEntry
from arsenal.models.surface import ALTERING, SurfaceKind, WindowKind
from motion import surface as engine
from motion.grit import GRIT_MAX, grit_to_ra_um

FRAMES_PER_GAME = 10

Games = list[tuple[datetime, float]]


@dataclass(frozen=True, kw_only=True)
class SurfaceState:
    """Roughness Ra [µm] with one standard deviation [µm], and the games behind it.

    games_since_sanded: since the last sanding, polish or machine work; None when no such work is logged.
    games_total: all games the ball is known to have bowled. measured: a scanner reading stands behind it.
    altered_in_competition_at: set while the latest alteration was made in competition, which puts the ball
    out until that competition is over.
    """

    roughness_um: float
    sd_um: float
    games_since_sanded: float | None
    games_since_cleaned: float | None
    games_total: float
    worked_at: datetime | None
    measured: bool
    altered_in_competition_at: datetime | None
    words: str
    short_words: str
    grit: float


@dataclass(frozen=True, kw_only=True)
class SurfacePoint:
    """The surface just after one step of its history."""

    when: datetime
    roughness_um: float
    sd_um: float
    games_total: float
    entry: SurfaceEntry | None


@dataclass
class SurfaceLog:
    """What counts for one ball: its entries in time order and its games as (when, how many)."""

    entries: list[SurfaceEntry] = field(default_factory=list)
    games: Games = field(default_factory=list)


def surface_state(ball: Ball, at: datetime | None = None) -> SurfaceState:
    """The surface of one ball now, or as it was at `at`."""
    return surface_states([ball], at)[ball.pk]


def surface_states(balls: Iterable[Ball], at: datetime | None = None) -> dict[int, SurfaceState]:
    """The surface of many balls by primary key, in the same few queries however many there are."""
    return {pk: state_of_log(log) for pk, log in surface_logs(balls, at).items()}


def surface_logs(balls: Iterable[Ball], at: datetime | None = None) -> dict[int, SurfaceLog]:
    """Counted entries and games bowled, by the ball's primary key."""
    keys = [ball.pk for ball in balls]
    logs = {pk: SurfaceLog() for pk in keys}
    entries = SurfaceEntry.objects.filter(ball__in=keys, corrected_by__isnull=True)
    for entry in entries.exclude(kind=SurfaceKind.WITHDRAWN).order_by("done_at", "pk"):
        if at is None or entry.done_at <= at:
            logs[entry.ball_id].entries.append(entry)
    for pk, frames in _frames(keys).items():
        logs[pk].games = _as_games(frames, [entry.done_at for entry in logs[pk].entries], at)
    return logs


def surface_history(log: SurfaceLog) -> list[SurfacePoint]:
    """The surface after every entry and every game, for drawing; the first point is the first thing known."""
    events = [(entry.done_at, 0, entry, 0.0) for entry in log.entries]
    steps = [*events, *((when, 1, None, count) for when, count in log.games)]
    points: list[SurfacePoint] = []
    seen = SurfaceLog()
    for when, _, entry, count in sorted(steps, key=lambda step: step[:2]):
        if entry is None:
            seen.games.append((when, count))
        else:
            seen.entries.append(entry)
        state = state_of_log(seen)
        points.append(
            SurfacePoint(
                when=when,
                roughness_um=state.roughness_um,
                sd_um=state.sd_um,
                games_total=state.games_total,
                entry=entry,
            )
        )
    return points


def surface_event(entry: SurfaceEntry) -> engine.SurfaceEvent:
    """The log entry as the engine reads it."""
    return engine.SurfaceEvent(
        when=entry.done_at,
        kind=cast(engine.Kind, str(entry.kind)),
        grits=tuple(entry.grits),
        by="machine" if entry.by_machine else "hand",
        wet=entry.wet,
        minutes=entry.minutes,
        ra_um=entry.scanner_ra_um,
        games=entry.games,
    )


def games_elsewhere(entries: Sequence[SurfaceEntry]) -> float:
    return sum(entry.games or 0.0 for entry in entries if entry.kind == SurfaceKind.GAMES_ELSEWHERE)


def state_of_log(log: SurfaceLog) -> SurfaceState:
    """The surface after everything in the log."""
    found = engine.surface_now([surface_event(entry) for entry in log.entries], log.games)
    altering = [entry for entry in log.entries if entry.kind in ALTERING]
    in_competition = bool(altering) and altering[-1].window == WindowKind.IN_COMPETITION
    cleaned = [entry for entry in log.entries if entry.kind in (SurfaceKind.CLEANED, SurfaceKind.OIL_REMOVED)]
    return SurfaceState(
        roughness_um=found.ra_um,
        sd_um=found.sd_um,
        games_since_sanded=found.games_since,
        games_since_cleaned=_games_after(log, cleaned[-1].done_at) if cleaned else None,
        games_total=sum(count for _, count in log.games) + games_elsewhere(log.entries),
        worked_at=found.last_work.when if found.last_work else None,
        measured=found.measured,
        altered_in_competition_at=altering[-1].done_at if in_competition else None,
        words=engine.describe_surface(found),
        short_words=_short_words(found),
        grit=found.grit,
    )


def _short_words(found: engine.SurfaceState) -> str:
    """The finish in trade words: a grit of two round digits, or polish where no pad leaves it that smooth."""
    if found.ra_um < grit_to_ra_um(GRIT_MAX):
        return "like polish"
    step = 100 if found.grit >= 1000 else 20
    return f"about {round(found.grit / step) * step:,} grit"


def _games_after(log: SurfaceLog, when: datetime) -> float:
    logged = sum(count for bowled_at, count in log.games if bowled_at >= when)
    return logged + games_elsewhere([entry for entry in log.entries if entry.done_at >= when])


# One frame bowled with a ball: where (a game or a practice), which frame, when.
Place = tuple[str, int]
Frames = dict[tuple[Place, int], datetime]


def _frames(balls: list[int]) -> dict[int, Frames]:
    """Distinct frames each ball was used in. A practice delivery counts as a frame of its own."""
    found: dict[int, Frames] = defaultdict(dict)
    for ball, game, practice, frame, throw, when in _shots(balls):
        key = (("game", game), frame) if game else (("practice", practice), throw)
        found[ball].setdefault(key, when)
    for ball, game, first, last, when in _stretches(balls):
        for frame in range(first, last + 1):
            # A frame logged shot by shot is known to the minute; the line only fills in the others.
            found[ball].setdefault((("game", game), frame), when)
    return found


def _related(model: type[Model], name: str) -> type[Model]:
    return cast(type[Model], model._meta.get_field(name).related_model)


def _shots(balls: list[int]) -> Iterable[tuple[Any, ...]]:
    shots = _related(Ball, "shots")._default_manager.filter(ball__in=balls, undone_at__isnull=True)
    columns = ("ball", "game", "practice", "frame_number", "throw_number", "thrown_at")
    return shots.order_by("thrown_at", "pk").values_list(*columns)


def _stretches(balls: list[int]) -> Iterable[tuple[Any, ...]]:
    """Stretches of the line that counts in each game: the newest that is not undone."""
    stretch = _related(Ball, "stretches")
    line = _related(stretch, "line")
    newer = line._default_manager.filter(
        Q(created_at__gt=OuterRef("line__created_at"))
        | Q(created_at=OuterRef("line__created_at"), pk__gt=OuterRef("line")),
        game=OuterRef("line__game"),
        undone_at__isnull=True,
    )
    counted = stretch._default_manager.filter(~Exists(newer), ball__in=balls, line__undone_at__isnull=True)
    return counted.order_by("line__bowled_at", "pk").values_list(
        "ball", "line__game", "first_frame", "last_frame", "line__bowled_at"
    )


def _as_games(frames: Frames, entries: list[datetime], at: datetime | None) -> Games:
    """Frames of one game or practice as one count, split where surface work falls between them."""
    groups: dict[tuple[Place, int], list[datetime]] = defaultdict(list)
    for (place, _), when in frames.items():
        if at is None or when <= at:
            groups[place, bisect.bisect_right(entries, when)].append(when)
    return sorted((min(times), len(times) / FRAMES_PER_GAME) for times in groups.values())
