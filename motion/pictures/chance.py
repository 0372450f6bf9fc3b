"""The chance of the pocket over laydown and target, and how far a throw may miss before it is lost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion import units
from motion.draws import release_samples
from motion.engine import Samples, search
from motion.errors import FloatArray, MotionError, numbers
from motion.inputs import LAUNCH_DEG, LAYDOWN_BOARD, Line, ReleaseSpec
from motion.pocket import in_pocket
from motion.streams import scatter_normals

LAYDOWNS = np.arange(8.0, 39.0)
TARGETS = np.arange(2.0, 30.25, 0.5)
DRAWS = 128
# How far a chance hangs on its draws is seen on the best lines, thrown again with other scramblings.
SCRAMBLES, JUDGED_LINES = 8, 16
MISS_STEP_BOARDS, MISS_MOST_BOARDS = 0.1, 6.0
NO_CHANCE = 0.01


@dataclass(frozen=True, kw_only=True, eq=False)
class PocketField:
    """Chance of the pocket [0 to 1] for laydown_board (a,) by target_board (b,), NaN where the two give a
    launch beyond what the engine throws.

    error: standard error of a chance near the best; see `pocket_field`. best: the line of the greatest
    chance; None where no line has any.
    """

    laydown_board: FloatArray
    target_board: FloatArray
    target_ft: float
    laydown_ft: float
    chance: FloatArray
    error: float
    best: Line | None
    best_chance: float


@dataclass(frozen=True, kw_only=True)
class MissRoom:
    """How far the aim may be off at the target [boards] toward the own gutter (outside) and away from it
    (inside), laydown held, while the intended release still finds the pocket; at most 6 each way."""

    outside_boards: float
    inside_boards: float


def pocket_field(
    mu: FloatArray,
    *,
    release: ReleaseSpec,
    rg_in: ArrayLike,
    diameter_in: ArrayLike = 8.55,
    k: ArrayLike | None = None,
    laydown_board: FloatArray = LAYDOWNS,
    target_board: FloatArray = TARGETS,
    target_ft: float = 15.0,
    laydown_ft: float = 0.0,
    draws: int = DRAWS,
) -> PocketField:
    """Throw every line with the release's scatter and count the pocket (`motion.pocket.in_pocket`).

    mu: (61, 39), or (m, 61, 39) for m worlds counted alike, own-side friction [-]. rg_in, diameter_in, k as
    for `motion.engine.search`. laydown_board (a,), target_board (b,): own-side boards. draws: even draws of
    the release, a power of two.

    The error of even draws is not the one of so many random ones. It is found by throwing the best lines
    again with draws scrambled independently (randomised quasi-Monte Carlo; Owen, J. Complexity 14 (1998) 466,
    from memory): the root mean square over these lines of what their chances scatter by. It says how far a
    chance hangs on its draws, nothing of the model. Raises MotionError.
    """
    lay = numbers("laydown_board", laydown_board, *LAYDOWN_BOARD, "(board)")
    aim = numbers("target_board", target_board, *LAYDOWN_BOARD, "(board)")
    if lay.ndim != 1 or aim.ndim != 1 or not lay.size or not aim.size:
        raise MotionError("laydown_board, target_board", f"{lay.shape}, {aim.shape}", "must be (a,) and (b,)")
    if draws < 1 or draws & (draws - 1):
        raise MotionError("draws", draws, "must be a power of two")

    def thrown(laydown: FloatArray, target: FloatArray, scramble: int) -> FloatArray:
        samples = release_samples(release, scatter_normals(draws, scramble=scramble))
        return _chance(mu, rg_in, diameter_in, k, laydown, target, target_ft, laydown_ft, samples)

    chance = thrown(lay[:, None], aim[None, :], 0)
    best, most = _best(chance, lay, aim, target_ft, laydown_ft)
    a, b = _likeliest(chance)
    again = np.array([thrown(lay[a], aim[b], 1 + i) for i in range(SCRAMBLES)])
    return PocketField(
        laydown_board=lay,
        target_board=aim,
        target_ft=target_ft,
        laydown_ft=laydown_ft,
        chance=chance,
        error=float(np.sqrt(again.var(axis=0, ddof=1).mean())),
        best=best,
        best_chance=most,
    )


def miss_room(
    mu: FloatArray,
    line: Line,
    *,
    release: ReleaseSpec,
    rg_in: ArrayLike,
    diameter_in: ArrayLike = 8.55,
    k: ArrayLike | None = None,
) -> MissRoom | None:
    """How far the intended release may miss the target of a line; None if the line itself misses the pocket.

    On several worlds a throw counts as in the pocket where most of them say so. Raises MotionError.
    """
    steps = round(MISS_MOST_BOARDS / MISS_STEP_BOARDS)
    off = MISS_STEP_BOARDS * np.arange(-steps, steps + 1, dtype=np.float64)
    intended = release_samples(release, np.zeros((1, 5)))
    lay = np.full(len(off), line.laydown_board)
    chance = _chance(
        mu, rg_in, diameter_in, k, lay, line.target_board + off, line.target_ft, line.laydown_ft, intended
    )
    good = np.nan_to_num(chance) > 0.5
    if not good[steps]:
        return None

    def room(way: int) -> float:
        walk = good[steps::way]
        return float(MISS_STEP_BOARDS * ((len(walk) if walk.all() else int(np.argmin(walk))) - 1))

    # Boards rise away from the own gutter.
    return MissRoom(outside_boards=room(-1), inside_boards=room(1))


def _chance(
    mu: FloatArray,
    rg_in: ArrayLike,
    diameter_in: ArrayLike,
    k: ArrayLike | None,
    laydown: FloatArray,
    target: FloatArray,
    target_ft: float,
    laydown_ft: float,
    samples: Samples,
) -> FloatArray:
    """Share of samples and worlds in the pocket for lines of any shape; NaN where the launch is too wide."""
    reach = Line(laydown_board=20.0, target_board=20.0, target_ft=target_ft, laydown_ft=laydown_ft)
    feet = reach.target_ft - reach.laydown_ft
    across_ft = (laydown - target) * units.BOARD_IN / 12.0
    launch = np.degrees(np.arctan2(across_ft, feet))
    foul_line = np.broadcast_to(laydown + (laydown - target) / feet * reach.laydown_ft, launch.shape)
    thrown = (launch >= LAUNCH_DEG[0]) & (launch <= LAUNCH_DEG[1])
    chance = np.full(launch.shape, np.nan)
    if thrown.any():
        met = search(
            mu,
            rg_in=rg_in,
            diameter_in=diameter_in,
            k=k,
            launch_deg=launch[thrown],
            laydown_board=foul_line[thrown],
            samples=samples,
        )
        chance[thrown] = in_pocket(met.offset_boards, met.angle_deg).mean(axis=(0, 2))
    return chance


def _likeliest(chance: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Places of the lines of greatest chance, of those that can be thrown."""
    known = np.flatnonzero(np.isfinite(chance.ravel()))
    order = np.argsort(-chance.ravel()[known], kind="stable")
    a, b = np.unravel_index(known[order[:JUDGED_LINES]], chance.shape)
    return a, b


def _best(
    chance: FloatArray, lay: FloatArray, aim: FloatArray, target_ft: float, laydown_ft: float
) -> tuple[Line | None, float]:
    known = np.nan_to_num(chance, nan=-1.0)
    most = float(known.max())
    if most < NO_CHANCE:
        return None, max(most, 0.0)
    # Of equally good lines the one nearest the middle of them, so that a plateau is not played at its edge.
    places = np.argwhere(known >= most - 1e-12)
    middle = places[int(np.argmin(((places - places.mean(axis=0)) ** 2).sum(axis=1)))]
    line = Line(
        laydown_board=float(lay[middle[0]]),
        target_board=float(aim[middle[1]]),
        target_ft=target_ft,
        laydown_ft=laydown_ft,
    )
    return line, most
