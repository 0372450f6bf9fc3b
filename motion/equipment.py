"""A ball's own numbers against the published equipment rules, one check per rule.

Every limit carries where it was read and how well: "found" (read in the source), "found second-hand" (a text
restating the rule), "from memory" (not read again), "not established". The equipment manual itself was not
read, so a check informs; the rule book in force and the tournament director decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from motion.errors import MotionError, number

Verdict = Literal["pass", "not known", "outside the limit"]
Status = Literal["found", "found second-hand", "from memory", "not established"]

DEFERENCE = "The rule book in force and the tournament director decide."

# Dates on which a limit changed (sources at each check below).
RG_FLOOR_RAISED = date(2010, 7, 1)
DIFFERENTIAL_LOWERED = date(2005, 2, 1)
HARDNESS_RAISED = date(2021, 1, 1)
IMBALANCE_WIDENED = date(2018, 8, 1)
BALANCE_HOLES_ENDED = date(2020, 8, 1)

_WIKIPEDIA = 'Wikipedia "Bowling ball", citing USBC'
_BALANCE_RELEASE = "grgrusbc.org/new-balance-hole-rules-now-in-effect"


@dataclass(frozen=True, slots=True)
class Check:
    """One rule beside one number. value_text and limit_text carry their units; note says what is special."""

    rule: str
    value: float | bool | None
    value_text: str
    limit_text: str
    verdict: Verdict
    rule_text: str
    source: str
    status: Status
    note: str = ""
    deference: str = DEFERENCE
    # Set where the number is outside today's limit and only an approval before this day allows it.
    allowed_before: date | None = None


@dataclass(frozen=True, slots=True)
class _Rule:
    rule: str
    rule_text: str
    source: str
    status: Status
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class BallFacts:
    """What is known of a ball; None means not known. Imbalances [oz] are signed or not, only size counts.

    approved_on: when the governing body approved the model; used_on: the day it is to be bowled (None: under
    the rules in force now). roughness_ra_uin: the model's Ra at approval. Raises MotionError for a value that
    no ball can have (negative, not a number, 90 lb); a value merely against the rules is a check's verdict.
    """

    weight_lb: float | None = None
    diameter_in: float | None = None
    circumference_in: float | None = None
    hardness_d: float | None = None
    rg_in: float | None = None
    differential_in: float | None = None
    intermediate_differential_in: float | None = None
    top_oz: float | None = None
    side_oz: float | None = None
    finger_oz: float | None = None
    gripping_holes: int | None = None
    balance_hole: bool | None = None
    roughness_ra_uin: float | None = None
    approved_on: date | None = None
    used_on: date | None = None

    def __post_init__(self) -> None:
        for name, low, high, unit in (
            ("weight_lb", 1.0, 30.0, "lb"),
            ("diameter_in", 4.0, 12.0, "in"),
            ("circumference_in", 12.0, 40.0, "in"),
            ("hardness_d", 0.0, 100.0, "Shore D"),
            ("rg_in", 1.0, 4.5, "in"),
            ("differential_in", 0.0, 0.5, "in"),
            ("intermediate_differential_in", 0.0, 0.5, "in"),
            ("top_oz", -20.0, 20.0, "oz"),
            ("side_oz", -20.0, 20.0, "oz"),
            ("finger_oz", -20.0, 20.0, "oz"),
            ("gripping_holes", 0, 12, "holes"),
            ("roughness_ra_uin", 0.0, 1000.0, "µin"),
        ):
            value = getattr(self, name)
            if value is not None:
                number(name, value, low, high, unit)
        if (
            self.differential_in is not None
            and self.intermediate_differential_in is not None
            and self.intermediate_differential_in > self.differential_in
        ):
            allowed = f"at most the total differential, {self.differential_in:g} in"
            raise MotionError("intermediate_differential_in", self.intermediate_differential_in, allowed)


def check_ball(ball: BallFacts) -> tuple[Check, ...]:
    """Every equipment check of a ball, in a fixed order; unknown numbers give the verdict "not known".

    Limits and sources: facts of the project, section 1d, each named in its Check.
    """
    return (
        _weight(ball),
        _diameter(ball),
        _circumference(ball),
        _hardness(ball),
        _rg(ball),
        _differential(ball),
        _intermediate_differential(ball),
        *_imbalances(ball),
        _gripping_holes(ball),
        _balance_hole(ball),
        _roughness(ball),
    )


def _within(
    rule: _Rule, value: float | None, *, low: float | None = None, high: float | None = None, note: str = ""
) -> Check:
    limit = _limit_text(low, high, rule.unit)
    if value is None:
        return _check(rule, None, "not known", limit, "not known", note)
    inside = (low is None or value >= low) and (high is None or value <= high)
    text = f"{value:g} {rule.unit}".strip()
    return _check(rule, value, text, limit, "pass" if inside else "outside the limit", note)


def _check(
    rule: _Rule,
    value: float | bool | None,
    value_text: str,
    limit: str,
    verdict: Verdict,
    note: str,
    allowed_before: date | None = None,
) -> Check:
    return Check(
        rule=rule.rule,
        value=value,
        value_text=value_text,
        limit_text=limit,
        verdict=verdict,
        rule_text=rule.rule_text,
        source=rule.source,
        status=rule.status,
        note=note,
        allowed_before=allowed_before,
    )


def _limit_text(low: float | None, high: float | None, unit: str) -> str:
    if low is not None and high is not None:
        return f"{low:.{_places(unit)}f} to {high:.{_places(unit)}f} {unit}".strip()
    if low is not None:
        return f"at least {low:g} {unit}".strip()
    return f"at most {high:g} {unit}".strip()


def _places(unit: str) -> int:
    return 3 if unit == "in" else 0


def _weight(ball: BallFacts) -> Check:
    rule = _Rule(
        "Weight", "at most 16.00 lb, no minimum", f"{_WIKIPEDIA} (piglix.com)", "found second-hand", "lb"
    )
    return _within(rule, ball.weight_lb, high=16.0)


def _diameter(ball: BallFacts) -> Check:
    rule = _Rule("Diameter", "8.500 to 8.595 in", f"{_WIKIPEDIA} (piglix.com)", "found second-hand", "in")
    return _within(rule, ball.diameter_in, low=8.500, high=8.595)


def _circumference(ball: BallFacts) -> Check:
    rule = _Rule(
        "Circumference", "26.704 to 27.002 in", f"{_WIKIPEDIA} (piglix.com)", "found second-hand", "in"
    )
    return _within(rule, ball.circumference_in, low=26.704, high=27.002)


def _hardness(ball: BallFacts) -> Check:
    if ball.approved_on is not None and ball.approved_on < HARDNESS_RAISED:
        rule = _Rule(
            "Hardness",
            "at least 72 Shore D at 68 to 78 °F for balls approved before 2021",
            f"{_WIKIPEDIA}; USBC release June 2020",
            "found second-hand",
            "Shore D",
        )
        return _within(rule, ball.hardness_d, low=72.0)
    rule = _Rule(
        "Hardness",
        "at least 73 Shore D for new approvals; 72 was accepted through 31 Dec 2020",
        "USBC release June 2020 (bght.blogspot.com/2020/06)",
        "found",
        "Shore D",
    )
    if ball.approved_on is None and ball.hardness_d is not None and 72.0 <= ball.hardness_d < 73.0:
        return _check(
            rule,
            ball.hardness_d,
            f"{ball.hardness_d:g} Shore D",
            "at least 73 Shore D (72 if approved before 2021)",
            "not known",
            "Depends on the approval date, which is not entered.",
            HARDNESS_RAISED,
        )
    return _within(rule, ball.hardness_d, low=73.0)


def _rg(ball: BallFacts) -> Check:
    rule = _Rule(
        "Radius of gyration",
        "2.460 to 2.800 in; balls approved before 1 Jul 2010 from 2.430 in",
        f"USBC release 2010 restated on ballreviews.com; maximum {_WIKIPEDIA} 2012",
        "found second-hand",
        "in",
    )
    older = ball.approved_on is not None and ball.approved_on < RG_FLOOR_RAISED
    if ball.approved_on is None and ball.rg_in is not None and 2.430 <= ball.rg_in < 2.460:
        limit = "2.460 to 2.800 in (from 2.430 in if approved before 1 Jul 2010)"
        note = "Depends on the approval date, which is not entered."
        return _check(rule, ball.rg_in, f"{ball.rg_in:g} in", limit, "not known", note, RG_FLOOR_RAISED)
    return _within(rule, ball.rg_in, low=2.430 if older else 2.460, high=2.800)


def _differential(ball: BallFacts) -> Check:
    rule = _Rule(
        "Total differential",
        "at most 0.060 in; balls approved before February 2005 up to 0.080 in",
        "USBC release 2005 restated on ballreviews.com",
        "found second-hand",
        "in",
    )
    older = ball.approved_on is not None and ball.approved_on < DIFFERENTIAL_LOWERED
    if (
        ball.approved_on is None
        and ball.differential_in is not None
        and 0.060 < ball.differential_in <= 0.080
    ):
        limit = "at most 0.060 in (0.080 in if approved before February 2005)"
        note = "Depends on the approval date, which is not entered."
        return _check(
            rule,
            ball.differential_in,
            f"{ball.differential_in:g} in",
            limit,
            "not known",
            note,
            DIFFERENTIAL_LOWERED,
        )
    return _within(rule, ball.differential_in, high=0.080 if older else 0.060)


def _intermediate_differential(ball: BallFacts) -> Check:
    rule = _Rule(
        "Intermediate differential",
        "no separate limit could be established; it cannot exceed the total differential",
        "none found",
        "not established",
        "in",
    )
    value = ball.intermediate_differential_in
    text = "not known" if value is None else f"{value:g} in"
    return _check(rule, value, text, "no limit established", "not known", "")


def _imbalances(ball: BallFacts) -> tuple[Check, ...]:
    named = (
        ("Static imbalance, top and bottom", ball.top_oz),
        ("Static imbalance, side", ball.side_oz),
        ("Static imbalance, finger and thumb", ball.finger_oz),
    )
    return tuple(_imbalance(name, value, ball) for name, value in named)


def _imbalance(name: str, value: float | None, ball: BallFacts) -> Check:
    size = None if value is None else abs(value)
    if ball.weight_lb is not None and ball.weight_lb <= 10.0:
        rule = _Rule(name, "3/4 oz each way for balls of 10 lb and under", "USBC manual", "from memory", "oz")
        return _within(rule, size, high=0.75)
    rule = _Rule(
        name,
        "up to 3 oz each way for balls over 10 lb without a balance hole, from 1 Aug 2018",
        f"USBC release June 2018 (bowlingquest.com); {_BALANCE_RELEASE}",
        "found",
        "oz",
    )
    if ball.weight_lb is None and size is not None and 0.75 < size <= 3.0:
        note = "Depends on the weight, which is not entered."
        limit = "at most 3 oz (3/4 oz at 10 lb and under)"
        return _check(rule, size, f"{size:g} oz", limit, "not known", note)
    if _used_on(ball) < IMBALANCE_WIDENED and "top" not in name:
        older = "1 oz side and finger/thumb before 1 Aug 2018"
        rule = _Rule(name, older, rule.source, rule.status, "oz")
        return _within(rule, size, high=1.0)
    return _within(rule, size, high=3.0)


def _used_on(ball: BallFacts) -> date:
    return ball.used_on or date.max


def _gripping_holes(ball: BallFacts) -> Check:
    rule = _Rule(
        "Gripping holes", "up to 5; every hole used on every delivery", _BALANCE_RELEASE, "found", "holes"
    )
    return _within(rule, ball.gripping_holes, high=5)


def _balance_hole(ball: BallFacts) -> Check:
    rule = _Rule(
        "Balance hole",
        "not allowed from 1 Aug 2020",
        f"{_BALANCE_RELEASE}; bowlingthismonth.com/quick-tips/the-end-of-the-balance-hole-era",
        "found",
    )
    if ball.balance_hole is None:
        return _check(rule, None, "not known", "none", "not known", "")
    if not ball.balance_hole:
        return _check(rule, False, "none", "none", "pass", "")
    if _used_on(ball) < BALANCE_HOLES_ENDED:
        note = "Older rules had their own limits on it, which are not checked here."
        return _check(rule, True, "has one", "none from 1 Aug 2020", "not known", note)
    note = "Filling or drilling is work for a licensed or certified pro shop."
    return _check(rule, True, "has one", "none", "outside the limit", note)


def _roughness(ball: BallFacts) -> Check:
    rule = _Rule(
        "Surface roughness at approval",
        "mean of a model at most 50 µin, a single ball of 13 lb and up at most 65 µin, in force April 2009",
        "USBC rule restated on ballreviews.com; release 2008/09 (bowlingboards.com thread 1323)",
        "found second-hand",
        "µin",
    )
    note = (
        "For information: it applies when a model is approved and does not limit later sanding by the bowler."
    )
    value = ball.roughness_ra_uin
    limit = "at most 65 µin, single ball"
    if value is None:
        return _check(rule, None, "not known", limit, "not known", note)
    return _check(
        rule, value, f"{value:g} µin", limit, "pass" if value <= 65.0 else "outside the limit", note
    )
