"""Why a line arrives where it does: what the lane has lost since its dressing, and what the shots taught.

What was taught is told apart by putting every unknown back to its prior middle but one kind, and seeing how
far that kind alone moves the line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from motion.advice_types import Candidate
from motion.belief import Worlds, chosen
from motion.canonical import ball_key
from motion.drilled import drilled
from motion.errors import FloatArray
from motion.friction import mu_map
from motion.path import march_batch
from motion.replay import FilmStar, LaneHistory
from motion.scene import Scene, throw

Kind = Literal["lane", "ball", "speed", "revs"]
KINDS: tuple[Kind, ...] = ("lane", "ball", "speed", "revs")


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One kind of unknown as the shots taught it, and what it does to the line.

    shift_boards: change of the offset against the sheet alone, positive lighter. amount: change of friction
    along the track (lane, ball) or of revs as a share, or of speed [mph].
    """

    kind: Kind
    shift_boards: float
    amount: float


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """Where the intended shot of a line arrives [boards of offset, middle of the worlds], and why.

    oil_lost: share of the oil along its track gone since the dressing, None where it was dressed dry.
    learned: the kind that moves the line most, None where no shot taught anything.
    """

    offset_boards: float
    fresh_offset_boards: float
    oil_lost: float | None
    learned: Cause | None


def arrival_of(
    history: LaneHistory, scene: Scene, fresh: Scene, present: Candidate, *, taught: bool
) -> Arrival:
    """Where the present line arrives on a lane now and as dressed, and what the shots, if any, taught of it.

    scene, fresh: the lane of that history now and as dressed, in the believed worlds. taught: whether any
    logged shot said anything.
    """
    track = _central_track(history.now.central, present)
    return Arrival(
        offset_boards=_middle_offset(scene, present),
        fresh_offset_boards=_middle_offset(fresh, present),
        oil_lost=_oil_lost(history, track),
        learned=_main_cause(history.now, scene, present, track) if taught else None,
    )


def _main_cause(star: FilmStar, scene: Scene, present: Candidate, track: _Track) -> Cause:
    lane_id, worlds = scene.lane_id, scene.worlds
    plain = _scene_on(star, lane_id, chosen(_only(worlds, None), np.zeros(1, dtype=np.int64)))
    offset = _middle_offset(plain, present)
    lane = _scene_on(star, lane_id, _only(worlds, "lane"))
    amounts: dict[Kind, float] = {
        "lane": float((track.along(lane.maps(present.ball)) / track.along(plain.maps(present.ball))).mean())
        - 1.0,
        "ball": _mean_change(worlds.log_friction_ball.get(ball_key(present.ball))),
        "speed": float(worlds.speed_mph[scene.bowler_key].mean()),
        "revs": _mean_change(worlds.log_rev_rate[scene.bowler_key]),
    }
    causes = [
        Cause(
            kind=kind,
            shift_boards=_middle_offset(_scene_on(star, lane_id, _only(worlds, kind)), present) - offset,
            amount=amounts[kind],
        )
        for kind in KINDS
    ]
    return max(causes, key=lambda cause: abs(cause.shift_boards))


def _only(worlds: Worlds, kind: Kind | None) -> Worlds:
    """The worlds with every unknown at its prior middle, but for one kind."""
    nothing = np.zeros(worlds.count)

    def kept(parts: dict[str, FloatArray], of: Kind) -> dict[str, FloatArray]:
        return parts if kind == of else dict.fromkeys(parts, nothing)

    return replace(
        worlds,
        log_friction=kept(worlds.log_friction, "lane"),
        log_film=kept(worlds.log_film, "lane"),
        log_wear=worlds.log_wear if kind == "lane" else nothing,
        log_carry=worlds.log_carry if kind == "lane" else nothing,
        log_friction_ball=kept(worlds.log_friction_ball, "ball"),
        speed_mph=kept(worlds.speed_mph, "speed"),
        log_rev_rate=kept(worlds.log_rev_rate, "revs"),
    )


def _scene_on(star: FilmStar, lane_id: str, worlds: Worlds) -> Scene:
    films = star.mix(worlds.log_film[lane_id], worlds.log_wear, worlds.log_carry)
    return Scene(lane_id=lane_id, films_um=films, worlds=worlds)


def _middle_offset(scene: Scene, present: Candidate) -> float:
    return float(np.median(throw(scene, present, np.zeros((1, 5))).offset_boards))


def _mean_change(logs: FloatArray | None) -> float:
    return 0.0 if logs is None else float(np.exp(logs).mean()) - 1.0


@dataclass(frozen=True, kw_only=True, eq=False)
class _Track:
    """Nodes under a path: feet (n,) and board columns (n,), where it is on the lane."""

    feet: npt.NDArray[np.int64]
    columns: npt.NDArray[np.int64]

    def along(self, maps: FloatArray) -> FloatArray:
        """Values of maps (..., 61, 39) under the path, (..., n)."""
        found: FloatArray = maps[..., self.feet, self.columns]
        return found


def _central_track(film_um: FloatArray, present: Candidate) -> _Track:
    release, line, spec = present.release, present.line, present.ball
    ball = drilled(spec, release, film_um)
    batch = march_batch(
        ball.maps(mu_map(film_um, spec)),
        release.speed_mph,
        launch_deg=line.launch_deg,
        laydown_board=line.foul_line_board,
        tracks=True,
        **ball.thrown(release.rev_rate_rpm, release.axis_rotation_deg, release.axis_tilt_deg),
    )
    track = batch.tracks()[0]
    feet = np.flatnonzero(np.isfinite(track))
    columns = np.clip(np.round(track[feet]), 1, 39).astype(np.int64) - 1
    return _Track(feet=feet, columns=columns)


def _oil_lost(history: LaneHistory, track: _Track) -> float | None:
    """Share of the oil lost along a track where it was dressed, in the central world; None if dressed dry."""
    fresh, now = track.along(history.fresh.central), track.along(history.now.central)
    supplied = float(fresh.sum())
    return None if supplied <= 0.0 else 1.0 - float(now[fresh > 0.0].sum()) / supplied
