"""The rest of the field: passes nobody logged, assumed from a hand mix and the usual lines of a few styles.

Everything is deterministic: shots are spread by fixed low-discrepancy sequences, hands alternate by their
shares. With film and hand mix mirrored the passes come out mirrored bit for bit. Shares and styles are common
practice, no published source; they are an assumption that each event may replace.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from motion import units
from motion.errors import FloatArray, MotionError, number, one_of
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS, mu_map
from motion.inputs import HANDS, LAUNCH_DEG, BallSpec, ReleaseSpec, lane_map, own_side
from motion.parameters import Physics
from motion.path import march_batch
from motion.pocket import POCKET_OFFSET_BOARDS
from motion.wear import Passes, WearResult, apply_traffic, join_passes, lift_and_kept, to_lane_boards

GOLDEN = (5.0**0.5 - 1.0) / 2.0
SILVER = 2.0**0.5 - 1.0


@dataclass(frozen=True, kw_only=True)
class HandMix:
    """Shares of right- and left-handed bowlers (any positive scale); first breaks ties in the order of
    play."""

    right: float = 88.0
    left: float = 12.0
    first: str = "right"

    def __post_init__(self) -> None:
        number("right", self.right, 0.0, 1e6)
        number("left", self.left, 0.0, 1e6)
        one_of("first", self.first, HANDS)
        if self.right + self.left <= 0.0:
            raise MotionError("hand mix", f"{self.right:g} and {self.left:g}", "at least one hand above 0")

    def mirrored(self) -> HandMix:
        """The same mix with the hands exchanged."""
        return HandMix(right=self.left, left=self.right, first="left" if self.first == "right" else "right")

    def order(self, count: int) -> list[str]:
        """Return the hands of count shots, each hand as close to its share as can be at every moment."""
        share = {"right": self.right, "left": self.left}
        played = {"right": 0, "left": 0}
        second = "left" if self.first == "right" else "right"
        hands = []
        for _ in range(count):
            a = share[self.first] / (2 * played[self.first] + 1)
            b = share[second] / (2 * played[second] + 1)
            hand = self.first if a >= b else second
            played[hand] += 1
            hands.append(hand)
        return hands


@dataclass(frozen=True, kw_only=True)
class FieldStyle:
    """One way of playing: share of the field, ball, release and the own-side board usually crossed at 15
    ft."""

    name: str
    share: float
    ball: BallSpec
    release: ReleaseSpec
    target_board: float
    laydown_gap_boards: float


def _style(
    name: str, share: float, ball: tuple[str, float], release: tuple[float, ...], line: tuple[float, float]
) -> FieldStyle:
    speed, revs, rotation, tilt = release
    return FieldStyle(
        name=name,
        share=share,
        ball=BallSpec(weight_lb=15.0, rg_in=2.52, cover=ball[0], roughness_um=ball[1]),
        release=ReleaseSpec(
            speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation, axis_tilt_deg=tilt
        ),
        target_board=line[0],
        laydown_gap_boards=line[1],
    )


# Cover and Ra [um]; mph, rpm, rotation, tilt; target and gap [boards].
USUAL_STYLES = (
    _style("straighter", 0.25, ("reactive_pearl", 0.3), (16.5, 230.0, 40.0, 15.0), (8.0, 1.5)),
    _style("middle", 0.45, ("reactive_hybrid", 0.5), (17.0, 320.0, 45.0, 13.0), (11.0, 4.5)),
    _style("hooking", 0.30, ("reactive_solid", 0.6), (18.0, 410.0, 50.0, 10.0), (14.0, 6.5)),
)


@dataclass(frozen=True, kw_only=True)
class Field:
    """An assumed rest of the field: hand mix, styles, scatter of the track and shots between looks for a new
    line."""

    hand_mix: HandMix = field(default_factory=HandMix)
    styles: tuple[FieldStyle, ...] = USUAL_STYLES
    scatter_laydown_boards: float = 1.2
    scatter_launch_deg: float = 0.35
    shots_per_line: int = 30

    def mirrored(self) -> Field:
        """The same field with the hands exchanged."""
        return Field(
            hand_mix=self.hand_mix.mirrored(),
            styles=self.styles,
            scatter_laydown_boards=self.scatter_laydown_boards,
            scatter_launch_deg=self.scatter_launch_deg,
            shots_per_line=self.shots_per_line,
        )


def usual_line(own_mu: FloatArray, style: FieldStyle) -> tuple[float, float]:
    """Return (laydown board, launch deg) with which a style finds the pocket on a friction map, own-side.

    From the style's usual laydown and target: where the ball comes in too high, feet move two boards inside
    for every board of target, opening the angle; where it does not come back, the feet move out alone,
    closing it (common practice). The move whose offset at contact is nearest to 2.5 boards counts.
    """
    move = np.arange(-10.0, 12.01, 0.125)
    inside = np.maximum(move, 0.0)
    target = style.target_board + inside
    laydown = style.target_board + style.laydown_gap_boards + move + inside
    launch = np.degrees(np.arctan((laydown - target) * units.BOARD_IN / 12.0 / 15.0))
    usable = (laydown >= 2.0) & (laydown <= 38.0) & (target >= 2.0) & (np.abs(launch) <= LAUNCH_DEG[1])
    laydown, launch, move = laydown[usable], launch[usable], move[usable]
    release = style.release
    batch = march_batch(
        own_mu,
        release.speed_mph,
        release.rev_rate_rpm,
        release.axis_rotation_deg,
        launch,
        laydown,
        style.ball.rg_in,
        style.ball.diameter_in,
        axis_tilt_deg=release.axis_tilt_deg,
        steps_per_foot=2,
    )
    miss = np.abs(batch.contact_offset_boards - POCKET_OFFSET_BOARDS)
    miss[np.isnan(miss)] = 99.0
    # Between two lines that hit alike people take the one nearer to where they stood.
    cost = miss + 0.05 * np.abs(move)
    best = int(np.argmin(cost))
    return float(laydown[best]), float(launch[best])


def _spread(start: int, count: int, step: float) -> FloatArray:
    """Low-discrepancy points in (-1, 1), triangular about 0, for shots start..start+count-1."""
    u = np.mod((np.arange(start, start + count) + 0.5) * step, 1.0)
    result: FloatArray = np.where(u < 0.5, np.sqrt(2.0 * u) - 1.0, 1.0 - np.sqrt(2.0 * (1.0 - u)))
    return result


def _styles_in_turn(styles: tuple[FieldStyle, ...], start: int, count: int) -> list[int]:
    """Index of the style of each shot, by shares, for shots start..start+count-1 of one hand."""
    edges = np.cumsum([s.share for s in styles])
    u = np.mod((np.arange(start, start + count) + 0.5) * GOLDEN, 1.0) * edges[-1]
    return [int(i) for i in np.minimum(np.searchsorted(edges, u, side="right"), len(styles) - 1)]


def _hand_tracks(
    film_um: FloatArray, hand: str, start: int, count: int, assumed: Field, physics: Physics
) -> Passes:
    """Passes of one hand's shots start..start+count-1, in lane boards, for the lane as it is now."""
    own_film = own_side(film_um, hand)
    turn = _styles_in_turn(assumed.styles, start, count)
    track = np.empty((count, units.FEET))
    lift = np.empty(count)
    kept = np.empty(count)
    # Triangular points in (-1, 1) have a standard deviation of 1/sqrt(6).
    d_laydown = _spread(start, count, SILVER) * assumed.scatter_laydown_boards * 6.0**0.5
    d_launch = _spread(start, count, SILVER * SILVER + GOLDEN) * assumed.scatter_launch_deg * 6.0**0.5
    for index, style in enumerate(assumed.styles):
        shots = np.array([i for i, s in enumerate(turn) if s == index], dtype=np.int64)
        if shots.size == 0:
            continue
        own_mu = mu_map(own_film, style.ball, physics)
        laydown, launch = usual_line(own_mu, style)
        release = style.release
        batch = march_batch(
            own_mu,
            release.speed_mph,
            release.rev_rate_rpm,
            release.axis_rotation_deg,
            np.clip(launch + d_launch[shots], *LAUNCH_DEG),
            laydown + d_laydown[shots],
            style.ball.rg_in,
            style.ball.diameter_in,
            axis_tilt_deg=release.axis_tilt_deg,
            steps_per_foot=2,
            tracks=True,
        )
        track[shots] = batch.tracks()
        lift[shots], kept[shots] = lift_and_kept(style.ball, physics)
    return Passes(track_board=to_lane_boards(track, hand), lift=lift, kept=kept)


def field_passes(
    film_um: FloatArray,
    count: int,
    assumed: Field | None = None,
    physics: Physics = DEFAULT_PHYSICS,
    *,
    start: int = 0,
) -> Passes:
    """Return the passes of count assumed shots on the lane as it is: film (61, 39) [um, lane boards]; raises
    MotionError.

    start: how many of the field's shots came before, so that a continued field goes on in its sequence.
    """
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    shots = int(number("count", count, 0, 100_000))
    before = int(number("start", start, 0, 1_000_000))
    assumed = assumed or Field()
    hands = assumed.hand_mix.order(before + shots)
    if shots == 0:
        return join_passes([])
    track = np.empty((shots, units.FEET))
    lift = np.empty(shots)
    kept = np.empty(shots)
    for hand in HANDS:
        mine = np.array([i for i, h in enumerate(hands[before:]) if h == hand], dtype=np.int64)
        if mine.size == 0:
            continue
        part = _hand_tracks(film, hand, hands[:before].count(hand), mine.size, assumed, physics)
        track[mine], lift[mine], kept[mine] = part.track_board, part.lift, part.kept
    return Passes(track_board=track, lift=lift, kept=kept)


def play_field(
    film_um: FloatArray,
    count: int,
    assumed: Field | None = None,
    physics: Physics = DEFAULT_PHYSICS,
    *,
    start: int = 0,
) -> WearResult:
    """Play count assumed shots over a film, looking for a new line every shots_per_line; raises
    MotionError."""
    assumed = assumed or Field()
    film = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    by_pass: list[FloatArray] = []
    done = 0
    while done < count:
        lot = min(assumed.shots_per_line, count - done)
        worn = apply_traffic(film, field_passes(film, lot, assumed, physics, start=start + done), physics)
        film = worn.film_um
        by_pass.append(worn.carried_off_by_pass_ul)
        done += lot
    all_passes = np.concatenate(by_pass) if by_pass else np.empty(0)
    return WearResult(
        film_um=film.copy(), carried_off_ul=float(all_passes.sum()), carried_off_by_pass_ul=all_passes
    )
