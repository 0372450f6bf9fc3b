"""A bowler's balls in bag order, each with its surface now and its checks."""

from dataclasses import dataclass

from arsenal import access
from arsenal.checks import CheckSummary, ball_checks, summarise
from arsenal.models import Ball, Bowler
from arsenal.models.ball import BagRole
from arsenal.models.people import Person
from arsenal.surface_state import SurfaceState, surface_states

BAG_ORDER = {role: place for place, role in enumerate(BagRole.values)}


@dataclass(frozen=True)
class BagRow:
    ball: Ball
    state: SurfaceState
    checks: CheckSummary


def bag_rows(person: Person, bowler: Bowler) -> list[BagRow]:
    """The balls of the bowler that the person may read, strong end first; a fixed number of queries."""
    balls = list(access.visible(person, Ball).filter(bowler=bowler).select_related("layout"))
    states = surface_states(balls)
    rows = [BagRow(ball=ball, state=states[ball.pk], checks=summarise(ball_checks(ball))) for ball in balls]
    return sorted(rows, key=lambda row: (BAG_ORDER[row.ball.role], row.ball.name, row.ball.pk))
