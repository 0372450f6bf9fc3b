"""What a typed number may be; forms, API and record all ask here, so they answer alike."""

import math
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from motion.inputs import SPEED_MPH


@dataclass(frozen=True)
class Limit:
    """The range of one quantity, with the words for a value outside it."""

    label: str
    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def allowed(self) -> str:
        kind = "a whole number, " if self.whole else ""
        return f"{kind}{self.low:g} to {self.high:g}{' ' + self.unit if self.unit else ''}"

    def refusal(self, value: object) -> str:
        shown = str(value)
        shown = shown if len(shown) <= 40 else shown[:37] + "..."
        return f"{self.label} “{shown}” is not allowed: {self.allowed}."

    def check(self, value: object) -> float:
        """The value as a number, or the refusal. Text is read as people type it, a decimal comma too."""
        if isinstance(value, bool):
            raise ValidationError(self.refusal(value))
        try:
            number = float(value.strip().replace(",", ".") if isinstance(value, str) else value)  # type: ignore[arg-type]
        except (TypeError, ValueError, OverflowError):
            raise ValidationError(self.refusal(value)) from None
        if not math.isfinite(number) or not self.low <= number <= self.high or (self.whole and number % 1):
            raise ValidationError(self.refusal(value))
        return int(number) if self.whole else number


LIMITS = {
    "laydown_board": Limit("Laydown board", 1, 39),
    "target_board": Limit("Target board", 1, 39),
    "target_ft": Limit("Target distance", 5, 50, "ft"),
    "breakpoint_board": Limit("Breakpoint board", 1, 39),
    "breakpoint_ft": Limit("Breakpoint distance", 20, 60, "ft"),
    "offset_boards": Limit("Offset at contact", -20, 20, "boards"),
    "speed_mph": Limit("Speed", *SPEED_MPH, "mph"),
    "frame_number": Limit("Frame", 1, 10, whole=True),
    "throw_number": Limit("Throw", 1, 3, whole=True),
    "game_number": Limit("Game", 1, 50, whole=True),
    "games_planned": Limit("Number of games", 1, 50, whole=True),
    "lanes": Limit("Number of lanes", 2, 200, whole=True),
    "lane_number": Limit("Lane", 1, 200, whole=True),
    "move_pairs": Limit("Pairs to move", -20, 20, whole=True),
    "max_balls": Limit("Balls allowed", 1, 40, whole=True),
    "others_per_pair": Limit("Others on each pair", 0, 20, whole=True),
    "right_handed_share": Limit("Share of right-handers", 0, 1),
    "first_frame": Limit("First frame", 1, 10, whole=True),
    "last_frame": Limit("Last frame", 1, 10, whole=True),
}
