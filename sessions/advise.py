"""Asks the engine for a bowler on a pair, and puts its answer into rows."""

from collections.abc import Callable, Mapping
from time import monotonic
from typing import Any

from motion.advice import advise
from motion.advice_types import AdviceRequest, LaneAdvice
from motion.lane_view import lane_views
from sessions.gather import CannotAdvise, Gathered, gather
from sessions.lane_picture import picture_of
from sessions.models import Advice, OwedAdvice

__all__ = ["CannotAdvise", "answer"]


def answer(owed_id: int, *, progress: Callable[[float], None], cancelled: Callable[[], bool]) -> list[Advice]:
    """The advice for both lanes of the pair, not yet stored. Raises CannotAdvise or MotionError."""
    begun = monotonic()
    gathered = gather(_load(owed_id))
    advised = advise(gathered.request, progress=progress, cancelled=cancelled)
    pictures = _pictures(gathered.request, advised)
    seconds = monotonic() - begun
    return [
        _as_row(gathered, lane_key, result, pictures.get(lane_key), seconds)
        for lane_key, result in advised.items()
    ]


def _pictures(request: AdviceRequest, advised: Mapping[str, LaneAdvice]) -> dict[str, dict[str, Any]]:
    return {lane_key: picture_of(view) for lane_key, view in lane_views(request, advised).items()}


def _load(owed_id: int) -> OwedAdvice:
    return OwedAdvice.objects.select_related(
        "entry__bowler",
        "entry__block__event__house",
        "entry__block__pattern_version__pattern",
        "left_lane",
        "right_lane",
    ).get(pk=owed_id)


def _as_row(
    gathered: Gathered, lane_key: str, result: LaneAdvice, picture: dict[str, Any] | None, seconds: float
) -> Advice:
    known = result.status == "advised"
    return Advice(
        lane=gathered.lanes[lane_key],
        action=result.action if known else Advice.Action.UNKNOWN,
        ball=gathered.balls.get(result.ball_id or ""),
        result={**result.as_dict(), "picture": picture},
        inputs=gathered.records[lane_key],
        seconds=round(seconds, 3),
    )
