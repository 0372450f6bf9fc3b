"""Random streams keyed by content: the same question draws the same numbers, whatever ids or time."""

from __future__ import annotations

import hashlib

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from motion.errors import FloatArray


def generator(key: str) -> np.random.Generator:
    """A counter-based generator seeded by the SHA-256 of a text key."""
    return np.random.Generator(np.random.Philox(int.from_bytes(hashlib.sha256(key.encode()).digest()[:16])))


def stratified_normals(key: str, count: int) -> FloatArray:
    """`count` standard normal quantiles at stratum midpoints, in an order that depends on the key only.

    Streams of different keys together form a Latin hypercube (McKay, Beckman & Conover, Technometrics 21
    (1979) 239), so adding or permuting dimensions leaves the others untouched.
    """
    order = generator(key).permutation(count)
    quantiles: FloatArray = ndtri((order + 0.5) / count)
    return quantiles


def scatter_normals(count: int, dimensions: int = 5, *, scramble: int = 0) -> FloatArray:
    """Scrambled Sobol points as standard normals, shape (count, dimensions): the same for every candidate.

    scramble: another number scrambles them independently, to see how far an average hangs on the draws.
    """
    random = np.random.Generator(np.random.Philox(20 + scramble))
    points = qmc.Sobol(dimensions, scramble=True, rng=random).random(count)
    normals: FloatArray = ndtri(np.clip(points, 1e-6, 1.0 - 1e-6))
    return normals


def covariance_root(covariance: FloatArray) -> FloatArray:
    """A square root A with A A' = covariance, also where some spread is zero; shape (5, 5)."""
    values, vectors = np.linalg.eigh(covariance)
    root: FloatArray = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
    return root
