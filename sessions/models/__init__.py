"""Models of the logbook, one module per subject."""

from sessions.models.advice import Advice, Heartbeat, OwedAdvice
from sessions.models.comment import Comment
from sessions.models.event import BagBall, Block, BlockEntry, Event, EventWindow, Objective, PairVisit
from sessions.models.game import Game, GameLine, LineStretch, PracticeWindow
from sessions.models.house import Dressing, House, Lane, NotDressed
from sessions.models.shot import Shot
from sessions.models.surface_work import SurfaceWork

__all__ = [
    "Advice",
    "BagBall",
    "Block",
    "BlockEntry",
    "Comment",
    "Dressing",
    "Event",
    "EventWindow",
    "Game",
    "GameLine",
    "Heartbeat",
    "House",
    "Lane",
    "LineStretch",
    "NotDressed",
    "Objective",
    "OwedAdvice",
    "PairVisit",
    "PracticeWindow",
    "Shot",
    "SurfaceWork",
]
