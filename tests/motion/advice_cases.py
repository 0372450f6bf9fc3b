"""Small made-up requests for advice that the tests of the decision layer share."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from motion.advice_types import (
    AdviceRequest,
    BallOption,
    FieldTraffic,
    LaneState,
    LoggedShot,
    NamedRelease,
    Traffic,
    TrafficPass,
)
from motion.inputs import BallSpec, Line, ReleaseSpec, Scatter
from motion.leaves import mirror

FloatArray = npt.NDArray[np.float64]

CALM = Scatter(
    sd_speed_mph=0.2, sd_launch_deg=0.15, sd_laydown_boards=0.3, sd_rev_rate_rpm=8.0, sd_axis_rotation_deg=2.0
)
STRIKE = ReleaseSpec(
    speed_mph=17.2, rev_rate_rpm=330.0, axis_rotation_deg=48.0, axis_tilt_deg=12.0, scatter=CALM
)
SOLID = BallSpec(weight_lb=15.0, rg_in=2.50, differential_in=0.04, cover="reactive_solid", roughness_um=0.7)
HYBRID = BallSpec(
    weight_lb=15.0, rg_in=2.52, differential_in=0.04, cover="reactive_hybrid", roughness_um=0.45
)
URETHANE = BallSpec(weight_lb=15.0, rg_in=2.55, differential_in=0.02, cover="urethane", roughness_um=0.4)
BALLS = (
    BallOption(ball_id="1", name="Kestrel", spec=SOLID),
    BallOption(ball_id="2", name="Lantern", spec=HYBRID),
    BallOption(ball_id="3", name="Cooper", spec=URETHANE),
)


def made_up_film(length_ft: int = 40, middle_um: float = 5.0, outside_um: float = 1.0) -> FloatArray:
    """A film that tapers from the middle boards outward and down the lane, equal on both sides."""
    boards = np.arange(1, 40)
    across = outside_um + (middle_um - outside_um) * np.clip(1.0 - np.abs(boards - 20) / 16.0, 0.0, 1.0)
    film = np.zeros((61, 39))
    for foot in range(length_ft + 1):
        film[foot] = across * (1.0 - 0.4 * foot / length_ft)
    return film


def thrown(line: Line, count: int, spec: BallSpec = SOLID, release: ReleaseSpec = STRIKE) -> list[Traffic]:
    """So many passes of one bowler on one line."""
    return [TrafficPass(hand="right", spec=spec, release=release, line=line) for _ in range(count)]


def logged(lane_id: str, line: Line, offset: float | None, passes_before: int, **changes: Any) -> LoggedShot:
    """One logged first ball of the asking bowler."""
    shot = LoggedShot(
        lane_id=lane_id,
        passes_before=passes_before,
        hand="right",
        ball_key="1",
        spec=SOLID,
        release=STRIKE,
        line=line,
        offset_boards=offset,
    )
    return replace(shot, **changes)


def request_on(line: Line | None, traffic: list[Traffic] | None = None, **changes: Any) -> AdviceRequest:
    """A request on one pair whose two lanes share a film and their traffic."""
    film = changes.pop("film", made_up_film())
    lanes = tuple(
        LaneState(lane_id=lane, pair_id="5-6", film_um=film, traffic=tuple(traffic or ()))
        for lane in changes.pop("lane_ids", ("5",))
    )
    request = AdviceRequest(
        hand="right",
        releases=(NamedRelease(name="strike", spec=STRIKE),),
        balls=BALLS,
        lanes=lanes,
        current_ball_id="1",
        current_release="strike",
        current_line=line,
        field_per_game=FieldTraffic(right_bowlers=3.0, left_bowlers=1.0, games=1.0),
    )
    return replace(request, **changes)


def other_hand(request: AdviceRequest) -> AdviceRequest:
    """Everything mirrored: the same question asked by a bowler of the other hand on the mirrored lane."""
    swap = {"right": "left", "left": "right"}

    def traffic(item: Traffic) -> Traffic:
        if isinstance(item, TrafficPass):
            return replace(item, hand=swap[item.hand])
        return replace(item, right_bowlers=item.left_bowlers, left_bowlers=item.right_bowlers)

    lanes = tuple(
        replace(
            lane,
            film_um=None if lane.film_um is None else lane.film_um[:, ::-1],
            traffic=tuple(traffic(item) for item in lane.traffic),
        )
        for lane in request.lanes
    )
    shots = tuple(
        replace(
            shot,
            hand=swap[shot.hand],
            pins_left=None if shot.pins_left is None else mirror(shot.pins_left),
        )
        for shot in request.shots
    )
    field = request.field_per_game
    return replace(
        request,
        hand=swap[request.hand],
        lanes=lanes,
        shots=shots,
        field_per_game=None
        if field is None
        else replace(field, right_bowlers=field.left_bowlers, left_bowlers=field.right_bowlers),
    )
