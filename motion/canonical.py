"""The edge where lane coordinates become own-side coordinates.

Everything behind this edge is computed as for a right-hander: films are flipped by index, hands are
swapped and leaves mirrored when the asking bowler is left-handed. Equal own-side input therefore gives
equal bits, and nothing inside needs to know a hand.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace

import numpy as np

from motion.advice_types import (
    AdviceRequest,
    FieldTraffic,
    Hand,
    LaneState,
    LoggedShot,
    Traffic,
    TrafficPass,
)
from motion.inputs import BallSpec
from motion.leaves import mirror

_OTHER: dict[Hand, Hand] = {"right": "left", "left": "right"}


def own_side_request(request: AdviceRequest) -> AdviceRequest:
    """The same request seen from the asking bowler's own side: "right" means own side from here on."""
    if request.hand == "right":
        return request
    return replace(
        request,
        hand="right",
        lanes=tuple(_flip_lane(lane) for lane in request.lanes),
        shots=tuple(_flip_shot(shot) for shot in request.shots),
        field_per_game=None if request.field_per_game is None else _flip_field(request.field_per_game),
    )


def ball_key(spec: BallSpec) -> str:
    """A key of what the ball is, not of its present surface, so sanding keeps what was learned about it."""
    facts = (
        spec.weight_lb,
        spec.rg_in,
        spec.differential_in,
        spec.intermediate_differential_in,
        spec.diameter_in,
        spec.cover,
        spec.pin_to_pap_in,
        spec.drilling_angle_deg,
        spec.val_angle_deg,
    )
    return hashlib.sha256(repr(facts).encode()).hexdigest()


def _flip_lane(lane: LaneState) -> LaneState:
    film = None if lane.film_um is None else np.ascontiguousarray(lane.film_um[:, ::-1])
    return replace(lane, film_um=film, traffic=tuple(_flip_traffic(item) for item in lane.traffic))


def _flip_traffic(item: Traffic) -> Traffic:
    if isinstance(item, TrafficPass):
        return replace(item, hand=_OTHER[item.hand])
    return _flip_field(item)


def _flip_field(item: FieldTraffic) -> FieldTraffic:
    return replace(item, right_bowlers=item.left_bowlers, left_bowlers=item.right_bowlers)


def _flip_shot(shot: LoggedShot) -> LoggedShot:
    pins = None if shot.pins_left is None else mirror(shot.pins_left)
    return replace(shot, hand=_OTHER[shot.hand], pins_left=pins)
