"""Normal stand-ins for evidence that is not normal: what pins say of an offset often has several peaks.

Each piece of evidence is replaced by one normal reading of its offset, chosen so that mean and variance agree
with the exact product of everything else and that piece (expectation propagation; Minka, UAI 2001, 362, from
memory). The stand-ins only place and shape the guess that worlds are drawn from; worlds are weighed exactly.
"""

from __future__ import annotations

import numpy as np

from motion.errors import FloatArray

GRID_BOARDS: FloatArray = np.linspace(-20.0, 20.0, 161)
_FINEST_SD = GRID_BOARDS[1] - GRID_BOARDS[0]  # narrower than this the grid cannot follow
SWEEPS = 6
DAMPING = 0.6
_LEAST_CAVITY_SHARE = 0.05  # of the precision of an offset: rounding must not leave a cavity without any


class Sites:
    """One normal reading for each of k pieces: its precision [1/board^2], and that times its middle."""

    def __init__(self, count: int) -> None:
        self.precision: FloatArray = np.zeros(count)
        self.shift: FloatArray = np.zeros(count)

    def settle(
        self,
        log_likelihood: FloatArray,
        offset: FloatArray,
        slope: FloatArray,
        precision: FloatArray,
        pull: FloatArray,
    ) -> tuple[FloatArray, FloatArray]:
        """Fit the readings to a linear model of the offsets; returns all precision (d, d) and pull (d,).

        log_likelihood (k, len(GRID_BOARDS)): of each piece at the grid's offsets. offset (k,), slope (k, d):
        offsets are offset + slope @ move. precision, pull: of the move by everything else.
        """
        for _ in range(SWEEPS):
            covariance = np.linalg.inv(self._precision(precision, slope))
            mean = offset + slope @ (covariance @ self._pull(pull, slope, offset))
            sharpness = 1.0 / np.maximum(np.einsum("kd,de,ke->k", slope, covariance, slope), 1e-12)
            cavity = np.maximum(sharpness - self.precision, _LEAST_CAVITY_SHARE * sharpness)
            cavity = np.minimum(cavity, _FINEST_SD**-2)
            middle = mean + (self.precision * mean - self.shift) / cavity
            tilted_mean, tilted_variance = _moments(log_likelihood, middle, cavity)
            fitted = np.maximum(1.0 / tilted_variance - cavity, 0.0)
            # Where the evidence widens what is believed, its reading keeps a pull but no precision.
            shift = (fitted + cavity) * tilted_mean - cavity * middle
            self.precision = self.precision + DAMPING * (fitted - self.precision)
            self.shift = self.shift + DAMPING * (shift - self.shift)
        return self._precision(precision, slope), self._pull(pull, slope, offset)

    def _precision(self, rest: FloatArray, slope: FloatArray) -> FloatArray:
        result: FloatArray = rest + (slope.T * self.precision) @ slope
        return result

    def _pull(self, rest: FloatArray, slope: FloatArray, offset: FloatArray) -> FloatArray:
        result: FloatArray = rest + slope.T @ (self.shift - self.precision * offset)
        return result


def _moments(
    log_likelihood: FloatArray, middle: FloatArray, precision: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance (k,) of normal x likelihood on the grid."""
    away = GRID_BOARDS - np.clip(middle, GRID_BOARDS[0], GRID_BOARDS[-1])[:, None]
    log_weight = log_likelihood - 0.5 * precision[:, None] * away**2
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    mean = weight @ GRID_BOARDS
    variance = np.sum(weight * (GRID_BOARDS - mean[:, None]) ** 2, axis=1)
    return mean, np.maximum(variance, 0.25 * _FINEST_SD**2)
