"""What the picture of an advised lane needs, computed by the worker and stored small beside the answer."""

import base64
import zlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from motion.errors import FloatArray
from motion.lane_view import LaneView, Track

FILM_SHAPE = (61, 39)
STEPS = 255


def picture_of(view: LaneView) -> dict[str, Any]:
    """The view as plain data: film packed, boards to a tenth, null beyond a gutter."""
    return {
        "film": pack_film(view.film_um),
        "now": _track(view.now),
        "advised": _track(view.advised),
    }


def _track(track: Track | None) -> dict[str, list[float | None]] | None:
    if track is None:
        return None
    return {"low": _boards(track.low), "mid": _boards(track.middle), "high": _boards(track.high)}


def _boards(values: FloatArray) -> list[float | None]:
    return [round(float(value), 1) if np.isfinite(value) else None for value in values]


def pack_film(film_um: FloatArray) -> dict[str, Any]:
    """A film (61, 39) [um] in about a kilobyte: 255 even steps up to its thickest place."""
    top = float(film_um.max())
    steps = np.round(film_um / top * STEPS) if top > 0.0 else np.zeros(FILM_SHAPE)
    packed = zlib.compress(steps.astype(np.uint8).tobytes(), 9)
    return {"top_um": top, "steps": base64.b64encode(packed).decode("ascii")}


def unpack_film(packed: Mapping[str, Any]) -> FloatArray:
    raw = np.frombuffer(zlib.decompress(base64.b64decode(packed["steps"])), dtype=np.uint8)
    film: FloatArray = raw.reshape(FILM_SHAPE).astype(np.float64) * (packed["top_um"] / STEPS)
    return film
