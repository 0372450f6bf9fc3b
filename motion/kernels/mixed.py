"""Kernel of the belief: friction maps of many worlds from one star of films, by table look-up."""

from __future__ import annotations

from motion.errors import FloatArray
from motion.kernels.jit import kernel


@kernel
def mixed_friction(
    base: FloatArray,
    slope: FloatArray,
    bend: FloatArray,
    moves: FloatArray,
    film_scale: FloatArray,
    friction_scale: FloatArray,
    factor: FloatArray,
    table: FloatArray,
    table_step: float,
    out: FloatArray,
) -> None:
    """Fill out (n, 61, 39) with friction; base, factor (61, 39), slope and bend (3, 61, 39) [um], moves
    (n, 3).

    film = film_scale (base + sum of slope t + bend t^2 over the three axes), not below zero; friction is read
    linearly from table (m,) at steps of table_step [um], held at its end, times friction_scale and factor, at
    most 1.
    """
    last = table.shape[0] - 1
    for w in range(out.shape[0]):
        a, b, c = moves[w, 0], moves[w, 1], moves[w, 2]
        for foot in range(base.shape[0]):
            for board in range(base.shape[1]):
                film = (
                    base[foot, board]
                    + (slope[0, foot, board] + bend[0, foot, board] * a) * a
                    + (slope[1, foot, board] + bend[1, foot, board] * b) * b
                    + (slope[2, foot, board] + bend[2, foot, board] * c) * c
                ) * film_scale[w]
                place = max(film, 0.0) / table_step
                low = min(int(place), last - 1)
                part = min(place - low, 1.0)
                mu = table[low] + (table[low + 1] - table[low]) * part
                out[w, foot, board] = min(mu * friction_scale[w] * factor[foot, board], 1.0)
