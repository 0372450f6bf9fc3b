"""The one place that says which numbers a field takes, in words fit for the person who typed another one.

Model `clean`, page forms and API fields all ask here, so a value is refused in the same words everywhere.
These are limits of entry, wider than the equipment rules where an older or a worn ball may lie outside them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError

MOST_SHOWN = 10**40


@dataclass(frozen=True)
class Limit:
    """What a number may be: from `low` to `high` in `unit`."""

    label: str
    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def words(self) -> str:
        text = f"{show_number(self.low)} to {show_number(self.high)}"
        return f"{text} {self.unit}" if self.unit else text

    def refusal(self, value: float) -> str | None:
        """Why this number is refused, or None. Not-a-number lies in no range and is refused too."""
        # A whole number may have more digits than a float can hold; both lie in one order all the same.
        if self.low <= value <= self.high and not (self.whole and value % 1):
            return None
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.label} {show_number(value)}{unit} is not allowed: {self.words}{self._kind}."

    def not_a_number(self, typed: object) -> str:
        return f"{self.label} “{str(typed)[:40]}” is not a number: {self.words}{self._kind}."

    def missing(self) -> str:
        return f"{self.label} is missing: {self.words}{self._kind}."

    @property
    def _kind(self) -> str:
        return ", whole numbers" if self.whole else ""


def show_number(value: float) -> str:
    """Every digit that was given, without a trailing .0; of very many only the first."""
    if abs(value) > MOST_SHOWN and isinstance(value, int):
        return f"{str(value)[:40]}…"
    return repr(float(value)).removesuffix(".0")


def check_limits(instance: Any, limits: Mapping[str, Limit]) -> None:
    """Raise a ValidationError that names every field outside its range; fields left empty are not judged."""
    wrong: dict[str, str] = {}
    for name, limit in limits.items():
        value = getattr(instance, name)
        if isinstance(value, (int, float)) and (refusal := limit.refusal(value)):
            wrong[name] = refusal
    if wrong:
        raise ValidationError(wrong)
