"""The one family of errors the engine raises for input it cannot answer."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


class MotionError(ValueError):
    """Input outside what a model answers: names the field, the value given and what is allowed."""

    def __init__(self, field: str, value: object, allowed: str) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        super().__init__(f"{field}: {_shown(value)} — {allowed}")

    def __reduce__(self) -> tuple[Any, ...]:
        # The default pickling passes only the message, which would break across worker processes.
        return (type(self), (self.field, self.value, self.allowed))


def _shown(value: object) -> str:
    if isinstance(value, (float, np.floating)):
        return f"{float(value):.12g}"
    text = str(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _range_text(low: float, high: float, unit: str) -> str:
    suffix = f" {unit}" if unit else ""
    return f"allowed {low:g} to {high:g}{suffix}"


def number(field: str, value: object, low: float, high: float, unit: str = "", why: str = "") -> float:
    """Return value as a finite float in [low, high]; raises MotionError naming the field and the range."""
    allowed = _range_text(low, high, unit) + (f" ({why})" if why else "")
    if isinstance(value, (bool, np.bool_)) or not isinstance(value, (int, float, np.integer, np.floating)):
        raise MotionError(field, value, f"must be a number, {allowed}")
    result = float(value)
    if not math.isfinite(result):
        raise MotionError(field, result, f"must be a finite number, {allowed}")
    if not low <= result <= high:
        raise MotionError(field, result, allowed)
    return result


def numbers(
    field: str, values: ArrayLike, low: float, high: float, unit: str = "", why: str = ""
) -> FloatArray:
    """Return values as a float64 array, all finite and in [low, high]; raises MotionError at the first bad
    one."""
    allowed = _range_text(low, high, unit) + (f" ({why})" if why else "")
    try:
        array = np.array(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise MotionError(field, values, f"must be numbers, {allowed}") from None
    good = (array >= low) & (array <= high)  # NaN fails both comparisons
    if not good.all():
        index = tuple(int(i) for i in np.argwhere(~good)[0])
        where = f"{field}[{', '.join(str(i) for i in index)}]" if index else field
        bad = float(array[index])
        raise MotionError(
            where, bad, allowed if math.isfinite(bad) else f"must be a finite number, {allowed}"
        )
    return array


def one_of(field: str, value: object, choices: Iterable[str]) -> str:
    """Return value if it is one of the choices; raises MotionError listing them."""
    allowed = tuple(choices)
    if not isinstance(value, str) or value not in allowed:
        raise MotionError(field, value, "allowed: " + ", ".join(allowed))
    return value


def shaped(field: str, array: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    """Return array if it has the shape; raises MotionError otherwise."""
    if array.shape != shape:
        raise MotionError(field, f"shape {array.shape}", f"must have shape {shape}")
    return array
