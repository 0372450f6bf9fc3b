"""A release as its bowler throws it: draws of speed, launch, laydown, revs and rotation for `motion.engine`.

With `motion.streams.scatter_normals` the draws fill their space evenly (a scrambled Sobol' sequence; Owen,
J. Complexity 14 (1998) 466, from memory), so averages need fewer of them than of random ones; the bench
measures how many.
"""

from __future__ import annotations

import numpy as np

from motion.engine import Samples
from motion.errors import FloatArray, MotionError
from motion.inputs import AXIS_ROTATION_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH, ReleaseSpec
from motion.streams import covariance_root

LAYDOWN_OFF_BOARDS = (-20.0, 20.0)


def release_samples(release: ReleaseSpec, normals: FloatArray) -> Samples:
    """Draws of a release from standard normals (s, 5), in the order of `motion.inputs.Scatter`, held within
    what a release can be; raises MotionError."""
    try:
        normals = np.asarray(normals, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError("normals", "not numbers", "must be numbers of shape (s, 5)") from None
    if normals.ndim != 2 or normals.shape[1] != 5:
        raise MotionError("normals", f"shape {normals.shape}", "must have shape (s, 5)")
    off = normals @ covariance_root(release.scatter.covariance()).T
    return Samples(
        speed_mph=np.clip(release.speed_mph + off[:, 0], *SPEED_MPH),
        rev_rate_rpm=np.clip(release.rev_rate_rpm + off[:, 3], *REV_RATE_RPM),
        axis_rotation_deg=np.clip(release.axis_rotation_deg + off[:, 4], *AXIS_ROTATION_DEG),
        axis_tilt_deg=np.full(len(off), release.axis_tilt_deg),
        launch_off_deg=np.clip(off[:, 1], *LAUNCH_DEG),
        laydown_off_boards=np.clip(off[:, 2], *LAYDOWN_OFF_BOARDS),
    )
