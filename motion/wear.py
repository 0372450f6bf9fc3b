"""Wear: every passing ball lifts oil along its track, carries some off and lays some down further on.

Film before = film after + carried off. Fresh lane, burned track and oil pushed past the pattern follow from
traffic. Works in lane coordinates (boards from the right) and is exact under mirroring.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion import units
from motion.errors import FloatArray, MotionError, number, numbers, one_of
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS
from motion.inputs import HANDS, BallSpec, lane_map
from motion.kernels.lift import passes_over
from motion.parameters import Physics

# Tracks are rounded to 2^-20 board: then 40 - board is exact and both hands wear the lane by the same bits.
TRACK_GRID = 2.0**20


@dataclass(frozen=True, kw_only=True, eq=False)
class Passes:
    """Balls down one lane in order: tracks (n, 61) [lane boards by foot, NaN once off the lane], lift and
    kept (n,) [-]."""

    track_board: FloatArray
    lift: FloatArray
    kept: FloatArray

    def __post_init__(self) -> None:
        set_ = object.__setattr__
        try:
            track = np.array(self.track_board, dtype=np.float64)
        except (TypeError, ValueError):
            raise MotionError("track_board", "not numbers", "must have shape (n, 61)") from None
        if track.ndim != 2 or track.shape[1] != units.FEET:
            raise MotionError("track_board", f"shape {track.shape}", "must have shape (n, 61)")
        if np.isinf(track).any():
            raise MotionError("track_board", "infinite", "must be boards, or nan beyond a gutter")
        n = track.shape[0]
        set_(self, "track_board", np.round(track * TRACK_GRID) / TRACK_GRID)
        set_(self, "lift", np.array(np.broadcast_to(numbers("lift", self.lift, 0.0, 0.5), (n,))))
        set_(self, "kept", np.array(np.broadcast_to(numbers("kept", self.kept, 0.0, 1.0), (n,))))

    def __len__(self) -> int:
        return int(self.track_board.shape[0])

    def mirrored(self) -> Passes:
        """The same passes seen from the other side of the lane."""
        return Passes(track_board=units.other_side(self.track_board), lift=self.lift, kept=self.kept)


@dataclass(frozen=True, kw_only=True, eq=False)
class WearResult:
    """Film after the passes (61, 39) [um] and what the balls took with them [uL], in all and ball by ball
    (n,)."""

    film_um: FloatArray
    carried_off_ul: float
    carried_off_by_pass_ul: FloatArray


def to_lane_boards(track_board: FloatArray, hand: str) -> FloatArray:
    """Turn own-side tracks (..., 61) into lane boards from the right, on the grid that makes mirroring
    exact."""
    one_of("hand", hand, HANDS)
    track = np.round(np.asarray(track_board, dtype=np.float64) * TRACK_GRID) / TRACK_GRID
    return track if hand == "right" else units.other_side(track)


def lift_and_kept(ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> tuple[float, float]:
    """Return the share of film a ball lifts at the middle of its track and the share of that its cover keeps
    [-].

    lift = lift_share x cover factor x (Ra / 0.5 um)^lift_roughness_exponent, all assumed (``parameters``).
    """
    kind = ball.cover if ball.cover in ("plastic", "urethane") else "reactive"
    factor = {
        "plastic": physics.lift_factor_plastic,
        "urethane": physics.lift_factor_urethane,
        "reactive": 1.0,
    }[kind]
    kept = {
        "plastic": physics.kept_share_plastic,
        "urethane": physics.kept_share_urethane,
        "reactive": physics.kept_share_reactive,
    }[kind]
    rough = (ball.roughness_um / 0.5) ** physics.lift_roughness_exponent
    # A possible world may draw shares beyond what a share can be.
    return min(physics.lift_share * factor * rough, 0.5), min(kept, 1.0)


def join_passes(parts: list[Passes]) -> Passes:
    """Put several lots of passes one after another."""
    if not parts:
        return Passes(track_board=np.empty((0, units.FEET)), lift=np.empty(0), kept=np.empty(0))
    return Passes(
        track_board=np.concatenate([p.track_board for p in parts]),
        lift=np.concatenate([p.lift for p in parts]),
        kept=np.concatenate([p.kept for p in parts]),
    )


def apply_traffic(film_um: FloatArray, passes: Passes, physics: Physics = DEFAULT_PHYSICS) -> WearResult:
    """Run passes over a film (61, 39) [um, lane boards], in order; returns the film after and what was
    carried off.

    Never makes a film negative; conserves volume to rounding; the input film is left as it is. Raises
    MotionError.
    """
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um").copy()
    half_width = number("track_half_width_boards", physics.track_half_width_boards, 0.5, 10.0, "boards")
    carry = number("carry_ft", physics.carry_ft, 0.1, 60.0, "ft")
    kept_ul = np.zeros(len(passes))
    passes_over(film, passes.track_board, passes.lift, passes.kept, half_width, carry, kept_ul)
    return WearResult(film_um=film, carried_off_ul=float(kept_ul.sum()), carried_off_by_pass_ul=kept_ul)
