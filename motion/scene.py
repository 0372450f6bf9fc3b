"""A lane as it is now in every world, and throws over it: the bridge from choices to offsets at the pins."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from motion import units
from motion.advice_types import Candidate
from motion.belief import Worlds, chosen
from motion.canonical import ball_key
from motion.drilled import Drilled, drilled
from motion.engine import march
from motion.errors import FloatArray
from motion.friction import mu_curve
from motion.inputs import AXIS_ROTATION_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH, BallSpec, ReleaseSpec
from motion.offsets import offset_at_pins
from motion.path import PathBatch
from motion.streams import covariance_root

BoolArray = npt.NDArray[np.bool_]


def friction_maps(films_um: FloatArray, spec: BallSpec) -> FloatArray:
    """Friction of one ball on a stack of films, (n, 61, 39) -> (n, 61, 39) [-]."""
    result: FloatArray = mu_curve(films_um.ravel(), spec).reshape(films_um.shape)
    return result


@dataclass(frozen=True, kw_only=True, eq=False)
class Scene:
    """One lane now, own-side: films (worlds, 61, 39) [um] and the worlds they belong to.

    mean_of_all_um: mean film (61, 39) [um] of the scene these worlds were chosen from, if they were.
    """

    lane_id: str
    films_um: FloatArray
    worlds: Worlds
    bowler_key: str = ""
    mean_of_all_um: FloatArray | None = None
    _maps: dict[tuple[BallSpec, str], FloatArray] = field(default_factory=dict, repr=False)

    @cached_property
    def mean_um(self) -> FloatArray:
        """The film (61, 39) [um] on which balls show what their layout does here."""
        if self.mean_of_all_um is not None:
            return self.mean_of_all_um
        mean: FloatArray = self.films_um.mean(axis=0)
        return mean

    def drilled(self, spec: BallSpec, release: ReleaseSpec) -> Drilled:
        """A ball and release as they go down this lane, the same in all its worlds."""
        return drilled(spec, release, self.mean_um)

    def maps(self, spec: BallSpec) -> FloatArray:
        """Friction maps (worlds, 61, 39) of a ball's cover on this lane, kept for the next candidate."""
        key = (spec, ball_key(spec))
        if key not in self._maps:
            scale = np.exp(self.worlds.log_friction[self.lane_id] + self._ball_part(key[1]))
            self._maps[key] = np.minimum(friction_maps(self.films_um, spec) * scale[:, None, None], 1.0)
        return self._maps[key]

    def first(self, count: int) -> Scene:
        """The same lane with an even choice of its worlds, for the coarse search."""
        places = np.linspace(0, self.worlds.count - 1, min(count, self.worlds.count)).round().astype(np.int64)
        return Scene(
            lane_id=self.lane_id,
            films_um=self.films_um[places],
            worlds=chosen(self.worlds, places),
            bowler_key=self.bowler_key,
            mean_of_all_um=self.mean_um,
        )

    def _ball_part(self, key: str) -> FloatArray:
        return self.worlds.log_friction_ball.get(key, np.zeros(self.worlds.count))


@dataclass(frozen=True, kw_only=True, eq=False)
class Throws:
    """Simulated throws of one candidate, arrays (worlds, samples)."""

    offset_boards: FloatArray
    entry_angle_deg: FloatArray
    gutter: BoolArray
    breakpoint_board: FloatArray
    breakpoint_ft: FloatArray


def march_throws(
    scene: Scene, candidate: Candidate, normals: FloatArray, *, tracks: bool = False
) -> PathBatch:
    """March a candidate in every world with the bowler's scatter, worlds outermost, (worlds x samples,).

    normals: (samples, 5), shared by all worlds and candidates; a row of zeros is the intended shot.
    """
    scatter = normals @ covariance_root(candidate.release.scatter.covariance()).T
    worlds, samples = scene.worlds.count, len(normals)
    release, line, spec = candidate.release, candidate.line, candidate.ball
    speed_today = release.speed_mph + scene.worlds.speed_mph[scene.bowler_key]
    revs_today = release.rev_rate_rpm * np.exp(scene.worlds.log_rev_rate[scene.bowler_key])
    ball = scene.drilled(spec, release)
    return march(
        ball.maps(scene.maps(spec)),
        np.clip(speed_today[:, None] + scatter[None, :, 0], *SPEED_MPH).ravel(),
        launch_deg=np.tile(np.clip(line.launch_deg + scatter[:, 1], *LAUNCH_DEG), worlds),
        laydown_board=np.tile(np.clip(line.foul_line_board + scatter[:, 2], -20.0, 60.0), worlds),
        mu_index=np.repeat(np.arange(worlds), samples),
        tracks=tracks,
        **ball.thrown(
            np.clip(revs_today[:, None] + scatter[None, :, 3], *REV_RATE_RPM).ravel(),
            np.tile(np.clip(release.axis_rotation_deg + scatter[:, 4], *AXIS_ROTATION_DEG), worlds),
            release.axis_tilt_deg,
        ),
    )


def throw(scene: Scene, candidate: Candidate, normals: FloatArray) -> Throws:
    """Where `march_throws` sends a candidate, by world and sample."""
    batch = march_throws(scene, candidate, normals)
    shape = (scene.worlds.count, len(normals))
    offset = offset_at_pins(batch.board_at_60, batch.entry_angle_deg, candidate.ball.diameter_in)
    return Throws(
        offset_boards=offset.reshape(shape),
        entry_angle_deg=batch.entry_angle_deg.reshape(shape),
        gutter=batch.gutter.reshape(shape),
        breakpoint_board=batch.breakpoint_board.reshape(shape),
        breakpoint_ft=batch.breakpoint_ft.reshape(shape),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class Scan:
    """Intended shots over a grid of laydowns x launch angles, arrays (worlds, laydowns, angles)."""

    laydown_board: FloatArray
    launch_deg: FloatArray
    offset_boards: FloatArray
    entry_angle_deg: FloatArray
    gutter: BoolArray


def scan(
    scene: Scene,
    candidate: Candidate,
    laydown_board: FloatArray,
    launch_deg: FloatArray,
    speed_change_mph: float = 0.0,
) -> Scan:
    """March the intended shot of a candidate's ball and release from every laydown at every launch angle.

    laydown_board: (l,) own-side boards at the foul line. launch_deg: (a,) [deg].
    """
    release, spec, worlds = candidate.release, candidate.ball, scene.worlds
    shape = (worlds.count, len(laydown_board), len(launch_deg))
    speed = release.speed_mph + worlds.speed_mph[scene.bowler_key] + speed_change_mph
    revs = release.rev_rate_rpm * np.exp(worlds.log_rev_rate[scene.bowler_key])

    def spread(values: FloatArray, axis: int) -> FloatArray:
        sizes = [1, 1, 1]
        sizes[axis] = len(values)
        return np.broadcast_to(values.reshape(sizes), shape).ravel()

    ball = scene.drilled(spec, release)
    batch = march(
        ball.maps(scene.maps(spec)),
        spread(np.clip(speed, *SPEED_MPH), 0),
        launch_deg=spread(np.clip(launch_deg, *LAUNCH_DEG), 2),
        laydown_board=spread(np.clip(laydown_board, units.EDGE_LOW_BOARD, units.EDGE_HIGH_BOARD), 1),
        mu_index=spread(np.arange(worlds.count, dtype=np.float64), 0),
        **ball.thrown(
            spread(np.clip(revs, *REV_RATE_RPM), 0), release.axis_rotation_deg, release.axis_tilt_deg
        ),
    )
    return Scan(
        laydown_board=laydown_board,
        launch_deg=launch_deg,
        offset_boards=offset_at_pins(batch.board_at_60, batch.entry_angle_deg, spec.diameter_in).reshape(
            shape
        ),
        entry_angle_deg=batch.entry_angle_deg.reshape(shape),
        gutter=batch.gutter.reshape(shape),
    )
