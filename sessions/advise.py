"""Asks the engine for a bowler on a pair, and puts its answer into rows."""

from collections.abc import Callable
from time import monotonic

from motion.advice import advise
from motion.advice_types import LaneAdvice
from motion.lane_view import LaneView, LookBack, lane_views
from sessions.gather import CannotAdvise, Gathered, gather
from sessions.lane_picture import picture_of
from sessions.models import Advice, OwedAdvice

__all__ = ["CannotAdvise", "answer"]


def answer(owed_id: int, *, progress: Callable[[float], None], cancelled: Callable[[], bool]) -> list[Advice]:
    """The advice for both lanes of the pair, not yet stored. Raises CannotAdvise or MotionError."""
    begun = monotonic()
    gathered = gather(_load(owed_id))
    believed: list[LookBack] = []
    advised = advise(gathered.request, progress=progress, cancelled=cancelled, believed=believed.append)
    views = lane_views(gathered.request, advised, believed[0])
    seconds = monotonic() - begun
    return [
        _as_row(gathered, lane_key, result, views.get(lane_key), seconds)
        for lane_key, result in advised.items()
    ]


def _load(owed_id: int) -> OwedAdvice:
    return OwedAdvice.objects.select_related(
        "entry__bowler",
        "entry__block__event__house",
        "entry__block__pattern_version__pattern",
        "left_lane",
        "right_lane",
    ).get(pk=owed_id)


def _as_row(
    gathered: Gathered, lane_key: str, result: LaneAdvice, view: LaneView | None, seconds: float
) -> Advice:
    known = result.status == "advised"
    return Advice(
        lane=gathered.lanes[lane_key],
        action=result.action if known else Advice.Action.UNKNOWN,
        ball=gathered.balls.get(result.ball_id or ""),
        result={**result.as_dict(), "picture": picture_of(view) if view else None},
        inputs=gathered.records[lane_key],
        seconds=round(seconds, 3),
    )
