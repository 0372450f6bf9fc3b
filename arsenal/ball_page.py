"""What the page of one ball shows."""

from typing import Any

from django.utils import timezone

from arsenal import access
from arsenal.checks import ball_checks, summarise
from arsenal.engine_inputs import engine_notes
from arsenal.layout_drawing import layout_drawing
from arsenal.models import Ball, Bowler, Layout, Membership, SurfaceEntry
from arsenal.models.people import Person
from arsenal.surface_drawing import surface_drawing
from arsenal.surface_state import state_of_log, surface_history, surface_logs
from motion.equipment import DEFERENCE

ENTRY_RELATED = ("entered_by", "corrects", "corrected_by", "work__before_block__event")


def ball_context(person: Person, ball: Ball) -> dict[str, Any]:
    layout: Layout | None = getattr(ball, "layout", None)
    checks = ball_checks(ball)
    log = surface_logs([ball])[ball.pk]
    entries = access.visible(person, SurfaceEntry).filter(ball=ball).select_related(*ENTRY_RELATED)
    return {
        "ball": ball,
        "bowler": ball.bowler,
        "sees_bowler": access.visible(person, Bowler).filter(pk=ball.bowler_id).exists(),
        # Guests see no members, and no name of a block either: its event may not be shared with them.
        "sees_blocks": access.visible(person, Membership).filter(team=ball.bowler.team_id).exists(),
        "layout": layout,
        "layout_picture": layout_drawing(ball.bowler, layout, ball.diameter_in),
        "state": state_of_log(log),
        "surface_picture": surface_drawing(surface_history(log), timezone.now()),
        "entries": list(entries.order_by("-done_at", "-pk")),
        "checks": checks,
        "check_summary": summarise(checks),
        "deference": DEFERENCE,
        "engine_notes": engine_notes(ball),
        "may_change": access.may_change(person, ball),
    }
