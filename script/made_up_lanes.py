"""Made-up lanes and shots to measure on: smooth lanes, and lanes rough board by board and foot by foot.

Shared by the tests of the fast engine and by script/bench; nothing here comes from a real lane.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from motion.units import BOARD_IN

FloatArray = npt.NDArray[np.float64]

FEET, BOARDS = np.arange(61.0)[:, None], np.arange(1.0, 40.0)[None, :]


def smooth_lane(rng: np.random.Generator) -> FloatArray:
    """Friction that changes gently: slick in the middle, drier outside and past the pattern's end."""
    oil, dry = rng.uniform(0.008, 0.03), rng.uniform(0.15, 0.25)
    past = 1.0 / (1.0 + np.exp(-(FEET - rng.uniform(34.0, 48.0)) / rng.uniform(0.5, 3.0)))
    from_edge = np.minimum(BOARDS, 40.0 - BOARDS)
    outside = 1.0 / (1.0 + np.exp((from_edge - rng.uniform(3.0, 9.0)) / rng.uniform(0.8, 3.0)))
    share = past + (1.0 - past) * outside * rng.uniform(0.1, 0.9)
    mu: FloatArray = oil + (dry - oil) * np.clip(share, 0.0, 1.0)
    return mu


def rough_lane(rng: np.random.Generator) -> FloatArray:
    """Sharp steps along and across, and up to 30 % more or less by board, by node, or by both."""
    oil, dry = rng.uniform(0.008, 0.03), rng.uniform(0.15, 0.25)
    length, edge = rng.integers(32, 50), rng.integers(3, 12)
    mu = np.where(length > FEET, oil, dry) * np.ones((61, 39))
    outside = (length > FEET) & ((edge > BOARDS) | (40 - edge < BOARDS))
    mu = np.where(outside, oil + (dry - oil) * rng.uniform(0.1, 0.6), mu)
    kind = rng.integers(3)
    if kind != 0:
        mu = mu * (1.0 + rng.uniform(-0.3, 0.3, (1, 39)))
    if kind != 1:
        mu = mu * (1.0 + rng.uniform(-0.3, 0.3, (61, 39)))
    return np.minimum(mu, 0.4)


LANES = {"smooth": smooth_lane, "rough": rough_lane}


def shots(rng: np.random.Generator, count: int) -> dict[str, Any]:
    """Releases from straight and fast to slow with many revs, aimed at boards 5 to 22 at the arrows."""
    at_arrows = rng.uniform(5.0, 22.0, count)
    laydown = at_arrows + rng.uniform(0.0, 11.0, count)
    return {
        "speed_mph": rng.uniform(14.0, 22.0, count),
        "rev_rate_rpm": rng.uniform(100.0, 550.0, count),
        "axis_rotation_deg": rng.uniform(0.0, 85.0, count),
        "axis_tilt_deg": rng.uniform(0.0, 25.0, count),
        "launch_deg": np.degrees(np.arctan2((laydown - at_arrows) * BOARD_IN, 15.0 * 12.0)),
        "laydown_board": laydown,
        "rg_in": rng.uniform(2.46, 2.80, count),
    }


def one_shot(columns: dict[str, FloatArray], row: int) -> dict[str, Any]:
    """One row of `shots` as keyword arguments."""
    return {name: float(values[row]) for name, values in columns.items()}
