"""What a first ball is worth: offset and entry angle at the pins to leaves, frame value, pocket and splits.

The leaves come from the pin model (`motion.pins`), the worth of a leave from the bowler's own spare record.
All tables are own-side: a leave of the 10 pin is the corner on the bowler's own side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from motion.advice_types import SpareRecord
from motion.errors import FloatArray, MotionError
from motion.leaves import FULL_RACK, is_corner_pin, is_split, is_washout, pin_count
from motion.pocket import POCKET_OFFSET_BOARDS, in_pocket
from motion.rack_table import RackTable, next_states, rack_table

BoolArray = npt.NDArray[np.bool_]

# Assumed: what the next balls usually bring after a mark, the same for every candidate, so that candidates
# are compared by what they do to this frame. Nine pins on a first ball; a strike's two balls follow from it.
NEXT_BALL = 9.0
NEXT_TWO_BALLS = 15.0
# Assumed: an open leaves one pin of a single-pin leave, and about one and a half of anything wider.
OPEN_MISS_ONE, OPEN_MISS_MORE = 1.0, 1.5
LESS_PER_PIN = 0.85  # assumed: each pin beyond three is that much harder to clear
SLIPS = 0.01  # assumed: share of any one result that slips bring, whatever the lane
SMOOTHING = np.linspace(-2.0, 2.0, 9)
_SMOOTHING_WEIGHT = np.exp(-0.5 * SMOOTHING**2) / np.exp(-0.5 * SMOOTHING**2).sum()

LEAVE_CLASSES = (
    "strike",
    "own corner",
    "other corner",
    "single pin",
    "several pins",
    "washout",
    "split",
    "head pin",
)


def conversion_chance(mask: int, spares: SpareRecord) -> float:
    """Chance that this bowler clears a leave (mask 1 to 1023) with the second ball."""
    if is_split(mask):
        return spares.split
    if is_washout(mask):
        return spares.washout
    count = pin_count(mask)
    if count == 1:
        return spares.corner_pin if is_corner_pin(mask) else spares.single_pin
    return spares.multi_pin * float(LESS_PER_PIN ** max(count - 3, 0))


def frame_value(mask: int, spares: SpareRecord) -> float:
    """Expected score of a frame whose first ball left this mask, for a bowler with this spare record."""
    if mask == 0:
        return 10.0 + NEXT_TWO_BALLS
    clears = conversion_chance(mask, spares)
    missed = OPEN_MISS_ONE if pin_count(mask) == 1 else OPEN_MISS_MORE
    return clears * (10.0 + NEXT_BALL) + (1.0 - clears) * (10.0 - missed)


def leave_class(mask: int) -> int:
    """Index into LEAVE_CLASSES of a leave, own-side."""
    if mask == 0:
        return 0
    if is_washout(mask):
        return 5
    if is_split(mask):
        return 6
    if mask & 1:
        return 7
    if pin_count(mask) == 1:
        return 1 if mask == 1 << 9 else 2 if mask == 1 << 6 else 3
    return 4


@dataclass(frozen=True, kw_only=True)
class BallOutcome:
    """What a scattered ball at a rack or leave brings: chances that add up, and of what is left standing."""

    cleared: float  # a strike, at a full rack
    split: float
    washout: float
    states: dict[int, float]  # every mask left and its chance, likeliest first; 0 is nothing left


def ball_outcome(leave: int, offset: FloatArray, angle: FloatArray, gutter: BoolArray) -> BallOutcome:
    """The pin model's next states of a leave (FULL_RACK for a first ball) over scattered arrivals (n,).

    offset [boards] and angle [degrees] at the pins, own-side as the leave; gutter where the ball never came.
    NaN is a ball that met nothing, as from `motion.engine.search`: the leave stands. Raises MotionError where
    the three differ in shape or there is no arrival at all. The chance of a split or a washout counts any
    such leave, also after a second ball.
    """
    if not offset.shape == angle.shape == gutter.shape or offset.ndim != 1 or not offset.size:
        shapes = f"shapes {offset.shape}, {angle.shape}, {gutter.shape}"
        raise MotionError("arrivals", shapes, "offset, angle and gutter of one shape (n,), n at least 1")
    gone = gutter | np.isnan(offset) | np.isnan(angle)
    missed = float(gone.mean())
    states = {leave: missed} if missed > 0.0 else {}
    if missed < 1.0:
        for mask, share in next_states(leave).mean(offset[~gone], angle[~gone]).items():
            states[mask] = states.get(mask, 0.0) + (1.0 - missed) * share
    return BallOutcome(
        cleared=states.get(0, 0.0),
        split=sum(share for mask, share in states.items() if is_split(mask)),
        washout=sum(share for mask, share in states.items() if is_washout(mask)),
        states=dict(sorted(states.items(), key=lambda item: (-item[1], item[0]))),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class FrameTable:
    """Looks up what arrivals are worth in the pin model's table, bilinear in offset and angle.

    An arrival of NaN, a ball that met no pin (`motion.engine.Arrivals`), counts as one in the gutter.
    """

    rack: RackTable
    values: FloatArray  # (n, m) pins per frame
    classes: FloatArray  # (n, m, len(LEAVE_CLASSES))
    gutter_value: float

    def value(self, offset: FloatArray, angle: FloatArray, gutter: BoolArray) -> FloatArray:
        """Expected frame score of arrivals, any one shape."""
        found = self._look(self.values, offset, angle, self.gutter_value)
        result: FloatArray = np.where(gutter, self.gutter_value, found)
        return result

    def strike(self, offset: FloatArray, angle: FloatArray, gutter: BoolArray) -> FloatArray:
        """Chance of a strike of arrivals."""
        result: FloatArray = np.where(gutter, 0.0, self._look(self.classes[:, :, 0], offset, angle))
        return result

    def split_or_washout(self, offset: FloatArray, angle: FloatArray, gutter: BoolArray) -> FloatArray:
        """Chance that an arrival leaves a split or a washout."""
        both = self.classes[:, :, 5] + self.classes[:, :, 6]
        result: FloatArray = np.where(gutter, 0.0, self._look(both, offset, angle))
        return result

    def pocket(self, offset: FloatArray, angle: FloatArray, gutter: BoolArray) -> FloatArray:
        """1 where an arrival is in the pocket, else 0."""
        result: FloatArray = (in_pocket(offset, angle) & ~gutter).astype(np.float64)
        return result

    def of_leave(self, leave: int) -> FloatArray:
        """Shares at every node, (n, m), of the kind of leave this one is."""
        result: FloatArray = self.classes[:, :, leave_class(leave)]
        return result

    def of_count(self, pins_fallen: int) -> FloatArray:
        """Shares at every node, (n, m), of all leaves with so many pins fallen."""
        result: FloatArray = self.rack.fallen[:, :, pins_fallen]
        return result

    def likelihood(self, result: FloatArray, offset: FloatArray, angle: FloatArray, sd: float) -> FloatArray:
        """Chance of a result of shares (n, m) where arrivals scatter by sd boards about offset, (k,) each.

        None where the arrival is NaN: what falls tells of a ball that came.
        """
        spread = offset[:, None] + sd * SMOOTHING
        found = self._look(result, spread, np.broadcast_to(angle[:, None], spread.shape))
        chance: FloatArray = found @ _SMOOTHING_WEIGHT
        return chance

    def usual_share(self, result: FloatArray) -> float:
        """Share of a result (n, m) among ordinary shots: two boards of spread, and slips."""
        offsets = np.array([POCKET_OFFSET_BOARDS])
        return float(self.likelihood(result, offsets, np.array([5.0]), 2.0)[0]) + SLIPS

    def _look(
        self, columns: FloatArray, offset: FloatArray, angle: FloatArray, missed: float = 0.0
    ) -> FloatArray:
        result: FloatArray = self.rack.look(columns[:, :, None], offset, angle, missed)[..., 0]
        return result


@lru_cache(maxsize=32)
def frame_table(spares: SpareRecord) -> FrameTable:
    """The table for a bowler's spare record."""
    rack = rack_table()
    worth = np.array([frame_value(mask, spares) for mask in range(FULL_RACK + 1)])
    classes = _class_matrix()
    return FrameTable(
        rack=rack,
        values=rack.share @ worth,
        classes=rack.share @ classes,
        gutter_value=frame_value(FULL_RACK, spares),
    )


@lru_cache(maxsize=1)
def _class_matrix() -> FloatArray:
    matrix = np.zeros((FULL_RACK + 1, len(LEAVE_CLASSES)))
    for mask in range(FULL_RACK + 1):
        matrix[mask, leave_class(mask)] = 1.0
    return matrix
