"""The pin model's results on a grid, computed once by script/build_rack_table.py and shipped with the code.

For a full rack and for every leave: what stands after a ball at an offset and an angle. Own-side throughout:
offsets and leaves are a right-hander's, a left-hander's leave is its mirror. One usual speed and ball weight
(`motion.pins`); `simulate_rack` answers for others. These are a model's shares, not counts of real shots.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion.errors import FloatArray, MotionError
from motion.leaves import FULL_RACK, check_mask, dashed, mirror, pin_count
from motion.offsets import head_pin_reach_boards
from motion.pins import Masks, depth_boards, simulate_aimed, simulate_rack

DATA = Path(__file__).parent / "data" / "rack_table.npz"

RACK_OFFSETS: FloatArray = np.arange(-16.0, 16.01, 0.25)
RACK_ANGLES: FloatArray = np.arange(0.0, 10.01, 1.0)
RACK_SAMPLES = 2000
# A leave's table stands on where the ball's path passes its front row: on that line what a ball hits hardly
# depends on the angle, so few angles do. Second balls come from either side, and the angles are symmetric, so
# a leave's table is its mirror's turned round.
SPARE_AIMS: FloatArray = np.arange(-19.5, 19.51, 0.5)
SPARE_ANGLES: FloatArray = np.array([-6.0, -4.0, -2.0, 0.0, 2.0, 4.0, 6.0])
# Leaves that a first ball brings and the ones it hardly ever brings (OFTEN_SHARE of all leaves on the grid).
SPARE_SAMPLES, RARE_SAMPLES = 100, 16
OFTEN_SHARE = 0.999
SEED = 20

# One of each pair of mirrored leaves.
LEAVES: tuple[int, ...] = tuple(mask for mask in range(1, FULL_RACK) if mask <= mirror(mask))

Counts = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class NextStates:
    """What stands after a ball at a leave: share (p, q, k) of masks (k,) on a grid of arrivals.

    rows (p,) are offsets of a full rack, else aims at the leave's front row, depth_boards behind the head pin
    [boards]; angles (q,) [deg].
    """

    leave: int
    rows: FloatArray
    angles: FloatArray
    depth_boards: float
    masks: Masks
    share: FloatArray

    def look(self, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> FloatArray:
        """Bilinear shares of masks after arrivals (shape s), shape (*s, k); edges hold beyond.

        NaN is a ball that met no pin (`motion.engine.Arrivals`): the leave stands.
        """
        untouched = (self.masks == self.leave).astype(np.float64)
        return self._look(self.share, offset_boards, entry_angle_deg, untouched)

    def cleared(self, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> FloatArray:
        """Chance that nothing stands after arrivals, one shape [boards, degrees]; 0 for NaN, a miss."""
        nothing = self.share[:, :, self.masks == 0].sum(axis=2, keepdims=True)
        result: FloatArray = self._look(nothing, offset_boards, entry_angle_deg, np.zeros(1))[..., 0]
        return result

    def mean(self, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> dict[int, float]:
        """Shares of each mask over arrivals (n,): the table convolved with their scatter.

        Raises MotionError where there are none.
        """
        if not np.size(offset_boards):
            raise MotionError("arrivals", "none", "at least one offset and entry angle")
        mixed = self.look(offset_boards, entry_angle_deg).reshape(-1, len(self.masks)).mean(axis=0)
        return {int(mask): float(part) for mask, part in zip(self.masks, mixed, strict=True) if part > 0.0}

    def _look(
        self, columns: FloatArray, offset: FloatArray, angle: FloatArray, missed: FloatArray
    ) -> FloatArray:
        at, turn = _arrivals(offset, angle)
        if self.leave != FULL_RACK:
            at = aim_boards(at, turn, self.depth_boards)
        return _bilinear(columns, self.rows, self.angles, at, turn, missed)


def aim_boards(offset_boards: FloatArray, entry_angle_deg: FloatArray, depth: float) -> FloatArray:
    """Where a ball's straight path passes a line depth boards behind the head pin, 20 - board, one shape.

    An offset is taken where ball and head pin touch, sqrt(D^2 - offset^2) before it (D the sum of the radii).
    """
    before = np.sqrt(np.maximum(head_pin_reach_boards() ** 2 - offset_boards**2, 0.0))
    result: FloatArray = offset_boards - np.tan(np.radians(entry_angle_deg)) * (depth + before)
    return result


@dataclass(frozen=True, eq=False)
class RackTable:
    """Shares of leaves of a full rack, share (n, m, 1024) at offsets (n,) [boards] x angles (m,) [deg].

    starts (leaves, p * q + 1), states and counts are the next states of LEAVES, sparse: node after node the
    masks left standing and how many of samples (leaves,) balls left them.
    """

    offset_boards: FloatArray
    entry_angle_deg: FloatArray
    share: FloatArray
    samples: NDArray[np.int64]
    starts: NDArray[np.int64]
    states: NDArray[np.uint16]
    counts: Counts

    @cached_property
    def fallen(self) -> FloatArray:
        """Shares of 0 to 10 pins fallen at every node, (n, m, 11): those of all leaves with so many down."""
        down = np.array([10 - pin_count(mask) for mask in range(FULL_RACK + 1)])
        result: FloatArray = self.share @ (down[:, None] == np.arange(11)).astype(np.float64)
        return result

    def look(
        self,
        columns: FloatArray,
        offset_boards: FloatArray,
        entry_angle_deg: FloatArray,
        missed: ArrayLike = np.nan,
    ) -> FloatArray:
        """Bilinear values of columns (n, m, k) at arrivals (shape s), shape (*s, k); edges hold beyond.

        missed: scalar or (k,), for a ball that met no pin, an arrival of NaN (`motion.engine.Arrivals`).
        """
        at, turn = _arrivals(offset_boards, entry_angle_deg)
        return _bilinear(columns, self.offset_boards, self.entry_angle_deg, at, turn, missed)

    def after(self, leave: int) -> NextStates:
        """What stands after a ball at any leave (1 to 1023); raises MotionError for no pins at all."""
        if check_mask(leave, "leave") == 0:
            raise MotionError("leave", dashed(leave) or "no pins", "at least one standing pin")
        if leave == FULL_RACK:
            # The full rack itself is always among them, for a ball that misses it.
            masks = np.union1d(np.flatnonzero(self.share.any(axis=(0, 1))), [FULL_RACK])
            share = self.share[:, :, masks]
            return NextStates(leave, self.offset_boards, self.entry_angle_deg, 0.0, masks, share)
        own = min(leave, mirror(leave))
        masks, share = self._stored(LEAVES.index(own))
        if own != leave:
            # The mirrored leave meets the mirrored ball: both axes turned round.
            masks = np.array([mirror(int(mask)) for mask in masks], dtype=np.int64)
            share = share[::-1, ::-1]
        return NextStates(leave, SPARE_AIMS, SPARE_ANGLES, depth_boards(leave), masks, share)

    def conversion(self, leave: int, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> FloatArray:
        """Chance of clearing a leave, one shape; raises MotionError for no pins at all."""
        return self.after(leave).cleared(offset_boards, entry_angle_deg)

    def _stored(self, index: int) -> tuple[Masks, FloatArray]:
        starts = self.starts[index]
        states = self.states[starts[0] : starts[-1]]
        # The leave itself is always among them, for a ball that misses it.
        masks = np.union1d(states, np.array([LEAVES[index]], dtype=states.dtype))
        column = np.searchsorted(masks, states)
        node = np.repeat(np.arange(len(starts) - 1), np.diff(starts))
        share = np.zeros((len(starts) - 1, len(masks)))
        share[node, column] = self.counts[starts[0] : starts[-1]] / self.samples[index]
        return masks.astype(np.int64), share.reshape(len(SPARE_AIMS), len(SPARE_ANGLES), len(masks))


@lru_cache(maxsize=1)
def rack_table() -> RackTable:
    """The shipped table, read once per process."""
    nodes = len(SPARE_AIMS) * len(SPARE_ANGLES)
    with np.load(DATA) as stored:
        ends = np.cumsum(stored["kinds"].astype(np.int64)).reshape(len(LEAVES), nodes)
        starts = np.hstack([np.concatenate([[0], ends[:-1, -1]])[:, None], ends])
        return RackTable(
            offset_boards=RACK_OFFSETS,
            entry_angle_deg=RACK_ANGLES,
            share=_dense(stored["masks"], stored["rack_counts"]) / RACK_SAMPLES,
            samples=stored["samples"].astype(np.int64),
            starts=starts,
            states=stored["states"],
            counts=stored["counts"],
        )


@lru_cache(maxsize=64)
def next_states(leave: int) -> NextStates:
    """The shipped table's next states of a leave (1 to 1023, full rack included), kept for further calls."""
    return rack_table().after(leave)


def rack_counts(offset_boards: float, entry_angle_deg: float) -> NDArray[np.int64]:
    """Counts of each leave (1024,) in RACK_SAMPLES balls at one node of the table."""
    seed = _seed(0, offset_boards, entry_angle_deg)
    masks = simulate_rack(
        offset_boards=offset_boards, entry_angle_deg=entry_angle_deg, seed=seed, samples=RACK_SAMPLES
    )
    return np.bincount(masks, minlength=FULL_RACK + 1)


def next_counts(leave: int, aim: float, entry_angle_deg: float, samples: int) -> NDArray[np.int64]:
    """Counts of each mask (1024,) left by balls at one of LEAVES at one node of its table."""
    seed = _seed(leave, aim, entry_angle_deg)
    masks = simulate_aimed(leave, aim_boards=aim, entry_angle_deg=entry_angle_deg, seed=seed, samples=samples)
    return np.bincount(masks, minlength=FULL_RACK + 1)


def _seed(leave: int, row: float, angle: float) -> int:
    # Each node of each leave has draws of its own, so that errors average out under a bowler's scatter.
    return SEED + 1_000_000 * leave + 1000 * round(4.0 * (row + 20.0)) + round(angle + 10.0)


def often_left(counts: NDArray[np.int64]) -> frozenset[int]:
    """The leaves (either hand's) that make up OFTEN_SHARE of counts (n, m, 1024) of a full rack."""
    total = counts.sum(axis=(0, 1)).astype(np.float64)
    order = np.argsort(-total, kind="stable")
    needed = int(np.searchsorted(np.cumsum(total[order]), OFTEN_SHARE * total.sum())) + 1
    often = {int(mask) for mask in order[:needed]}
    return frozenset(often | {mirror(mask) for mask in often})


def build(path: Path = DATA) -> None:
    """Compute the whole table and write it: about five minutes of one processor."""
    rack = np.array([[rack_counts(o, a) for a in RACK_ANGLES] for o in RACK_OFFSETS])
    masks = np.flatnonzero(rack.any(axis=(0, 1)))
    often = often_left(rack)
    samples = np.array([SPARE_SAMPLES if leave in often else RARE_SAMPLES for leave in LEAVES])
    kinds, states, counts = [], [], []
    for leave, balls in zip(LEAVES, samples, strict=True):
        for aim in SPARE_AIMS:
            for angle in SPARE_ANGLES:
                found = next_counts(leave, aim, angle, int(balls))
                left = np.flatnonzero(found)
                kinds.append(len(left))
                states.append(left)
                counts.append(found[left])
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(
        path,
        masks=masks.astype(np.uint16),
        rack_counts=rack[:, :, masks].astype(np.uint16),
        samples=samples.astype(np.uint8),
        kinds=np.array(kinds, dtype=np.uint8),
        states=np.concatenate(states).astype(np.uint16),
        counts=np.concatenate(counts).astype(np.uint8),
    )


def _dense(masks: NDArray[np.uint16], counts: NDArray[np.uint16]) -> FloatArray:
    share = np.zeros((*counts.shape[:2], FULL_RACK + 1))
    share[:, :, masks] = counts
    return share


def _arrivals(offset: FloatArray, angle: FloatArray) -> tuple[FloatArray, FloatArray]:
    at, turn = np.asarray(offset, dtype=np.float64), np.asarray(angle, dtype=np.float64)
    if at.shape != turn.shape:
        raise MotionError("arrivals", f"shapes {at.shape}, {turn.shape}", "offsets and angles of one shape")
    return at, turn


def _bilinear(
    columns: FloatArray,
    rows_at: FloatArray,
    columns_at: FloatArray,
    row: FloatArray,
    column: FloatArray,
    missed: ArrayLike,
) -> FloatArray:
    """Values (*s, k) at places of one shape s; missed where a place is NaN."""
    gone = np.isnan(row) | np.isnan(column)
    if gone.any():
        row, column = np.where(gone, rows_at[0], row), np.where(gone, columns_at[0], column)
    i, down = _place(row, rows_at)
    j, across = _place(column, columns_at)
    down, across = down[..., None], across[..., None]
    upper = columns[i, j] * (1.0 - across) + columns[i, j + 1] * across
    lower = columns[i + 1, j] * (1.0 - across) + columns[i + 1, j + 1] * across
    result: FloatArray = upper * (1.0 - down) + lower * down
    if gone.any():
        result[gone] = missed
    return result


def _place(values: FloatArray, nodes: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Index of the node below each value on an even grid, and the part of the step beyond it."""
    steps = np.clip((np.asarray(values) - nodes[0]) / (nodes[1] - nodes[0]), 0.0, len(nodes) - 1.0)
    low = np.minimum(steps.astype(np.int64), len(nodes) - 2)
    return low, steps - low
