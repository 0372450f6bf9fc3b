"""Friction maps for the tests of the path."""

from __future__ import annotations

import numpy as np

FEET, BOARDS = np.arange(61.0)[:, None], np.arange(1.0, 40.0)[None, :]


def uniform(mu):
    return np.full((61, 39), float(mu))


def two_zone(oil, dry, end_ft):
    """A step at end_ft as nodes can hold it: the node on the step takes the mean."""
    mu = np.full((61, 39), float(dry))
    mu[: int(end_ft)] = oil
    mu[int(end_ft)] = (oil + dry) / 2.0
    return mu


def smooth(seed=0):
    """A house-like map: slick in the middle, drier outside and past 40 ft."""
    rng = np.random.default_rng(seed)
    length = 36.0 + 8.0 * rng.random()
    end = 1.0 / (1.0 + np.exp(-(FEET - length) / 1.5))
    outside = np.clip((12.0 - np.minimum(BOARDS, 40.0 - BOARDS)) / 10.0, 0.0, 1.0)
    return (0.012 + 0.04 * outside) * (1.0 - end) + 0.2 * end


def rough(seed=0, share=0.3):
    """The smooth map with every node changed by up to 30 %: rough board by board and foot by foot."""
    rng = np.random.default_rng(1000 + seed)
    return smooth(seed) * (1.0 + share * rng.uniform(-1.0, 1.0, (61, 39)))
