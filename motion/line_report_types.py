"""What a report on one line says (``line_report``)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from motion.inputs import Line

Field = Literal["speed_mph", "axis_rotation_deg", "rev_rate_rpm", "boards", "launch_deg"]


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A number from draws and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, kw_only=True)
class Span:
    """The middle 80 % of a number over possible worlds."""

    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Room:
    """How far one may be off each way before the chance of the pocket falls below half of the best that
    moves of this kind reach; at most ``farthest``.

    For boards, less is toward the own gutter and more away from it; for speed, slower and faster. Boards
    move laydown and target alike.
    """

    less: Estimate
    more: Estimate
    farthest_less: float
    farthest_more: float


@dataclass(frozen=True, kw_only=True)
class WorstTenth:
    """The tenth of throws worth least: their mean frame, where nine in ten of those that stay on the lane
    arrive [boards off the head pin, own side positive], and the share of them in the gutter."""

    frame: Estimate
    low_boards: float | None
    high_boards: float | None
    gutter_share: float


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """What one change does: to the intended throw [boards, degrees], None where it or the changed one is in
    the gutter, and to the chance of the pocket.

    offset_boards: positive is lighter. ``*_span``: the same over possible worlds, None without them.
    """

    field: Field
    amount: float
    offset_boards: float | None
    angle_deg: float | None
    pocket: Estimate
    offset_span: Span | None
    angle_span: Span | None


@dataclass(frozen=True, kw_only=True)
class LineReport:
    """One ball and release down one line; chances 0 to 1, frames in pins.

    offset_boards, entry_angle_deg: of the intended throw, None in the gutter. board_room, speed_room: None
    where the line itself has less than half of the best chance nearby, or none has any. pocket_span: the
    chance over possible worlds. draws: throws behind every chance.
    """

    line: Line
    draws: int
    offset_boards: float | None
    entry_angle_deg: float | None
    pocket: Estimate
    split_or_washout: Estimate
    expected_frame: Estimate
    worst_tenth: WorstTenth
    board_room: Room | None
    speed_room: Room | None
    sensitivities: tuple[Sensitivity, ...]
    pocket_span: Span | None
    worlds: int
