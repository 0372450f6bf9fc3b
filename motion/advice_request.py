"""What a request for advice contains: plain, frozen, validated data.

Boards: a `Line` is always in the own-side boards of the bowler who throws it. Films are stored in lane
coordinates, from the right. Offsets at first contact are in boards, positive on the bowler's own side
(model conventions, sections 1 and 7).
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from motion.errors import MotionError, number, one_of
from motion.inputs import SPEED_MPH, BallSpec, Line, ReleaseSpec
from motion.leaves import pin_count

Hand = Literal["right", "left"]
Objective = Literal["floor", "score"]
Moment = Literal["before the event", "official practice", "between rounds", "in competition"]
SpeedReadAt = Literal["release", "display", "near the pins"]
SheetTrust = Literal["table", "passes", "summary"]

FILM_SHAPE = (61, 39)
HANDS: tuple[str, ...] = ("right", "left")
OBJECTIVES: tuple[str, ...] = ("floor", "score")
MOMENTS: tuple[str, ...] = ("before the event", "official practice", "between rounds", "in competition")
SPEED_PLACES: tuple[str, ...] = ("release", "display", "near the pins")
SHEET_TRUST: tuple[str, ...] = ("table", "passes", "summary")
GAP_BOARDS = (-5.0, 20.0)
DRIFT_BOARDS = (-20.0, 20.0)


# --- the request -------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class BallOption:
    """A ball of the bowler: its numbers now, whether it is in the bag and whether it may be thrown."""

    ball_id: str
    name: str
    spec: BallSpec
    in_bag: bool = True
    put_away: bool = False  # put away by choice, or out because it was altered during competition
    spare_ball: bool = False  # kept for spares; not offered for the first ball

    @property
    def usable(self) -> bool:
        """Whether advice may name this ball for a first ball."""
        return self.in_bag and not self.put_away and not self.spare_ball


@dataclass(frozen=True, kw_only=True)
class NamedRelease:
    """A release the bowler has listed as theirs: strike, flatter, slower, spare."""

    name: str
    spec: ReleaseSpec
    offered: bool = True  # False: known, used for logged shots, not offered (the spare release)


@dataclass(frozen=True, kw_only=True)
class TrafficPass:
    """Balls that passed over a lane: one shot, or `count` of them from a game line."""

    hand: Hand
    spec: BallSpec
    release: ReleaseSpec
    line: Line  # own-side boards of the one who threw it
    count: int = 1

    def __post_init__(self) -> None:
        one_of("traffic.hand", self.hand, HANDS)
        number("traffic.count", self.count, 1, 400, "passes")


@dataclass(frozen=True, kw_only=True)
class FieldTraffic:
    """An assumed stretch of the rest of the field: so many bowlers of each hand, so many games each."""

    right_bowlers: float
    left_bowlers: float
    games: float  # games of each on this lane's pair; half of their frames fall on each lane

    def __post_init__(self) -> None:
        number("field.right_bowlers", self.right_bowlers, 0, 40, "bowlers")
        number("field.left_bowlers", self.left_bowlers, 0, 40, "bowlers")
        number("field.games", self.games, 0, 60, "games")


Traffic = TrafficPass | FieldTraffic


@dataclass(frozen=True, kw_only=True, eq=False)
class LaneState:
    """A lane since it was last dressed. List the lanes of a request in the order they lie in the house.

    film_um: fresh film, shape (61, 39), lane coordinates from the right [um]; None when no sheet is known.
    traffic: everything since that dressing, in order, practice included.
    advise: False for a lane that only brings evidence (another pair bowled earlier today).
    """

    lane_id: str
    pair_id: str
    film_um: npt.NDArray[np.float64] | None
    traffic: tuple[Traffic, ...] = ()
    sheet_trust: SheetTrust = "table"
    advise: bool = True

    def __post_init__(self) -> None:
        one_of("lane.sheet_trust", self.sheet_trust, SHEET_TRUST)
        if self.film_um is None:
            return
        film = np.array(self.film_um, dtype=np.float64)  # a copy: later edits outside cannot reach us
        if film.shape != FILM_SHAPE:
            raise MotionError("lane.film_um", film.shape, "61 feet by 39 boards")
        if not np.isfinite(film).all() or film.min() < 0.0:
            raise MotionError("lane.film_um", f"lowest {film.min():g}", "finite and not negative")
        film.setflags(write=False)
        object.__setattr__(self, "film_um", film)


@dataclass(frozen=True, kw_only=True)
class LoggedShot:
    """A first ball that somebody logged; every reading may be missing.

    passes_before: how many entries of that lane's traffic came before this shot.
    bowler_key: same text for the same bowler; "" is the bowler who asks.
    pins_left: bitmask of standing pins after the first ball, pin n is bit n - 1.
    pins_fallen: how many pins it knocked down, all that a typed game tells; says no more where pins_left is
    known, and must agree with it.
    """

    lane_id: str
    passes_before: int
    hand: Hand
    ball_key: str
    spec: BallSpec
    release: ReleaseSpec
    line: Line | None
    bowler_key: str = ""
    offset_boards: float | None = None
    hit_word: str = ""
    pins_left: int | None = None
    pins_fallen: int | None = None
    breakpoint_board: float | None = None
    breakpoint_ft: float | None = None
    speed_mph: float | None = None
    speed_read_at: SpeedReadAt = "display"

    def __post_init__(self) -> None:
        one_of("shot.hand", self.hand, HANDS)
        one_of("shot.speed_read_at", self.speed_read_at, SPEED_PLACES)
        number("shot.passes_before", self.passes_before, 0, 100000, "entries")
        if self.offset_boards is not None:
            number("shot.offset_boards", self.offset_boards, -20, 20, "boards from the head pin")
        if self.pins_left is not None:
            number("shot.pins_left", self.pins_left, 0, 1023, "as a bitmask of ten pins")
        if self.pins_fallen is not None:
            _whole("shot.pins_fallen", self.pins_fallen, 0, 10, "pins")
            left = None if self.pins_left is None else pin_count(self.pins_left)
            if left is not None and self.pins_fallen != 10 - left:
                raise MotionError("shot.pins_fallen", self.pins_fallen, f"{10 - left}, as {left} were left")
        if self.speed_mph is not None:
            number("shot.speed_mph", self.speed_mph, *SPEED_MPH, "mph")
        if self.breakpoint_board is not None:
            number("shot.breakpoint_board", self.breakpoint_board, 0.5, 39.5, "boards")
        if self.breakpoint_ft is not None:
            number("shot.breakpoint_ft", self.breakpoint_ft, 0, 60, "ft")


@dataclass(frozen=True, kw_only=True)
class SpareRecord:
    """How often this bowler converts what a first ball leaves; the defaults are assumed, not measured."""

    corner_pin: float = 0.80
    single_pin: float = 0.88
    multi_pin: float = 0.65
    washout: float = 0.30
    split: float = 0.15

    def __post_init__(self) -> None:
        for item in fields(self):
            number(f"spares.{item.name}", getattr(self, item.name), 0.0, 1.0, "(a share)")


@dataclass(frozen=True, kw_only=True)
class SurfaceWindow:
    """A time in which this event's own rules say whether surfaces may be altered, and who confirmed it."""

    moment: Moment
    allowed: bool
    by_hand: bool = True
    by_machine: bool = False
    where: str = ""
    confirmed_by: str = ""
    upcoming: bool = True  # False: this window has already passed

    def __post_init__(self) -> None:
        one_of("window.moment", self.moment, MOMENTS)
        if self.moment == "in competition" and self.allowed:
            raise MotionError("window.moment", self.moment, "surfaces are never altered in competition")


@dataclass(frozen=True, kw_only=True)
class AdviceRequest:
    """Everything advice is computed from. Equal content gives equal advice; ids only link things.

    gap_boards: slide foot to ball, in boards, inside positive. drift_boards: walk of the feet toward the
    inside; kept with the request, a move of the feet is the same before the walk and after it.
    current_*: what the bowler threw last or means to throw; None when not known.
    windows: None when the event has not stated its rules on surfaces.
    """

    hand: Hand
    releases: tuple[NamedRelease, ...]
    balls: tuple[BallOption, ...]
    lanes: tuple[LaneState, ...]
    current_ball_id: str | None = None
    current_release: str | None = None
    current_line: Line | None = None
    current_lines: Mapping[str, Line] = field(default_factory=dict)  # by lane id, where they differ
    shots: tuple[LoggedShot, ...] = ()
    gap_boards: float = 6.0
    drift_boards: float = 0.0
    objective: Objective = "score"
    spares: SpareRecord = SpareRecord()
    games_remaining: float = 3.0
    now: Moment = "in competition"
    windows: tuple[SurfaceWindow, ...] | None = None
    field_per_game: FieldTraffic | None = None  # what one further game of everyone else adds
    team_passes_per_game: float = 12.0  # first balls of the team on one lane in one game

    def __post_init__(self) -> None:
        one_of("hand", self.hand, HANDS)
        one_of("objective", self.objective, OBJECTIVES)
        one_of("now", self.now, MOMENTS)
        number("gap_boards", self.gap_boards, *GAP_BOARDS, "boards")
        number("drift_boards", self.drift_boards, *DRIFT_BOARDS, "boards")
        number("games_remaining", self.games_remaining, 0, 60, "games")
        number("team_passes_per_game", self.team_passes_per_game, 0, 200, "passes")
        for name, keys in (
            ("balls", [ball.ball_id for ball in self.balls]),
            ("releases", [release.name for release in self.releases]),
            ("lanes", [lane.lane_id for lane in self.lanes]),
        ):
            if len(set(keys)) != len(keys):
                raise MotionError(name, keys, "each listed once")
        if self.current_ball_id is not None and self.ball(self.current_ball_id) is None:
            raise MotionError("current_ball_id", self.current_ball_id, "one of the listed balls")
        if self.current_release is not None and self.release(self.current_release) is None:
            raise MotionError("current_release", self.current_release, "one of the listed releases")
        lengths = {lane.lane_id: len(lane.traffic) for lane in self.lanes}
        for shot in self.shots:
            if shot.lane_id not in lengths:
                raise MotionError("shot.lane_id", shot.lane_id, "one of the listed lanes")
            if shot.passes_before > lengths[shot.lane_id]:
                raise MotionError(
                    "shot.passes_before", shot.passes_before, f"at most {lengths[shot.lane_id]} on that lane"
                )

    def ball(self, ball_id: str | None) -> BallOption | None:
        """The ball with this id, or None."""
        return next((ball for ball in self.balls if ball.ball_id == ball_id), None)

    def release(self, name: str | None) -> NamedRelease | None:
        """The release with this name, or None."""
        return next((release for release in self.releases if release.name == name), None)

    def line_on(self, lane_id: str) -> Line | None:
        """The line the bowler plays on this lane now, or None when not known."""
        return self.current_lines.get(lane_id, self.current_line)

    def as_dict(self) -> dict[str, Any]:
        """The request as plain data (films as nested lists)."""
        plain: dict[str, Any] = plain_data(self)
        return plain

    def digest(self) -> str:
        """A hash of the content, to tell whether stored advice still answers the present state."""
        return hashlib.sha256(repr(plain_data(self)).encode()).hexdigest()


def _whole(field: str, value: int, low: int, high: int, unit: str) -> None:
    if number(field, value, low, high, unit) != int(value):
        raise MotionError(field, value, f"a whole number, {low} to {high} {unit}")


def plain_data(value: Any) -> Any:
    """Turn dataclasses, tuples, arrays and NumPy numbers into plain JSON-able data."""
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain_data(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain_data(value[key]) for key in sorted(value)}
    if isinstance(value, tuple | list):
        return [plain_data(item) for item in value]
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    return value
