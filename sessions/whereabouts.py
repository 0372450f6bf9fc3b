"""Which pair a bowler is on now, and which is next once the game there is over."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from sessions.models import BlockEntry, Game, GameLine, PairVisit, PracticeWindow, Shot

# Primary keys of the left and the right lane.
Pair = tuple[int, int]


@dataclass(frozen=True)
class Whereabouts:
    """Where a bowler is: the pairs that concern them now, the present one first."""

    game_number: int
    pairs: tuple[Pair, ...]
    game_over: bool = False


def whereabouts(entries: QuerySet[BlockEntry]) -> dict[int, Whereabouts]:
    """By entry id, in four queries however many entries there are."""
    ids = list(entries.values_list("pk", flat=True))
    latest = {game.entry_id: game for game in _games(ids)}
    practised = {
        practice.entry_id: (practice.left_lane_id, practice.right_lane_id)
        for practice in PracticeWindow.objects.filter(entry__in=ids).order_by("started_at", "pk")
    }
    visits: dict[int, list[PairVisit]] = {}
    for visit in PairVisit.objects.filter(entry__in=ids).order_by("game_number"):
        visits.setdefault(visit.entry_id, []).append(visit)
    return {pk: _where(latest.get(pk), practised.get(pk), visits.get(pk, [])) for pk in ids}


def pairs_now(entries: QuerySet[BlockEntry]) -> dict[int, tuple[Pair, ...]]:
    return {pk: where.pairs for pk, where in whereabouts(entries).items()}


def _games(entry_ids: Iterable[int]) -> QuerySet[Game]:
    """Games in order of number, each with whether its last frame was begun or the whole of it typed."""
    typed = GameLine.objects.filter(game=OuterRef("pk"), undone_at=None)
    tenth = Shot.objects.filter(game=OuterRef("pk"), undone_at=None, frame_number=10)
    return (
        Game.objects.filter(entry__in=entry_ids)
        .order_by("number")
        .annotate(is_over=Q(Exists(typed)) | Q(Exists(tenth)))
    )


def _where(latest: Game | None, practised: Pair | None, visits: list[PairVisit]) -> Whereabouts:
    if latest is None:
        first = practised or next(iter(_pairs(visits)), None)
        return Whereabouts(game_number=0, pairs=(first,) if first else ())
    here = (latest.left_lane_id, latest.right_lane_id)
    over = bool(latest.is_over)  # type: ignore[attr-defined]
    later = _pairs(visit for visit in visits if visit.game_number > latest.number)
    following = next(iter(later), here)
    pairs = (following, here) if over and following != here else (here,)
    return Whereabouts(game_number=latest.number, pairs=pairs, game_over=over)


def _pairs(visits: Iterable[PairVisit]) -> list[Pair]:
    return [(visit.left_lane_id, visit.right_lane_id) for visit in visits]
