"""The team at a glance: who is bowling and what was advised, which balls want work, what comes next."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from arsenal.access import BallNames, visible
from arsenal.models import Ball, Person, Team
from arsenal.surface_state import surface_states
from sessions.advice_cards import LaneCard
from sessions.advice_sharing import hide_unshared_balls
from sessions.advice_state import status_of
from sessions.models import Advice, Block, BlockEntry, Lane, OwedAdvice
from sessions.scores import BlockTotals, totals_by_entry
from sessions.whereabouts import Pair, whereabouts

# Upkeep of a finish, games since the last sanding: common practice, no published source.
REFRESH_FROM, REFRESH_BY = 6.0, 15.0
SHOWN_BALLS = 12
SHOWN_BLOCKS = 6


@dataclass(frozen=True)
class Advised:
    """What was advised on a lane, or on both where it is the same."""

    lanes: str
    action: str
    short: str


@dataclass(frozen=True)
class DeskEntry:
    """One bowler of an open block: where, how far, and the newest advice for the lanes there."""

    entry: BlockEntry
    game_number: int
    pair: tuple[Lane, Lane] | None
    totals: BlockTotals
    cards: tuple[LaneCard, ...]
    status: str
    stale: bool

    @property
    def advised(self) -> list[Advised]:
        said = [(str(card.lane.number), str(card.action), card.short) for card in self.cards]
        if len(said) == 2 and said[0][1:] == said[1][1:]:
            return [Advised(f"{said[0][0]}–{said[1][0]}", *said[0][1:])]
        return [Advised(*one) for one in said]

    @property
    def running(self) -> int | None:
        """Pins in the unfinished game, where there is one."""
        open_games = [game for game in self.totals.games if not game.score.complete]
        return open_games[-1].score.total if open_games else None


@dataclass(frozen=True)
class DeskBlock:
    block: Block
    entries: tuple[DeskEntry, ...]


@dataclass(frozen=True)
class DueBall:
    """A ball whose finish has bowled many games since it was last sanded, polished or machined."""

    ball: Ball
    games: float

    @property
    def whole_games(self) -> int:
        return round(self.games)

    @property
    def is_overdue(self) -> bool:
        return self.games >= REFRESH_BY


def open_blocks(person: Person, team: Team) -> list[DeskBlock]:
    blocks = list(_blocks(person, team).filter(state=Block.State.OPEN))
    entries = (
        visible(person, BlockEntry)
        .filter(block__in=blocks, block__event__team=team)
        .select_related("bowler", "block__event")
        .order_by("bowler__name", "pk")
    )
    rows = {row.entry.pk: row for row in _desk_entries(entries, BallNames(person))}
    return [
        DeskBlock(block, tuple(row for row in rows.values() if row.entry.block_id == block.pk))
        for block in blocks
    ]


def _desk_entries(entries: Iterable[BlockEntry], names: BallNames) -> list[DeskEntry]:
    found = list(entries)
    where = whereabouts(BlockEntry.objects.filter(pk__in=[entry.pk for entry in found]))
    pairs = {pk: at.pairs[0] for pk, at in where.items() if at.pairs}
    lanes = Lane.objects.in_bulk({lane for pair in pairs.values() for lane in pair})
    totals = totals_by_entry(found)
    owed = _owed(pairs)
    answers = _newest_answers(owed.values())
    now = timezone.now()
    rows = []
    for entry in found:
        row = owed.get(entry.pk)
        newest = answers.get(row.pk, []) if row else []
        hide_unshared_balls(newest, entry.bowler, names)
        pair = pairs.get(entry.pk)
        rows.append(
            DeskEntry(
                entry=entry,
                game_number=min(where[entry.pk].game_number, entry.block.games_planned),
                pair=(lanes[pair[0]], lanes[pair[1]]) if pair else None,
                totals=totals[entry.pk],
                cards=tuple(LaneCard(answer) for answer in newest),
                status=status_of(row, now) if row else "none",
                stale=row is not None and any(answer.answers < row.wanted for answer in newest),
            )
        )
    return rows


def _owed(pairs: dict[int, Pair]) -> dict[int, OwedAdvice]:
    rows = OwedAdvice.objects.filter(entry__in=pairs)
    return {row.entry_id: row for row in rows if (row.left_lane_id, row.right_lane_id) == pairs[row.entry_id]}


def _newest_answers(owed: Iterable[OwedAdvice]) -> dict[int, list[Advice]]:
    done = {row.pk: row.done for row in owed}
    found: dict[int, list[Advice]] = {}
    answers = Advice.objects.filter(owed__in=done, answers__in=set(done.values()))
    for answer in answers.select_related("lane", "ball").order_by("lane__number"):
        if answer.answers == done[answer.owed_id]:
            found.setdefault(answer.owed_id, []).append(answer)
    return found


def next_blocks(person: Person, team: Team) -> Sequence[Block]:
    planned = _blocks(person, team).filter(state=Block.State.PLANNED)
    return list(planned.order_by("starts_at", "pk")[:SHOWN_BLOCKS])


def last_blocks(person: Person, team: Team) -> Sequence[Block]:
    finished = _blocks(person, team).filter(state=Block.State.FINISHED)
    return list(finished.order_by("-starts_at", "-pk")[:SHOWN_BLOCKS])


def _blocks(person: Person, team: Team) -> QuerySet[Block]:
    return (
        visible(person, Block)
        .filter(event__team=team)
        .select_related("event__house", "pattern_version__pattern")
    )


def due_balls(person: Person, team: Team) -> list[DueBall]:
    """Balls in a bag whose finish has bowled as many games as it usually does, most games first."""
    balls = list(
        visible(person, Ball)
        .filter(bowler__team=team, bowler__is_active=True, in_bag=True)
        .exclude(cover="plastic")
        .select_related("bowler")
    )
    states = surface_states(balls)
    due = [DueBall(ball, states[ball.pk].games_since_sanded or 0.0) for ball in balls]
    worn = [item for item in due if item.games >= REFRESH_FROM]
    return sorted(worn, key=lambda item: (-item.games, item.ball.name))[:SHOWN_BALLS]
