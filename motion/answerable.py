"""A batch with bad rows in it: each is reported and left blank, the rest is answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields

import numpy as np
from numpy.typing import ArrayLike

from motion import units
from motion.engine import march
from motion.errors import FloatArray, MotionError
from motion.inputs import AXIS_ROTATION_DEG, AXIS_TILT_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH
from motion.path import FREE_LAYDOWN_BOARD, PathBatch

RANGES: Mapping[str, tuple[float, float, str]] = {
    "speed_mph": (*SPEED_MPH, "mph"),
    "rev_rate_rpm": (*REV_RATE_RPM, "rpm"),
    "axis_rotation_deg": (*AXIS_ROTATION_DEG, "degrees"),
    "axis_tilt_deg": (*AXIS_TILT_DEG, "degrees"),
    "launch_deg": (*LAUNCH_DEG, "degrees"),
    "laydown_board": (*FREE_LAYDOWN_BOARD, "(board)"),
    "rg_in": (units.RG_MIN_IN, units.RG_MAX_IN, "in"),
}


def march_answerable(
    mu: FloatArray, rows: Mapping[str, ArrayLike], *, diameter_in: float = 8.55, tracks: bool = False
) -> tuple[PathBatch, dict[int, MotionError]]:
    """March the rows that can be answered; returns the paths and what is wrong with each of the others.

    mu: as in `motion.engine.march`. rows: one array (n,) or scalar for each name of RANGES (axis_tilt_deg is
    0 if left out), and ``mu_index`` if there are several maps. A row with a value that is not a number, or
    out of range, has NaN in every result, is no gutter, and has an error naming its first bad field.
    Raises MotionError for what spoils the whole batch: the maps, a missing or unknown column, lengths.
    """
    known = {*RANGES, "mu_index"}
    for name in rows:
        if name not in known:
            raise MotionError("rows", name, "columns: " + ", ".join(sorted(known)))
    missing = sorted(set(RANGES) - {"axis_tilt_deg"} - set(rows))
    if missing:
        raise MotionError("rows", "without " + ", ".join(missing), "every path needs these columns")
    columns = _columns(rows)
    count = len(columns["speed_mph"])
    problems: dict[int, MotionError] = {}
    for name, values in columns.items():
        low, high, unit = RANGES.get(name, (0.0, max(len(mu) - 1, 0) if np.ndim(mu) == 3 else 0, ""))
        bad = ~((values >= low) & (values <= high))
        if name == "mu_index":
            bad |= values != np.floor(values)
        for row in np.flatnonzero(bad):
            allowed = f"allowed {low:g} to {high:g} {unit}".strip()
            if name == "mu_index":
                allowed = f"must be a whole number from {low:g} to {high:g}"
            problems.setdefault(int(row), MotionError(f"{name}[{row}]", float(values[row]), allowed))
        columns[name] = np.where(bad, low, values)
    batch = march(mu, **columns, diameter_in=diameter_in, tracks=tracks)
    blank = np.zeros(count, dtype=np.bool_)
    blank[list(problems)] = True
    for part in fields(PathBatch):
        values = getattr(batch, part.name)
        if values is not None:
            values[blank] = False if values.dtype == np.bool_ else np.nan
    return batch, problems


def _columns(rows: Mapping[str, ArrayLike]) -> dict[str, FloatArray]:
    try:
        arrays = [np.atleast_1d(np.asarray(values, dtype=np.float64)) for values in rows.values()]
        spread = np.broadcast_arrays(*arrays)
    except (TypeError, ValueError):
        raise MotionError(
            "rows", "columns that do not fit", "must be numbers, scalars or of one length"
        ) from None
    if spread[0].ndim != 1:
        raise MotionError("rows", f"{spread[0].ndim} dimensions", "must be scalars or have shape (n,)")
    return dict(zip(rows, (np.array(values) for values in spread), strict=True))
