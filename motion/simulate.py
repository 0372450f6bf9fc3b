"""A hidden truth that bowls: lanes, bowlers and shots whose real numbers advice never sees.

For the demo and for tests. The truth obeys the engine's own laws with parameters drawn away from their means,
a film that departs from its sheet board by board, scattered releases, and bowlers who read their own shots
with error. All spreads are assumed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from motion.advice_types import FILM_SHAPE, FieldTraffic, Hand, SpareRecord
from motion.belief import PRIORS, Priors
from motion.canonical import ball_key
from motion.drilled import drilled
from motion.errors import FloatArray
from motion.field import Field, HandMix, field_passes
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS, mu_map
from motion.inputs import (
    AXIS_ROTATION_DEG,
    LAUNCH_DEG,
    REV_RATE_RPM,
    SPEED_MPH,
    BallSpec,
    Line,
    ReleaseSpec,
    own_side,
)
from motion.leaves import FULL_RACK, pin_bit, pins_of
from motion.offsets import offset_at_pins
from motion.outcomes import conversion_chance
from motion.path import march_batch
from motion.pins import ANGLE_DEG, OFFSET_BOARDS, SPEED_AT_PINS_MPH, simulate_rack
from motion.pocket import hit_word
from motion.replay import field_count, worn_film
from motion.streams import covariance_root, generator
from motion.units import HEAD_PIN_BOARD
from motion.wear import Passes, lift_and_kept, to_lane_boards

FILM_TEXTURE_SD = 0.06  # board-by-board departure of the film from its sheet
FILM_TEXTURE_BOARDS = 3.0  # over how many boards that departure is smooth
SPARE_BALL = BallSpec(weight_lb=15.0, rg_in=2.65, cover="plastic", roughness_um=0.2)


class HiddenLane:
    """One lane as it really is, which no advice sees; its film changes as balls pass.

    film_um: (61, 39) [um], lane coordinates. scale words are natural logarithms against the model's means.
    """

    def __init__(
        self,
        lane_id: str,
        film_um: FloatArray,
        *,
        log_friction: float = 0.0,
        log_wear: float = 0.0,
        log_carry: float = 0.0,
    ) -> None:
        self.lane_id = lane_id
        self.film_um = np.array(film_um, dtype=np.float64)
        self.log_friction, self.log_wear, self.log_carry = log_friction, log_wear, log_carry
        self.field_before = 0

    def friction_for(self, hand: Hand, spec: BallSpec, log_ball: float = 0.0) -> FloatArray:
        """Friction map (61, 39) [-] a ball's cover, in a neutral state, really meets, own-side."""
        scale = np.exp(self.log_friction + log_ball)
        result: FloatArray = np.minimum(mu_map(own_side(self.film_um, hand), spec) * scale, 1.0)
        return result

    def pass_over(self, passes: Passes) -> None:
        """Let balls pass: their tracks in lane boards wear the film for good."""
        self.film_um = worn_film(self.film_um, passes, self.log_wear, self.log_carry)

    def play_field(self, traffic: FieldTraffic) -> None:
        """Let the rest of the field bowl a stretch on this lane."""
        count = field_count(traffic)
        if count == 0:
            return
        mix = Field(hand_mix=HandMix(right=traffic.right_bowlers, left=traffic.left_bowlers))
        self.pass_over(field_passes(self.film_um, count, mix, start=self.field_before))
        self.field_before += count


class HiddenHouse:
    """A house whose lanes share part of their truth: house, pair and lane each draw their share of it."""

    def __init__(self, seed: int, priors: Priors = PRIORS) -> None:
        self.seed, self.priors = seed, priors

    def dressed_lane(self, lane_id: str, pair_id: str, sheet_film_um: FloatArray) -> HiddenLane:
        """A lane freshly dressed with this sheet (61, 39) [um], as the machine really laid it."""
        priors = self.priors
        scale = priors.log_film("table") * self._shared("film", lane_id, pair_id)
        texture = self._texture(lane_id)
        film = np.minimum(np.asarray(sheet_film_um) * np.exp(scale + texture), FILM_MAX_UM)
        return HiddenLane(
            lane_id,
            film,
            log_friction=priors.log_friction * self._shared("friction", lane_id, pair_id),
            log_wear=priors.log_wear * self._normal("wear"),
            log_carry=priors.log_carry * self._normal("carry"),
        )

    def _shared(self, what: str, lane_id: str, pair_id: str) -> float:
        priors = self.priors
        return (
            math.sqrt(priors.share_house) * self._normal(f"{what} house")
            + math.sqrt(priors.share_pair) * self._normal(f"{what} pair {pair_id}")
            + math.sqrt(priors.share_lane) * self._normal(f"{what} lane {lane_id}")
        )

    def _texture(self, lane_id: str) -> FloatArray:
        rough = generator(f"{self.seed} texture {lane_id}").standard_normal(FILM_SHAPE[1] + 24)
        offsets = np.arange(-12, 13)
        kernel = np.exp(-0.5 * (offsets / FILM_TEXTURE_BOARDS) ** 2)
        smooth = np.convolve(rough, kernel / np.sqrt(np.sum(kernel**2)), mode="valid")
        result: FloatArray = FILM_TEXTURE_SD * smooth[: FILM_SHAPE[1]]
        return result

    def _normal(self, what: str) -> float:
        return float(generator(f"{self.seed} {what}").standard_normal())


class HiddenBowler:
    """A bowler as they really are today: offsets of speed and revs, balls that differ from their numbers,
    and readings of their own shots with error."""

    def __init__(
        self,
        seed: int,
        hand: Hand,
        *,
        spares: SpareRecord | None = None,
        read_offset_sd: float = 0.5,
        read_breakpoint_sd: float = 1.5,
        display_bias_mph: float = 0.0,
        priors: Priors = PRIORS,
    ) -> None:
        self.hand: Hand = hand
        self.spares = spares or SpareRecord()
        self.read_offset_sd, self.read_breakpoint_sd = read_offset_sd, read_breakpoint_sd
        self.display_bias_mph = display_bias_mph
        self.seed, self.priors = seed, priors
        self.random = generator(f"{seed} bowler")
        self.speed_mph = priors.speed_mph * float(self.random.standard_normal())
        self.log_rev_rate = priors.log_rev_rate * float(self.random.standard_normal())

    def log_ball(self, spec: BallSpec) -> float:
        """How this ball's friction really differs from the model's, as a logarithm."""
        draw = float(generator(f"{self.seed} ball {ball_key(spec)}").standard_normal())
        return self.priors.log_friction_ball * draw


@dataclass(frozen=True, kw_only=True)
class SimulatedShot:
    """One first ball: what was logged of it, and beside it the truth that advice must not see."""

    line: Line
    offset_boards: float  # as the bowler read it, half boards
    hit_word: str
    breakpoint_board: float
    breakpoint_ft: float
    speed_mph: float  # on the house display
    pins_left: int
    gutter: bool
    true_offset_boards: float
    true_entry_angle_deg: float


def throw(
    lane: HiddenLane, bowler: HiddenBowler, spec: BallSpec, release: ReleaseSpec, line: Line
) -> SimulatedShot:
    """Throw a first ball at a full rack: scattered release, true lane, pins, reading; it wears the lane."""
    random = bowler.random
    away = covariance_root(release.scatter.covariance()) @ random.standard_normal(5)
    speed = float(np.clip(release.speed_mph + bowler.speed_mph + away[0], *SPEED_MPH))
    revs = float(np.clip(release.rev_rate_rpm * np.exp(bowler.log_rev_rate) + away[3], *REV_RATE_RPM))
    rotation = float(np.clip(release.axis_rotation_deg + away[4], *AXIS_ROTATION_DEG))
    launch = float(np.clip(line.launch_deg + away[1], *LAUNCH_DEG))
    # The truth knows this very throw on this very film, where advice shares one answer among many.
    really = replace(release, speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation)
    ball = drilled(spec, really, own_side(lane.film_um, bowler.hand), launch_deg=launch)
    batch = march_batch(
        ball.maps(lane.friction_for(bowler.hand, spec, bowler.log_ball(spec))),
        speed,
        launch_deg=launch,
        laydown_board=float(line.foul_line_board + away[2]),
        tracks=True,
        **ball.thrown(revs, rotation, release.axis_tilt_deg),
    )
    _wear(lane, bowler.hand, spec, batch.tracks())
    angle = float(batch.entry_angle_deg[0])
    offset = float(offset_at_pins(batch.board_at_60, batch.entry_angle_deg, spec.diameter_in)[0])
    gutter = bool(batch.gutter[0])
    left = FULL_RACK
    if not gutter:
        masks = simulate_rack(
            offset_boards=float(np.clip(offset, *OFFSET_BOARDS)),
            entry_angle_deg=float(np.clip(angle, *ANGLE_DEG)),
            speed_mph=float(np.clip(batch.speed_at_60_mph[0], *SPEED_AT_PINS_MPH)),
            weight_lb=spec.weight_lb,
            diameter_in=spec.diameter_in,
            hand=bowler.hand,
            seed=int(random.integers(2**31)),
        )
        left = int(masks[0])
    read = round((offset + bowler.read_offset_sd * float(random.standard_normal())) * 2.0) / 2.0
    seen = float(batch.breakpoint_board[0]) + bowler.read_breakpoint_sd * float(random.standard_normal())
    return SimulatedShot(
        line=line,
        offset_boards=float(np.clip(read, -20.0, 20.0)),
        hit_word="gutter" if gutter else hit_word(read),
        breakpoint_board=float(np.clip(round(seen), 1.0, 39.0)),
        breakpoint_ft=float(np.clip(round(float(batch.breakpoint_ft[0])), 0.0, 60.0)),
        speed_mph=round(speed + bowler.display_bias_mph + 0.1 * float(random.standard_normal()), 1),
        pins_left=left,
        gutter=gutter,
        true_offset_boards=offset,
        true_entry_angle_deg=angle,
    )


def convert_spare(lane: HiddenLane, bowler: HiddenBowler, pins_left: int) -> int:
    """Throw at a leave; returns the mask still standing. Chances are the bowler's own; it wears the lane.

    A miss takes all but one pin of a leave of several, and nothing of a single pin: a rough stand-in.
    """
    standing = pins_of(pins_left)
    if not standing:
        return 0
    board = float(np.mean([PIN_BOARDS[pin] for pin in standing]))
    own = board if bowler.hand == "right" else 40.0 - board
    track = np.linspace(20.0, own, 61)[None]
    _wear(lane, bowler.hand, SPARE_BALL, track)
    if bowler.random.random() < conversion_chance(pins_left, bowler.spares):
        return 0
    if len(standing) == 1:
        return pins_left
    return pin_bit(standing[int(bowler.random.integers(len(standing)))])


# Boards of the pins counted from the right (12 in grid on a 41.5 in lane, derived).
PIN_BOARDS: Mapping[int, float] = {
    1: HEAD_PIN_BOARD,
    2: 25.64,
    3: 14.36,
    4: 31.28,
    5: 20.0,
    6: 8.72,
    7: 36.92,
    8: 25.64,
    9: 14.36,
    10: 3.08,
}


def _wear(lane: HiddenLane, hand: Hand, spec: BallSpec, own_track: FloatArray) -> None:
    lift, kept = lift_and_kept(spec, DEFAULT_PHYSICS)
    lane.pass_over(
        Passes(track_board=to_lane_boards(own_track, hand), lift=np.array([lift]), kept=np.array([kept]))
    )
