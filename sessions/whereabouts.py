"""Which game and pair a bowler is on now, and which come next once the game there is over."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import QuerySet

from sessions.counted import bowled, frames_of, with_what_was_bowled
from sessions.models import BlockEntry, Game, PairVisit, PracticeWindow
from sessions.progress import is_over

# Primary keys of the left and the right lane.
Pair = tuple[int, int]


@dataclass(frozen=True)
class Whereabouts:
    """Where a bowler is: the pairs that concern them now, the present one first.

    game_number: the game being bowled, or the one after it when that is over; after the last game of a block
    it is one that the block has not. frames_bowled: of that game.
    """

    game_number: int
    pairs: tuple[Pair, ...]
    frames_bowled: int = 0


def whereabouts(entries: QuerySet[BlockEntry]) -> dict[int, Whereabouts]:
    """By entry id, in a constant number of queries however many entries there are."""
    ids = list(entries.values_list("pk", flat=True))
    latest = _latest_games(ids)
    practised = {
        practice.entry_id: (practice.left_lane_id, practice.right_lane_id)
        for practice in PracticeWindow.objects.filter(entry__in=ids).order_by("started_at", "pk")
    }
    visits: dict[int, list[PairVisit]] = {}
    for visit in PairVisit.objects.filter(entry__in=ids).order_by("game_number"):
        visits.setdefault(visit.entry_id, []).append(visit)
    return {pk: _where(latest.get(pk), practised.get(pk), visits.get(pk, [])) for pk in ids}


def where_is(entry: BlockEntry) -> Whereabouts:
    return whereabouts(BlockEntry.objects.filter(pk=entry.pk))[entry.pk]


def pairs_now(entries: QuerySet[BlockEntry]) -> dict[int, tuple[Pair, ...]]:
    return {pk: where.pairs for pk, where in whereabouts(entries).items()}


def _latest_games(entry_ids: Iterable[int]) -> dict[int, Game]:
    """The last game of each entry with anything that counts."""
    games = bowled(Game.objects.filter(entry__in=entry_ids)).order_by("number")
    newest = dict(games.values_list("entry_id", "pk"))
    return {game.entry_id: game for game in with_what_was_bowled(Game.objects.filter(pk__in=newest.values()))}


def _where(latest: Game | None, practised: Pair | None, visits: list[PairVisit]) -> Whereabouts:
    if latest is None:
        first = practised or next(iter(_pairs(visits)), None)
        return Whereabouts(game_number=1, pairs=(first,) if first else ())
    here = (latest.left_lane_id, latest.right_lane_id)
    frames = frames_of(latest)
    if not is_over(frames):
        return Whereabouts(game_number=latest.number, pairs=(here,), frames_bowled=len(frames))
    later = _pairs(visit for visit in visits if visit.game_number > latest.number)
    following = next(iter(later), here)
    pairs = (following, here) if following != here else (here,)
    return Whereabouts(game_number=latest.number + 1, pairs=pairs)


def _pairs(visits: Iterable[PairVisit]) -> list[Pair]:
    return [(visit.left_lane_id, visit.right_lane_id) for visit in visits]
