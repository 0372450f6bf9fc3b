"""Replay a lane's traffic since its dressing onto films, for a few worlds at once.

The films of any world are then read off a star of replays: a central world, and one step up and down along
film scale, wear rate and carry. The tracks are those of the central world, a simplification: a lane somewhat
faster or slower shifts every track a little, but hardly where the traffic as a whole has been.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from motion import units
from motion.advice_types import FieldTraffic, LaneState, Traffic, TrafficPass
from motion.drilled import drilled
from motion.errors import FloatArray, MotionError
from motion.field import Field, HandMix, field_passes
from motion.film import FILM_MAX_UM
from motion.friction import DEFAULT_PHYSICS, mu_curve, mu_map
from motion.inputs import (
    AXIS_ROTATION_DEG,
    LAUNCH_DEG,
    REV_RATE_RPM,
    SPEED_MPH,
    BallSpec,
    ReleaseSpec,
    own_side,
)
from motion.kernels.mixed import mixed_friction
from motion.parameters import PARAMETERS, Physics
from motion.path import march_batch
from motion.streams import covariance_root, scatter_normals
from motion.wear import Passes, apply_traffic, join_passes, lift_and_kept, to_lane_boards

LOT = 12  # logged passes between two looks at the friction they meet
FIELD_LOT = 30
BALLS_PER_GAME_PER_LANE = 7.0  # five first balls and about two spare balls; common practice, assumed

FILM_STEP = 0.15
WEAR_STEP = PARAMETERS["lift_share"].prior_sd
CARRY_STEP = PARAMETERS["carry_ft"].prior_sd
_STAR = (
    (0.0, 0.0, 0.0),
    (-FILM_STEP, 0.0, 0.0),
    (FILM_STEP, 0.0, 0.0),
    (0.0, -WEAR_STEP, 0.0),
    (0.0, WEAR_STEP, 0.0),
    (0.0, 0.0, -CARRY_STEP),
    (0.0, 0.0, CARRY_STEP),
)
FRICTION_TABLE_UM = 20.0  # friction hardly changes any more in films this thick
FRICTION_TABLE_SIZE = 8001
_JITTER = scatter_normals(256)


@dataclass(frozen=True, kw_only=True, eq=False)
class FilmStar:
    """Films of the star's seven worlds at one moment, (7, 61, 39) [um], own-side."""

    films_um: FloatArray

    @property
    def central(self) -> FloatArray:
        """The film of the central world, (61, 39) [um]."""
        centre: FloatArray = self.films_um[0]
        return centre

    @cached_property
    def coefficients(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Base (61, 39), slope and bend (3, 61, 39) [um] of the film along film scale, wear and carry."""
        # Divided by its own scale the film hardly depends on that scale, so the curvature left is small.
        shape = self.films_um / np.exp([node[0] for node in _STAR])[:, None, None]
        low, high = shape[1::2], shape[2::2]
        return shape[0], 0.5 * (high - low), 0.5 * (high + low) - shape[0]

    def mix(self, log_film: FloatArray, log_wear: FloatArray, log_carry: FloatArray) -> FloatArray:
        """Films of worlds with these log scales, (n,) each -> (n, 61, 39) [um]; quadratic along each axis."""
        base, slope, bend = self.coefficients
        film = np.broadcast_to(base, (len(log_film), *base.shape)).copy()
        for axis, move in enumerate(_moves(log_film, log_wear, log_carry).T):
            t = move[:, None, None]
            film += (slope[axis] + bend[axis] * t) * t
        result: FloatArray = np.clip(film * np.exp(log_film)[:, None, None], 0.0, FILM_MAX_UM)
        return result

    def friction(
        self,
        spec: BallSpec,
        log_film: FloatArray,
        log_wear: FloatArray,
        log_carry: FloatArray,
        log_friction: FloatArray,
        factor: FloatArray,
    ) -> FloatArray:
        """Friction maps of a ball in worlds with these log scales, (n,) each -> (n, 61, 39) [-].

        factor: (61, 39), on the friction of every world, as `motion.drilled.Drilled.factor` has it.
        The same as mixing films and taking their friction, read from a fine table of the friction law: what
        lets every logged shot be marched in every world.
        """
        step, table = _friction_table(spec, FRICTION_TABLE_UM)
        out = np.empty((len(log_film), *self.films_um.shape[1:]))
        moves, scale = _moves(log_film, log_wear, log_carry), np.exp(log_film)
        mixed_friction(*self.coefficients, moves, scale, np.exp(log_friction), factor, table, step, out)
        return out


def _moves(log_film: FloatArray, log_wear: FloatArray, log_carry: FloatArray) -> FloatArray:
    """Places of worlds along the star's axes in steps, (n, 3), held within two steps."""
    steps = np.stack([log_film / FILM_STEP, log_wear / WEAR_STEP, log_carry / CARRY_STEP], axis=1)
    result: FloatArray = np.clip(steps, -2.0, 2.0)
    return result


@lru_cache(maxsize=256)
def _friction_table(spec: BallSpec, up_to_um: float) -> tuple[float, FloatArray]:
    """Friction of a ball at even steps of film from 0 [um]: the step and the values."""
    film = np.linspace(0.0, up_to_um, FRICTION_TABLE_SIZE)
    return float(film[1]), mu_curve(film, spec)


@dataclass(frozen=True, kw_only=True, eq=False)
class LaneHistory:
    """The film stars of a lane before each lot of its traffic, and the one now."""

    starts: tuple[int, ...]  # how many entries of traffic had passed at each checkpoint
    stars: tuple[FilmStar, ...]
    passes: int

    @property
    def now(self) -> FilmStar:
        """The star after all traffic."""
        return self.stars[-1]

    @property
    def fresh(self) -> FilmStar:
        """The star as dressed."""
        return self.stars[0]

    def before_entry(self, entries: int) -> FilmStar:
        """The star at the last checkpoint with at most this many entries of traffic behind it."""
        place = int(np.searchsorted(self.starts, entries, side="right")) - 1
        return self.stars[max(place, 0)]


def replay(lane: LaneState, step: Callable[[], None] = lambda: None) -> LaneHistory:
    """Wear an own-side lane by all its traffic, in order; raises MotionError where it has no film."""
    if lane.film_um is None:
        raise MotionError("lane.film_um", None, "a film; without one there is nothing to replay on")
    films = np.stack([np.minimum(lane.film_um * np.exp(node[0]), FILM_MAX_UM) for node in _STAR])
    starts, stars = [0], [FilmStar(films_um=films)]
    entries, passes, field_before = 0, 0, 0
    for lot in lots(lane.traffic):
        lot_passes, field_before = passes_of(films[0], lot, passes, field_before)
        films = worn(films, lot_passes)
        entries += len(lot)
        passes += len(lot_passes)
        starts.append(entries)
        stars.append(FilmStar(films_um=films))
        step()
    return LaneHistory(starts=tuple(starts), stars=tuple(stars), passes=passes)


def lots(traffic: Sequence[Traffic]) -> list[list[Traffic]]:
    """Cut traffic into lots: neighbouring logged passes together, each stretch of field by itself."""
    result: list[list[Traffic]] = []
    size = 0
    for item in traffic:
        count = item.count if isinstance(item, TrafficPass) else FIELD_LOT
        joins = bool(result) and isinstance(item, TrafficPass) and isinstance(result[-1][-1], TrafficPass)
        if joins and size + count <= LOT:
            result[-1].append(item)
            size += count
        else:
            result.append([item])
            size = count
    return result


def passes_of(
    film_um: FloatArray, lot: Sequence[Traffic], index: int, field_before: int
) -> tuple[Passes, int]:
    """Passes of one lot on a film (61, 39) as it is, own-side; returns them and the field's shots so far.

    index: passes before this lot, which picks the jitter of each track, so equal traffic wears equally.
    """
    first = lot[0]
    if isinstance(first, FieldTraffic):
        return _field_lot(film_um, first, field_before)
    logged = [item for item in lot if isinstance(item, TrafficPass)]
    return _logged_lot(film_um, logged, index), field_before


def worn(films_um: FloatArray, passes: Passes) -> FloatArray:
    """Run the same passes over the seven films of a star, each with its own wear rate and carry."""
    result = np.empty_like(films_um)
    for place, (_, log_wear, log_carry) in enumerate(_STAR):
        result[place] = worn_film(films_um[place], passes, log_wear, log_carry)
    return result


def worn_film(film_um: FloatArray, passes: Passes, log_wear: float, log_carry: float) -> FloatArray:
    """Run passes over one film (61, 39) [um] with wear rate and carry scaled."""
    physics: Physics = replace(DEFAULT_PHYSICS, carry_ft=DEFAULT_PHYSICS.carry_ft * float(np.exp(log_carry)))
    scaled = Passes(
        track_board=passes.track_board,
        lift=np.minimum(passes.lift * np.exp(log_wear), 0.5),
        kept=passes.kept,
    )
    return apply_traffic(film_um, scaled, physics).film_um


def field_count(item: FieldTraffic) -> int:
    """How many balls a stretch of field puts on one lane."""
    return round((item.right_bowlers + item.left_bowlers) * item.games * BALLS_PER_GAME_PER_LANE)


def _field_lot(film_um: FloatArray, item: FieldTraffic, before: int) -> tuple[Passes, int]:
    count = field_count(item)
    if count == 0:
        return join_passes([]), before
    assumed = Field(hand_mix=HandMix(right=item.right_bowlers, left=item.left_bowlers))
    parts: list[Passes] = []
    film = film_um
    done = 0
    while done < count:
        some = min(FIELD_LOT, count - done)
        parts.append(field_passes(film, some, assumed, start=before + done))
        done += some
        if done < count:
            film = worn_film(film, parts[-1], 0.0, 0.0)
    return join_passes(parts), before + count


def _logged_lot(film_um: FloatArray, lot: Sequence[TrafficPass], index: int) -> Passes:
    count = sum(item.count for item in lot)
    owners = [item for item in lot for _ in range(item.count)]
    track = np.empty((count, units.FEET))
    lift, kept = np.empty(count), np.empty(count)
    groups: dict[tuple[str, BallSpec, ReleaseSpec], list[int]] = {}
    for place, item in enumerate(owners):
        groups.setdefault((item.hand, item.spec, item.release), []).append(place)
    for (hand, spec, release), places in groups.items():
        columns = np.array([_thrown(owners[p], index + p) for p in places])
        film = own_side(film_um, hand)
        ball = drilled(spec, release, film)
        batch = march_batch(
            ball.maps(mu_map(film, spec)),
            columns[:, 0],
            launch_deg=columns[:, 1],
            laydown_board=columns[:, 2],
            steps_per_foot=2,
            tracks=True,
            **ball.thrown(columns[:, 3], columns[:, 4], columns[:, 5]),
        )
        track[places] = to_lane_boards(batch.tracks(), hand)
        lift[places], kept[places] = lift_and_kept(spec)
    return Passes(track_board=track, lift=lift, kept=kept)


def _thrown(item: TrafficPass, index: int) -> tuple[float, ...]:
    """Speed, launch, laydown, revs, rotation, tilt of one ball, with its release's own scatter."""
    release = item.release
    away = covariance_root(release.scatter.covariance()) @ _JITTER[index % len(_JITTER)]
    return (
        float(np.clip(release.speed_mph + away[0], *SPEED_MPH)),
        float(np.clip(item.line.launch_deg + away[1], *LAUNCH_DEG)),
        float(np.clip(item.line.foul_line_board + away[2], units.EDGE_LOW_BOARD, units.EDGE_HIGH_BOARD)),
        float(np.clip(release.rev_rate_rpm + away[3], *REV_RATE_RPM)),
        float(np.clip(release.axis_rotation_deg + away[4], *AXIS_ROTATION_DEG)),
        release.axis_tilt_deg,
    )
