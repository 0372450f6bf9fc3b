"""Kernel of the wear law: one ball after another lifts oil along its track, keeps some and lays some down
further on."""

from __future__ import annotations

import math

import numpy as np

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.units import BOARD_FOOT_UL_PER_UM, BOARDS, EDGE_HIGH_BOARD, EDGE_LOW_BOARD


@kernel
def passes_over(
    film: FloatArray,
    tracks: FloatArray,
    lift: FloatArray,
    kept: FloatArray,
    half_width: float,
    carry_ft: float,
    kept_ul: FloatArray,
) -> None:
    """Run passes over film (61, 39) [um] in place; kept_ul (n,) gets what each ball carries off [uL].

    tracks (n, 61) lane boards, NaN off the lane; lift (n,) share lifted at the middle of the track; kept (n,)
    share the cover keeps. The profile across boards is a raised cosine. At each foot the ball first lays down
    what it carries, then lifts, so oil is never put back where it came from. Sums over boards run both ways
    and are averaged, which makes a mirrored pass over a mirrored film equal bit for bit.
    """
    feet = film.shape[0]
    laid_share = 1.0 - math.exp(-1.0 / carry_ft)
    reach = math.ceil(half_width) + 1
    width = 2 * reach + 1
    profile = np.zeros(width)
    moved = np.zeros(width)
    for p in range(tracks.shape[0]):
        carried = 0.0
        carried_off = 0.0
        for foot in range(feet):
            track = tracks[p, foot]
            if not (EDGE_LOW_BOARD <= track <= EDGE_HIGH_BOARD):
                break
            area = BOARD_FOOT_UL_PER_UM
            if foot == 0 or foot == feet - 1:
                area = 0.5 * area
            first = math.ceil(track - half_width)
            last = math.floor(track + half_width)
            first = max(first, 1)
            last = min(last, BOARDS)
            count = last - first + 1
            for c in range(count):
                away = abs(first + c - track) / half_width
                profile[c] = 0.5 * (1.0 + math.cos(math.pi * min(away, 1.0)))
            up = 0.0
            down = 0.0
            for c in range(count):
                up += profile[c]
                down += profile[count - 1 - c]
            total = 0.5 * (up + down)
            if total <= 1e-12:
                continue
            laid = carried * laid_share
            carried -= laid
            up = 0.0
            down = 0.0
            for c in range(count):
                before = film[foot, first - 1 + c]
                there = before + laid * (profile[c] / total) / area
                taken = there * (lift[p] * profile[c])
                film[foot, first - 1 + c] = there - taken
                moved[c] = taken * area
            for c in range(count):
                up += moved[c]
                down += moved[count - 1 - c]
            taken_ul = 0.5 * (up + down)
            carried_off += taken_ul * kept[p]
            carried += taken_ul * (1.0 - kept[p])
        # What is still on the cover at the pins, or in the gutter, leaves the lane too.
        kept_ul[p] = carried_off + carried
