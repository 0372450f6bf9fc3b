"""What the picture of an advised lane needs, computed by the worker and stored small beside the answer."""

import base64
import zlib
from collections.abc import Mapping
from typing import Any

import numpy as np

from motion.errors import FloatArray

FILM_SHAPE = (61, 39)
STEPS = 255


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
