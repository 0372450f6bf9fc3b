"""What an answer looks like, and the request's types beside it: everything a caller of `advise` needs.

Gains are in pins per frame of the stated objective, with the 10 to 90 % range over the worlds. Moves are
positive *inside*, away from the bowler's own gutter; boards are own-side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from motion.advice_request import (
    FILM_SHAPE,
    HANDS,
    MOMENTS,
    OBJECTIVES,
    SHEET_TRUST,
    SPEED_PLACES,
    AdviceRequest,
    BallOption,
    FieldTraffic,
    Hand,
    LaneState,
    LoggedShot,
    Moment,
    NamedRelease,
    Objective,
    SheetTrust,
    SpareRecord,
    SpeedReadAt,
    SurfaceWindow,
    Traffic,
    TrafficPass,
    plain_data,
)
from motion.inputs import BallSpec, Line, ReleaseSpec

__all__ = [
    "FILM_SHAPE",
    "HANDS",
    "MOMENTS",
    "OBJECTIVES",
    "SHEET_TRUST",
    "SPEED_PLACES",
    "Action",
    "AdviceCancelled",
    "AdviceRequest",
    "Alternative",
    "BallOption",
    "Candidate",
    "FieldTraffic",
    "Hand",
    "LaneAdvice",
    "LaneState",
    "LoggedShot",
    "Moment",
    "NamedRelease",
    "Objective",
    "Outlook",
    "SheetTrust",
    "SpareRecord",
    "SpeedReadAt",
    "Status",
    "SurfaceAdvice",
    "SurfaceWindow",
    "Traffic",
    "TrafficPass",
    "plain_data",
]

Action = Literal["stay", "move", "change ball"]
Status = Literal["advised", "not enough known"]


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A ball, a release and a line that could be thrown."""

    ball_id: str
    ball: BallSpec
    release_name: str
    release: ReleaseSpec
    line: Line


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What a choice is expected to do: means over the worlds, and the worst tenth."""

    pocket: float
    strike: float
    split_or_washout: float
    expected_frame: float
    worst_tenth: float
    mean_offset_boards: float
    sd_offset_boards: float
    entry_angle_deg: float
    breakpoint_board: float
    breakpoint_ft: float


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """The best line found for one ball and release, beside what staying is worth."""

    ball_id: str
    ball_name: str
    release_name: str
    line: Line
    feet_board: float
    outlook: Outlook
    gain: float
    gain_low: float
    gain_high: float


@dataclass(frozen=True, kw_only=True)
class SurfaceAdvice:
    """A light surface step, or why none is offered; `window` says when it would be allowed."""

    suggested: bool
    window: str
    ball_id: str | None
    ball_name: str
    from_grit: str
    to_grit: str
    by: str  # "hand", "hand or machine"
    effect: str
    why: str
    permission: str  # who confirmed it, or to ask the tournament director
    cautions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LaneAdvice:
    """What to do on one lane. Gains are in pins per frame of the stated objective, 80 % interval."""

    lane_id: str
    status: Status
    action: Action
    hand: Hand
    headline: str
    reasons: tuple[str, ...]
    would_change: str
    missing: tuple[str, ...]
    ball_id: str | None
    ball_name: str
    release_name: str | None
    line_now: Line | None
    line: Line | None
    feet_now_board: float | None
    feet_board: float | None
    feet_move_boards: float = 0.0
    target_move_boards: float = 0.0
    breakpoint_board: float | None = None
    breakpoint_ft: float | None = None
    now: Outlook | None = None
    advised: Outlook | None = None
    pocket_now: float | None = None
    pocket_advised: float | None = None
    pocket_gain_low: float | None = None
    pocket_gain_high: float | None = None
    gain: float | None = None
    gain_low: float | None = None
    gain_high: float | None = None
    chance_better: float | None = None
    worst_tenth_now: float | None = None
    worst_tenth_advised: float | None = None
    expected_frame_now: float | None = None
    expected_frame_advised: float | None = None
    track_oil_left: float | None = None  # film on the present line now / fresh
    lasts_games: float | None = None
    alternatives: tuple[Alternative, ...]
    surface: SurfaceAdvice | None = None
    worlds: int  # in which the choices were compared
    effective_worlds: float  # Kish's number of those the shots were weighed in, before any tempering
    objective: Objective
    note: str = "Computed by a model, with its spread; not a promise."

    def as_dict(self) -> dict[str, Any]:
        """The advice as plain JSON-able data."""
        plain: dict[str, Any] = plain_data(self)
        return plain


class AdviceCancelled(Exception):
    """The caller's `cancelled` callback said that this work is no longer wanted."""
