"""Each check against the published limit; sources and status are those of the facts file, section 1d."""

from dataclasses import replace
from datetime import date

import pytest

from motion.equipment import BallFacts, Check, check_ball
from motion.errors import MotionError

LEGAL = BallFacts(
    weight_lb=15.1,
    diameter_in=8.55,
    circumference_in=26.85,
    hardness_d=74,
    rg_in=2.50,
    differential_in=0.050,
    intermediate_differential_in=0.015,
    top_oz=2.5,
    side_oz=-1.0,
    finger_oz=0.5,
    gripping_holes=3,
    balance_hole=False,
    roughness_ra_uin=40,
)


def verdict(rule: str, **changes: object) -> str:
    return check(rule, **changes).verdict


def check(rule: str, **changes: object) -> Check:
    ball = replace(LEGAL, **changes)  # type: ignore[arg-type]
    return next(found for found in check_ball(ball) if found.rule == rule)


def test_a_legal_ball_passes_everything_that_has_a_limit() -> None:
    verdicts = {found.rule: found.verdict for found in check_ball(LEGAL)}
    assert verdicts.pop("Intermediate differential") == "not known"
    assert set(verdicts.values()) == {"pass"}


def test_a_ball_without_numbers_is_not_known_throughout() -> None:
    assert {found.verdict for found in check_ball(BallFacts())} == {"not known"}


@pytest.mark.parametrize(
    ("rule", "field", "inside", "outside"),
    [
        ("Weight", "weight_lb", 16.0, 16.01),  # found second-hand
        ("Weight", "weight_lb", 16.0, 16.3),
        ("Diameter", "diameter_in", 8.500, 8.499),  # found second-hand
        ("Diameter", "diameter_in", 8.595, 8.596),
        ("Circumference", "circumference_in", 26.704, 26.703),  # found second-hand
        ("Circumference", "circumference_in", 27.002, 27.003),
        ("Radius of gyration", "rg_in", 2.800, 2.801),  # found second-hand
        ("Radius of gyration", "rg_in", 2.800, 3.4),
        ("Static imbalance, side", "side_oz", -3.0, -3.1),  # found
        ("Static imbalance, top and bottom", "top_oz", 3.0, 3.1),
        ("Static imbalance, finger and thumb", "finger_oz", 3.0, 3.1),
        ("Gripping holes", "gripping_holes", 5, 6),  # found
        ("Balance hole", "balance_hole", False, True),  # found
        ("Surface roughness at approval", "roughness_ra_uin", 65, 66),  # found second-hand
    ],
)
def test_limits_stand_where_they_were_published(rule: str, field: str, inside: float, outside: float) -> None:
    assert verdict(rule, **{field: inside}) == "pass"
    assert verdict(rule, **{field: outside}) == "outside the limit"


@pytest.mark.parametrize(
    ("rule", "field", "value", "older", "newer"),
    [
        ("Hardness", "hardness_d", 72.0, date(2019, 5, 1), date(2022, 5, 1)),
        ("Radius of gyration", "rg_in", 2.440, date(2010, 6, 30), date(2010, 7, 1)),
        ("Total differential", "differential_in", 0.070, date(2004, 12, 1), date(2005, 2, 1)),
    ],
)
def test_limits_that_changed_follow_the_approval_date(
    rule: str, field: str, value: float, older: date, newer: date
) -> None:
    assert verdict(rule, **{field: value}, approved_on=older) == "pass"
    assert verdict(rule, **{field: value}, approved_on=newer) == "outside the limit"
    undated = check(rule, **{field: value}, approved_on=None)
    assert undated.verdict == "not known"
    assert "approval date" in undated.note


def test_light_balls_have_the_narrower_imbalance_limit_marked_as_from_memory() -> None:
    found = check("Static imbalance, side", weight_lb=10.0, side_oz=0.8)
    assert (found.verdict, found.status) == ("outside the limit", "from memory")
    assert verdict("Static imbalance, side", weight_lb=10.1, side_oz=0.8) == "pass"
    assert verdict("Static imbalance, side", weight_lb=None, side_oz=0.8) == "not known"


def test_the_imbalance_rule_before_august_2018_was_narrower() -> None:
    assert verdict("Static imbalance, side", side_oz=2.0, used_on=date(2018, 7, 31)) == "outside the limit"
    assert verdict("Static imbalance, side", side_oz=2.0, used_on=date(2018, 8, 1)) == "pass"


def test_every_check_names_rule_source_status_and_who_decides() -> None:
    for found in check_ball(LEGAL):
        assert found.rule_text
        assert found.source
        assert found.limit_text
        assert "tournament director" in found.deference
        assert (found.status == "not established") == (found.rule == "Intermediate differential")


@pytest.mark.parametrize(
    ("field", "value"),
    [("weight_lb", -1), ("rg_in", float("nan")), ("hardness_d", 140), ("gripping_holes", "three")],
)
def test_numbers_no_ball_can_have_are_refused(field: str, value: object) -> None:
    with pytest.raises(MotionError) as refused:
        replace(LEGAL, **{field: value})  # type: ignore[arg-type]
    assert refused.value.field == field


def test_the_intermediate_differential_cannot_exceed_the_total() -> None:
    with pytest.raises(MotionError) as refused:
        replace(LEGAL, intermediate_differential_in=0.051)
    assert refused.value.field == "intermediate_differential_in"
