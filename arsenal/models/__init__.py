"""Models of the arsenal app, one module per subject."""

from arsenal.models.ball import Ball, Layout
from arsenal.models.base import Stamped
from arsenal.models.bowler import Bowler, Release
from arsenal.models.people import Invitation, Membership, Person, Team
from arsenal.models.surface import SurfaceEntry

__all__ = [
    "Ball",
    "Bowler",
    "Invitation",
    "Layout",
    "Membership",
    "Person",
    "Release",
    "Stamped",
    "SurfaceEntry",
    "Team",
]
