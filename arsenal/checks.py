"""A ball against the published equipment rules."""

from dataclasses import dataclass

from arsenal.models import Ball, Layout
from motion.equipment import BallFacts, Check, check_ball


@dataclass(frozen=True)
class CheckSummary:
    """How many checks came out which way; `by_date`: outside the limit unless approved earlier."""

    outside: tuple[Check, ...]
    by_date: tuple[Check, ...]
    unknown: int
    passed: int


def ball_checks(ball: Ball) -> tuple[Check, ...]:
    """Every check of the ball but its circumference, which its diameter decides already."""
    layout: Layout | None = getattr(ball, "layout", None)
    checks = check_ball(
        BallFacts(
            weight_lb=ball.weight_lb,
            diameter_in=ball.diameter_in,
            hardness_d=ball.hardness_d,
            rg_in=ball.rg_in,
            differential_in=ball.differential_in,
            intermediate_differential_in=ball.intermediate_differential_in,
            top_oz=layout.top_oz if layout else None,
            side_oz=layout.side_oz if layout else None,
            finger_oz=layout.finger_oz if layout else None,
            gripping_holes=layout.gripping_holes if layout else None,
            balance_hole=layout.balance_hole if layout else None,
            approved_on=ball.approved_on,
        )
    )
    return tuple(check for check in checks if check.rule != "Circumference")


def summarise(checks: tuple[Check, ...]) -> CheckSummary:
    return CheckSummary(
        outside=tuple(check for check in checks if check.verdict == "outside the limit"),
        by_date=tuple(check for check in checks if check.allowed_before is not None),
        unknown=sum(check.verdict == "not known" and check.allowed_before is None for check in checks),
        passed=sum(check.verdict == "pass" for check in checks),
    )
