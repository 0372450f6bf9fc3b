"""What counts of a game: its shots that are not undone; without any, the newest line that is not undone.

Scores, traffic and the place where a bowler stands all ask here, so that none of them sees another game.
"""

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from motion.frames import Frame, frames_from_throws
from motion.notation import parse_game
from sessions.models import Block, Game, GameLine, LineStretch, Shot
from sessions.progress import throws_of


def counted_shots(game: Game) -> list[Shot]:
    """In the order they were thrown."""
    return [shot for shot in game.shots.all() if shot.undone_at is None]


def counted_line(game: Game) -> GameLine | None:
    standing = [line for line in game.lines.all() if line.undone_at is None]
    return standing[-1] if standing and not counted_shots(game) else None


def frames_of(game: Game) -> tuple[Frame, ...]:
    if shots := counted_shots(game):
        return frames_from_throws(throws_of(shots))
    line = counted_line(game)
    return parse_game(line.notation) if line else ()


def stretches_bowled(line: GameLine) -> list[tuple[LineStretch, int]]:
    """Each stretch of a line with the last frame bowled of it: a stretch to the tenth of a game not finished
    ends where the line does."""
    bowled_frames = len(parse_game(line.notation))
    return [
        (stretch, min(stretch.last_frame, bowled_frames))
        for stretch in line.stretches.all()
        if stretch.first_frame <= bowled_frames
    ]


def bowled(games: "QuerySet[Game]") -> "QuerySet[Game]":
    """The games with anything that counts; a game stays in the record after its only shot is undone."""
    shots = Shot.objects.filter(game=OuterRef("pk"), undone_at=None)
    lines = GameLine.objects.filter(game=OuterRef("pk"), undone_at=None)
    return games.filter(Exists(shots) | Exists(lines))


def has_deliveries(block: Block) -> bool:
    """Whether anything thrown in the block counts, practice included."""
    shots = Shot.objects.filter(entry__block=block, undone_at=None)
    return shots.exists() or GameLine.objects.filter(game__entry__block=block, undone_at=None).exists()


def counting_lines() -> "QuerySet[GameLine]":
    shots = Shot.objects.filter(game=OuterRef("game"), undone_at=None)
    newer = GameLine.objects.filter(
        Q(created_at__gt=OuterRef("created_at"))
        | Q(created_at=OuterRef("created_at"), pk__gt=OuterRef("pk")),
        game=OuterRef("game"),
        undone_at=None,
    )
    return GameLine.objects.filter(~Exists(shots), ~Exists(newer), undone_at=None)


def with_what_was_bowled(games: "QuerySet[Game]") -> "QuerySet[Game]":
    """The games with their counted shots and lines fetched along: a few queries for any number of games."""
    shots = Shot.objects.filter(undone_at=None).select_related("ball", "release", "lane")
    lines = GameLine.objects.filter(undone_at=None).prefetch_related("stretches__ball", "stretches__release")
    return games.select_related("left_lane", "right_lane").prefetch_related(
        Prefetch("shots", queryset=shots), Prefetch("lines", queryset=lines)
    )
