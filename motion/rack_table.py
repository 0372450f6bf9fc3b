"""The pin model's results on a grid, computed once by script/build_rack_table.py and shipped with the code.

Own-side throughout: offsets and leaves are a right-hander's, a left-hander's leave is its mirror. These are a
model's shares, not counts of real shots.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray, MotionError
from motion.leaves import FULL_RACK, check_mask, dashed, mask_of, pin_count
from motion.pins import simulate_rack

DATA = Path(__file__).parent / "data" / "rack_table.npz"

RACK_OFFSETS: FloatArray = np.arange(-16.0, 16.01, 0.25)
RACK_ANGLES: FloatArray = np.arange(0.0, 10.01, 1.0)
RACK_SAMPLES = 2000
SPARE_OFFSETS: FloatArray = np.arange(-19.5, 19.51, 0.5)
SPARE_ANGLES: FloatArray = np.array([0.0, 2.0, 4.0, 6.0])
SPARE_SAMPLES = 200
SEED = 20

# Single pins and the leaves most often met; others are simulated when asked for.
COMMON_LEAVES: tuple[int, ...] = tuple(
    mask_of(pins)
    for pins in (
        *((pin,) for pin in range(1, 11)),
        *((2, 4), (3, 6), (6, 10), (4, 7), (3, 6, 10), (2, 4, 7), (3, 9), (2, 8), (8, 10), (7, 9)),
        *((2, 4, 5), (3, 5, 6), (2, 4, 5, 8), (3, 5, 6, 9), (3, 10), (2, 7), (4, 9), (6, 8), (5, 7), (5, 10)),
        *((1, 2, 10), (1, 2, 4, 10), (1, 3, 7), (1, 3, 6, 7), (1, 2, 4), (1, 3, 6), (4, 6, 7, 10), (7, 10)),
    )
)


@dataclass(frozen=True, eq=False)
class RackTable:
    """Shares of leaves of a full rack, share (n, m, 1024) at offsets (n,) [boards] x angles (m,) [deg].

    cleared (leaves, p, q): share of balls that clear each of COMMON_LEAVES at spare_offset_boards (p,) x
    spare_angle_deg (q,).
    """

    offset_boards: FloatArray
    entry_angle_deg: FloatArray
    share: FloatArray
    spare_offset_boards: FloatArray
    spare_angle_deg: FloatArray
    cleared: FloatArray

    @cached_property
    def fallen(self) -> FloatArray:
        """Shares of 0 to 10 pins fallen at every node, (n, m, 11): those of all leaves with so many down."""
        down = np.array([10 - pin_count(mask) for mask in range(FULL_RACK + 1)])
        result: FloatArray = self.share @ (down[:, None] == np.arange(11)).astype(np.float64)
        return result

    def look(self, columns: FloatArray, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> FloatArray:
        """Bilinear values of columns (n, m, k) at arrivals (shape s), shape (*s, k); edges hold beyond."""
        return _bilinear(columns, self.offset_boards, self.entry_angle_deg, offset_boards, entry_angle_deg)

    def conversion(self, leave: int, offset_boards: FloatArray, entry_angle_deg: FloatArray) -> FloatArray:
        """Chance of clearing one of COMMON_LEAVES, one shape; raises MotionError for other leaves."""
        check_mask(leave, "leave")
        if leave not in COMMON_LEAVES:
            raise MotionError("leave", dashed(leave), "one of the common leaves (simulate_rack answers any)")
        columns = self.cleared[COMMON_LEAVES.index(leave)][:, :, None]
        found = _bilinear(
            columns, self.spare_offset_boards, self.spare_angle_deg, offset_boards, entry_angle_deg
        )
        result: FloatArray = found[..., 0]
        return result


@lru_cache(maxsize=1)
def rack_table() -> RackTable:
    """The shipped table, read once per process."""
    with np.load(DATA) as stored:
        return RackTable(
            offset_boards=RACK_OFFSETS,
            entry_angle_deg=RACK_ANGLES,
            share=_dense(stored["masks"], stored["counts"]) / RACK_SAMPLES,
            spare_offset_boards=SPARE_OFFSETS,
            spare_angle_deg=SPARE_ANGLES,
            cleared=stored["cleared"].astype(np.float64) / SPARE_SAMPLES,
        )


def rack_counts(offset_boards: float, entry_angle_deg: float) -> NDArray[np.int64]:
    """Counts of each leave (1024,) in RACK_SAMPLES balls at one node of the table."""
    masks = simulate_rack(
        offset_boards=offset_boards, entry_angle_deg=entry_angle_deg, seed=SEED, samples=RACK_SAMPLES
    )
    return np.bincount(masks, minlength=FULL_RACK + 1)


def cleared_count(leave: int, offset_boards: float, entry_angle_deg: float) -> int:
    """How many of SPARE_SAMPLES balls clear a leave at one node of the table."""
    masks = simulate_rack(
        leave, offset_boards=offset_boards, entry_angle_deg=entry_angle_deg, seed=SEED, samples=SPARE_SAMPLES
    )
    return int((masks == 0).sum())


def build(path: Path = DATA) -> None:
    """Compute the whole table and write it: a minute or two of one processor."""
    counts = np.array([[rack_counts(o, a) for a in RACK_ANGLES] for o in RACK_OFFSETS])
    masks = np.flatnonzero(counts.any(axis=(0, 1)))
    cleared = [
        [[cleared_count(leave, o, a) for a in SPARE_ANGLES] for o in SPARE_OFFSETS] for leave in COMMON_LEAVES
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(
        path,
        masks=masks.astype(np.uint16),
        counts=counts[:, :, masks].astype(np.uint16),
        cleared=np.array(cleared, dtype=np.uint16),
    )


def _dense(masks: NDArray[np.uint16], counts: NDArray[np.uint16]) -> FloatArray:
    share = np.zeros((*counts.shape[:2], FULL_RACK + 1))
    share[:, :, masks] = counts
    return share


def _bilinear(
    columns: FloatArray, rows_at: FloatArray, columns_at: FloatArray, row: FloatArray, column: FloatArray
) -> FloatArray:
    i, down = _place(row, rows_at)
    j, across = _place(column, columns_at)
    down, across = down[..., None], across[..., None]
    upper = columns[i, j] * (1.0 - across) + columns[i, j + 1] * across
    lower = columns[i + 1, j] * (1.0 - across) + columns[i + 1, j + 1] * across
    result: FloatArray = upper * (1.0 - down) + lower * down
    return result


def _place(values: FloatArray, nodes: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Index of the node below each value on an even grid, and the part of the step beyond it."""
    steps = np.clip((np.asarray(values) - nodes[0]) / (nodes[1] - nodes[0]), 0.0, len(nodes) - 1.0)
    low = np.minimum(steps.astype(np.int64), len(nodes) - 2)
    return low, steps - low
