"""What the page of one ball shows."""

from typing import Any

from arsenal import access
from arsenal.checks import ball_checks, summarise
from arsenal.engine_inputs import engine_notes
from arsenal.models import Ball, Bowler, Layout, SurfaceEntry
from arsenal.models.people import Person
from arsenal.surface_state import surface_history, surface_logs, surface_state
from motion.equipment import DEFERENCE


def ball_context(person: Person, ball: Ball) -> dict[str, Any]:
    layout: Layout | None = getattr(ball, "layout", None)
    checks = ball_checks(ball)
    log = surface_logs([ball])[ball.pk]
    entries = (
        access.visible(person, SurfaceEntry).filter(ball=ball).select_related("entered_by", "corrected_by")
    )
    return {
        "ball": ball,
        "bowler": ball.bowler,
        "sees_bowler": access.visible(person, Bowler).filter(pk=ball.bowler_id).exists(),
        "layout": layout,
        "state": surface_state(ball),
        "checks": checks,
        "check_summary": summarise(checks),
        "deference": DEFERENCE,
        "engine_notes": engine_notes(ball),
        "history": surface_history(log),
        "entries": list(entries.order_by("-done_at", "-pk")),
        "may_change": access.may_change(person, ball),
    }
