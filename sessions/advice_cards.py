"""An answer of the engine in the words and numbers a page shows, boards as the bowler counts them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.dateparse import parse_datetime

from motion.advice_text import told_to_another
from patterns.models import PatternVersion
from sessions.models import Advice

ACTION_WORDS = {
    Advice.Action.STAY: "Stay",
    Advice.Action.MOVE: "Move",
    Advice.Action.CHANGE: "Change ball",
    Advice.Action.UNKNOWN: "Not enough known",
}
# Smaller differences round away.
SEEN_PERCENT, SEEN_PINS = 0.5, 0.05
TAKEN_OVER = ("laydown_board", "target_board", "target_ft")
# Lines to begin with, where no present line is known.
SHOWN_ALTERNATIVES = 3


@dataclass(frozen=True)
class Move:
    """A move of feet or target: how far, to which side as the bowler faces the pins, and to which board."""

    boards: float
    to_board: float
    inside_is: str  # "left" for a right-hander, "right" for a left-hander
    whose: str = "your"

    @property
    def size(self) -> str:
        return f"{round(abs(self.boards) * 2.0) / 2.0:g}"

    @property
    def is_none(self) -> bool:
        return abs(self.boards) < 0.25

    @property
    def words(self) -> str:
        if self.is_none:
            return "the same"
        return f"{self.size} {self.inside_is if self.boards > 0 else outside_of(self.inside_is)}"

    @property
    def sense(self) -> str:
        """The same without left and right."""
        if self.is_none:
            return ""
        return f"{'away from' if self.boards > 0 else 'toward'} {self.whose} gutter"

    @property
    def board(self) -> str:
        return f"{round(self.to_board * 2.0) / 2.0:g}"


def outside_of(inside_is: str) -> str:
    return "right" if inside_is == "left" else "left"


def moves_in_words(feet: Move | None, target: Move | None) -> str:
    """Only what moves: "feet 2 left, target 1 left"."""
    named = (("feet", feet), ("target", target))
    return ", ".join(f"{name} {move.words}" for name, move in named if move and not move.is_none)


@dataclass(frozen=True)
class Chance:
    """The chance of the pocket in percent, now and as advised, with the interval of the change."""

    now: float
    advised: float
    low: float
    high: float

    @property
    def is_change(self) -> bool:
        return max(self.high - self.low, abs(self.advised - self.now)) >= SEEN_PERCENT

    @property
    def words(self) -> str:
        if not self.is_change:
            return f"{self.now:.0f} % of shots in the pocket"
        return (
            f"{self.now:.0f} % of shots in the pocket now, {self.advised:.0f} % as advised "
            f"(80 % likely between {self.low:.0f} % and {self.high:.0f} %)"
        )


class LaneCard:
    """One lane's answer. Everything is read from the stored result, so old answers still show."""

    def __init__(
        self, answer: Advice, named: PatternVersion | None = None, *, is_readers_own: bool = True
    ) -> None:
        """named: the sheet that the block names, so that the card can say where another one was dressed.

        is_readers_own: whether who reads it is the bowler, whom the sentences of an answer address.
        """
        self.answer = answer
        self.named = named
        self.is_readers_own = is_readers_own
        self.result: Mapping[str, Any] = answer.result
        self.inputs: Mapping[str, Any] = answer.inputs
        self.lane = answer.lane
        self.action = ACTION_WORDS[Advice.Action(answer.action)]
        self.action_key = answer.action.replace(" ", "-")
        self.inside_is = "left" if self.result.get("hand") != "left" else "right"

    def __getattr__(self, name: str) -> Any:
        """Fields of motion.advice_types.LaneAdvice that need no words of their own."""
        if name.startswith("_"):
            raise AttributeError(name)
        return self.result.get(name)

    @property
    def is_known(self) -> bool:
        return self.answer.action != Advice.Action.UNKNOWN

    @property
    def other_sheet(self) -> str:
        """That the lane was dressed with another sheet than the block names; empty where it was not."""
        named, pattern = self.named, self.inputs.get("pattern_uuid")
        version = self.inputs.get("pattern_version")
        # Answers of before the sheet's own key was kept with them say nothing.
        if named is None or pattern is None or (pattern, version) == (str(named.pattern.uuid), named.number):
            return ""
        return f"Dressed with {self.inputs.get('pattern')} v{version}; this block’s sheet is {named}."

    @property
    def reasons(self) -> list[str]:
        return [self._told(reason) for reason in self.result.get("reasons") or ()]

    @property
    def surface(self) -> dict[str, Any] | None:
        surface = self.result.get("surface")
        return surface and surface | {"why": self._told(surface.get("why") or "")}

    def _told(self, sentence: str) -> str:
        return sentence if self.is_readers_own else told_to_another(sentence)

    @property
    def feet(self) -> Move | None:
        return self._move("feet_move_boards", self.result.get("feet_board"))

    @property
    def target(self) -> Move | None:
        return self._move("target_move_boards", (self.result.get("line") or {}).get("target_board"))

    def _move(self, field: str, to_board: float | None) -> Move | None:
        boards = self.result.get(field)
        if boards is None or to_board is None:
            return None
        return Move(boards, to_board, self.inside_is, "your" if self.is_readers_own else "the bowler’s")

    @property
    def target_ft(self) -> float | None:
        return (self.result.get("line") or {}).get("target_ft")

    @property
    def chance(self) -> Chance | None:
        now, advised = self.result.get("pocket_now"), self.result.get("pocket_advised")
        if now is None or advised is None:
            return None
        low, high = (self.result.get(f"pocket_gain_{end}") or 0.0 for end in ("low", "high"))
        return Chance(
            now=100.0 * now,
            advised=100.0 * advised,
            low=100.0 * min(max(now + low, 0.0), 1.0),
            high=100.0 * min(max(now + high, 0.0), 1.0),
        )

    @property
    def finds_pocket_less(self) -> bool:
        return self.chance is not None and self.chance.now - self.chance.advised >= SEEN_PERCENT

    @property
    def gained_elsewhere(self) -> list[str]:
        """What gets better besides the pocket, each with its numbers now and as advised."""
        now, advised = self.result.get("now"), self.result.get("advised")
        if not now or not advised:
            return []
        found = []
        for name, words, better in (
            ("split_or_washout", "splits and washouts", -1),
            ("strike", "strikes", 1),
        ):
            before, after = 100.0 * now[name], 100.0 * advised[name]
            if better * (after - before) >= SEEN_PERCENT:
                found.append(f"{words} {before:.0f} → {after:.0f} %")
        for name, words in (("expected_frame", "a frame"), ("worst_tenth", "the worst tenth of frames")):
            if advised[name] - now[name] >= SEEN_PINS:
                found.append(f"{words} {now[name]:.1f} → {advised[name]:.1f} pins")
        return found

    @property
    def less_pocket(self) -> str:
        """Why this is advised although it finds the pocket less often; empty where it does not."""
        if not self.finds_pocket_less:
            return ""
        if not self.gained_elsewhere:
            return "The pocket is found less often; the reasons say what that buys."
        return f"The pocket is found less often, but: {', '.join(self.gained_elsewhere)}."

    @property
    def short(self) -> str:
        """What to do besides the action's own word, in a few words."""
        moved = moves_in_words(self.feet, self.target)
        if self.answer.action == Advice.Action.CHANGE:
            return f"to {self.result.get('ball_name')}" + (f", {moved}" if moved else "")
        return moved if self.answer.action == Advice.Action.MOVE else ""

    @property
    def take_over(self) -> str:
        """The advised ball and line as the page beside the lane takes them from its address; else empty."""
        line, ball = self.result.get("line") or {}, self.result.get("ball_id")
        if not self.is_known or not line or not ball:
            return ""
        boards = {name: f"{line[name]:.1f}".removesuffix(".0") for name in TAKEN_OVER}
        return urlencode({"ball": ball, **boards})

    @property
    def start_lines(self) -> list[dict[str, Any]]:
        """Lines to begin with, where the engine could compare but not tell what is thrown now."""
        return [] if self.is_known else list(self.result.get("alternatives") or [])[:SHOWN_ALTERNATIVES]

    @property
    def last_shot_at(self) -> Any:
        text = self.inputs.get("last_shot_at")
        return parse_datetime(text) if text else None
