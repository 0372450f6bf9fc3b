"""What the page beside the lane shows: place in the game, ball and line remembered, the score so far."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from arsenal.models import Ball
from arsenal.models.ball import BagRole
from motion.leaves import FULL_RACK, dashed, pins_of
from motion.scoring import FrameScore
from sessions.counted import counted_line, counted_shots, counting_lines, with_what_was_bowled
from sessions.limits import LINE_LIMITS
from sessions.models import BlockEntry, Game, GameLine, Lane, PairVisit, PracticeWindow, Shot
from sessions.passed_over import PassedOver, passed_over
from sessions.progress import Place, found_after, next_place
from sessions.recent_shots import RecentShot, recent_shots
from sessions.scores import ScoredGame, scored
from sessions.whereabouts import where_is

# The deck as it stands before the bowler, back row first.
DECK_ROWS = ((7, 8, 9, 10), (4, 5, 6), (2, 3), (1,))


@dataclass(frozen=True)
class Cell:
    """One frame of the score strip."""

    number: int
    frame: FrameScore | None
    shots: tuple[Shot, ...]
    is_next: bool


class LaneSide:
    """One entry at one game, now or any earlier one."""

    def __init__(self, entry: BlockEntry, number: int | None = None) -> None:
        self.entry = entry
        self.number = number or self.number_now

    @cached_property
    def number_now(self) -> int:
        """The game being bowled, or after the last one the last."""
        return min(where_is(self.entry).game_number, self.entry.block.games_planned)

    @cached_property
    def game(self) -> Game | None:
        return with_what_was_bowled(self.entry.games.filter(number=self.number)).first()

    @cached_property
    def visit(self) -> PairVisit | None:
        visits = self.entry.visits.select_related("left_lane", "right_lane")
        return visits.filter(game_number=self.number).first()

    @property
    def pair(self) -> tuple[Lane, Lane] | None:
        where = self.game or self.visit
        return (where.left_lane, where.right_lane) if where else None

    @cached_property
    def shots(self) -> list[Shot]:
        return counted_shots(self.game) if self.game else []

    @property
    def has_line(self) -> bool:
        return self.game is not None and counted_line(self.game) is not None

    @cached_property
    def place(self) -> Place | None:
        """The next throw; None when the game is over, typed as a line, or on no pair yet."""
        if self.has_line or self.pair is None:
            return None
        return next_place(self.shots)

    @property
    def is_over(self) -> bool:
        return self.scored is not None and self.scored.score.complete

    @property
    def is_last_game(self) -> bool:
        return self.number >= self.entry.block.games_planned

    @property
    def lane(self) -> Lane | None:
        if self.place is None:
            return None
        if self.game is not None:
            return self.game.lane_of_frame(self.place.frame_number)
        visit = self.visit
        if visit is None:
            return None
        return visit.left_lane if visit.starts_on_left else visit.right_lane

    @cached_property
    def scored(self) -> ScoredGame | None:
        return scored(self.game) if self.game else None

    @property
    def cells(self) -> list[Cell]:
        frames = self.scored.score.frames if self.scored else ()
        next_frame = self.place.frame_number if self.place else 0
        return [
            Cell(
                number=number,
                frame=frames[number - 1] if number <= len(frames) else None,
                shots=tuple(shot for shot in self.shots if shot.frame_number == number),
                is_next=number == next_frame,
            )
            for number in range(1, 11)
        ]

    @cached_property
    def newest(self) -> Shot | None:
        """What undo would take back: the newest shot of this game, or of one before while this is empty."""
        counted = self.entry.shots.filter(undone_at=None, game__isnull=False, game__number__lte=self.number)
        newest = counted.select_related("ball", "lane", "game").order_by(
            "game__number", "frame_number", "throw_number"
        )
        return newest.last()

    @cached_property
    def newest_line(self) -> GameLine | None:
        """The line that undo would take back, where a line and no shot was saved last; else None."""
        if self.newest is not None and self.newest.game and self.newest.game.number == self.number:
            return None
        lines = counting_lines().filter(game__entry=self.entry, game__number__lte=self.number)
        line = lines.select_related("game").order_by("created_at", "pk").last()
        if line is None or self.newest is None:
            return line
        counted = self.entry.shots.filter(undone_at=None, game__number__lte=self.number)
        return None if counted.filter(created_at__gt=line.created_at).exists() else line

    @property
    def undo_reopens(self) -> Game | None:
        """The finished game besides the one shown that undoing the newest shot would open again."""
        game = self.newest.game if self.newest else None
        if game is None or game.number == self.number:
            return None
        there = LaneSide(self.entry, game.number)
        return game if there.is_over else None

    @property
    def newest_words(self) -> RecentShot | None:
        return RecentShot(self.newest) if self.newest else None

    @cached_property
    def recent(self) -> list[RecentShot]:
        """The last entries of whatever game, with what was taken back."""
        return recent_shots(self.entry.shots.filter(game__isnull=False))

    @cached_property
    def passed_over(self) -> list[PassedOver]:
        """Unfinished games besides the one shown, while a later one is being bowled."""
        return [game for game in passed_over(self.entry, self.number_now) if game.number != self.number]

    @property
    def standing(self) -> str:
        return dashed(self.place.standing) if self.place else ""

    @property
    def deck(self) -> list[list[tuple[int, bool]]]:
        return deck(self.place.standing) if self.place else []

    def remembered(self) -> dict[str, Any]:
        """The form's first values: place, ball and line as thrown last; sightings are never repeated."""
        place = self.place
        if place is None:
            return {}
        first = {
            "game_number": self.number,
            "frame_number": place.frame_number,
            "throw_number": place.throw_number,
        }
        return first | remembered(self.entry, new_rack=place.new_rack, lane=self.lane)


def deck(standing: int) -> list[list[tuple[int, bool]]]:
    """Rows of (pin, does it stand), back row first."""
    up = pins_of(standing)
    return [[(pin, pin in up) for pin in row] for row in DECK_ROWS]


def remembered(entry: BlockEntry, *, new_rack: bool, lane: Lane | None) -> dict[str, Any]:
    """The ball in hand and the last line said, on the same lane if there was one; for a spare the ball."""
    alike = [shot for shot in _latest(entry) if (shot.pins_before == FULL_RACK) == new_rack]
    if not new_rack:
        ball = alike[0].ball if alike else spare_ball(entry)
        release = alike[0].release if alike else None
        return {"ball": ball and ball.uuid, "release": release and release.uuid, "target_ft": 15.0}
    if not alike:
        place = (
            entry.bag.filter(put_away=False).exclude(ball__role=BagRole.SPARE).select_related("ball").first()
        )
        return {"ball": place and place.ball.uuid, "target_ft": 15.0}
    said = [shot for shot in alike if shot.laydown_board is not None or shot.target_board is not None]
    # The ball and the release are those of the last shot, wherever it was; the line belongs to the lane.
    here = [shot for shot in said if lane is not None and shot.lane_id == lane.pk]
    line = next(iter(here or said), alike[0])
    return {name: getattr(line, name) for name in LINE_LIMITS} | {
        "ball": alike[0].ball.uuid,
        "release": alike[0].release and alike[0].release.uuid,
        "speed_read": alike[0].speed_read,
    }


def _latest(entry: BlockEntry) -> list[Shot]:
    shots = entry.shots.filter(undone_at=None).select_related("ball", "release")
    return list(shots.order_by("-thrown_at", "-pk")[:40])


def spare_ball(entry: BlockEntry) -> Ball | None:
    place = entry.bag.filter(ball__role=BagRole.SPARE).select_related("ball").first()
    if place is None:
        last = _latest(entry)
        return last[0].ball if last else None
    return place.ball


def balls_to_choose(entry: BlockEntry) -> list[Ball]:
    """The bag without what is put away; without a bag, all balls of the bowler that are in use."""
    bag = list(entry.bag.select_related("ball").order_by("ball__name"))
    if bag:
        return [place.ball for place in bag if not place.put_away]
    return list(entry.bowler.balls.filter(in_bag=True))


class PracticeSide:
    """Practice on a pair: shots without a game, on the lane the bowler says."""

    def __init__(self, practice: PracticeWindow, *, at_pins_left: bool = False) -> None:
        self.practice = practice
        self.entry = practice.entry
        self.shots = list(
            practice.shots.filter(undone_at=None).select_related("ball", "lane").order_by("-throw_number")
        )
        self.at_pins_left = at_pins_left and self.may_shoot_at_left

    @property
    def newest(self) -> Shot | None:
        return self.shots[0] if self.shots else None

    @property
    def newest_words(self) -> RecentShot | None:
        return RecentShot(self.newest) if self.newest else None

    @cached_property
    def recent(self) -> list[RecentShot]:
        """Every entry of the window, with what was taken back."""
        return recent_shots(Shot.objects.filter(practice=self.practice), most=None)

    @property
    def may_shoot_at_left(self) -> bool:
        return self.newest is not None and self.newest.pins_left > 0

    @property
    def pair(self) -> tuple[Lane, Lane]:
        return self.practice.left_lane, self.practice.right_lane

    @property
    def lane(self) -> Lane:
        return self.newest.lane if self.newest else self.practice.left_lane

    @property
    def place(self) -> Place:
        standing = found_after(self.newest) if self.at_pins_left and self.newest else FULL_RACK
        number = self.newest.throw_number + 1 if self.newest else 1
        return Place(0, number, standing, new_rack=standing == FULL_RACK)

    @property
    def deck(self) -> list[list[tuple[int, bool]]]:
        return deck(self.place.standing)

    def remembered(self) -> dict[str, Any]:
        first = {
            "at_pins_left": self.at_pins_left,
            "lane": self.lane.number,
            "throw_number": self.place.throw_number,
        }
        return first | remembered(self.entry, new_rack=self.place.new_rack, lane=self.lane)
