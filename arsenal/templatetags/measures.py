"""Measures in the units a person chose. Stored values and forms keep the units of their names."""

from django import template

from arsenal.models import Person
from motion.units import INCH_M, MPH_MPS, POUND_KG

register = template.Library()

KMH_PER_MPS = 3.6


def _metric(units: str) -> bool:
    return units == Person.Units.METRIC


@register.filter
def speed(speed_mph: float | None, units: str) -> str:
    if speed_mph is None:
        return "–"
    if _metric(units):
        return f"{speed_mph * MPH_MPS * KMH_PER_MPS:.1f} km/h"
    return f"{speed_mph:.1f} mph"


@register.filter
def speed_spread(sd_mph: float, units: str) -> str:
    """A spread of speed keeps the digits that a speed would round away."""
    if _metric(units):
        return f"{sd_mph * MPH_MPS * KMH_PER_MPS:.2f} km/h"
    return f"{sd_mph:.2f} mph"


@register.filter
def inches(length_in: float | None, units: str) -> str:
    """Distances on a ball: the trade counts in eighths of an inch, so three decimals where needed."""
    if length_in is None:
        return "–"
    if _metric(units):
        return f"{length_in * INCH_M * 1000:.0f} mm"
    return f"{length_in:.3f}".rstrip("0").rstrip(".") + " in"


@register.filter
def fine_length(length_in: float, units: str) -> str:
    """Radius of gyration and differentials: thousandths of an inch."""
    if _metric(units):
        return f"{length_in * INCH_M * 1000:.2f} mm"
    return f"{length_in:.3f} in"


@register.filter
def weight(weight_lb: float, units: str) -> str:
    if _metric(units):
        return f"{weight_lb * POUND_KG:.2f} kg"
    return f"{weight_lb:.2f}".rstrip("0").rstrip(".") + " lb"


@register.filter
def games(count: float | None) -> str:
    """ "3.4 games"; an unknown count is said as such."""
    if count is None:
        return "no surface work logged"
    words = f"{count:.1f}".removesuffix(".0")
    return f"{words} game" if words == "1" else f"{words} games"


@register.filter
def signed(value: float | None, unit: str = "") -> str:
    return "–" if value is None else f"{value:+.2f}".rstrip("0").rstrip(".") + (f" {unit}" if unit else "")
