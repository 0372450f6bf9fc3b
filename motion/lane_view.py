"""The lane as the belief sees it, with tracks over it: what pictures of an advice are drawn from.

Tracks and films are those of the same worlds that the advice was weighed in, so a picture says what the
numbers say.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from motion.advice_types import AdviceRequest, Candidate, LaneAdvice, LoggedShot
from motion.belief import Layout, Worlds, representative
from motion.canonical import ball_key
from motion.drilled import drilled
from motion.engine import march
from motion.errors import FloatArray
from motion.evidence import gather, weigh
from motion.inputs import REV_RATE_RPM, SPEED_MPH, Line, own_side
from motion.outcomes import frame_table
from motion.replay import LaneHistory, replay
from motion.scene import Scene, friction_maps, march_throws
from motion.streams import scatter_normals

WORLDS = 12
SAMPLES = 32
BAND = (10.0, 50.0, 90.0)  # percent of throws to one side: the ends and the middle of the band shown


@dataclass(frozen=True, kw_only=True, eq=False)
class Track:
    """Own-side board at every foot, (61,), NaN beyond a gutter: lowest and highest tenth, and the middle."""

    low: FloatArray
    middle: FloatArray
    high: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class LaneView:
    """Mean film of the worlds, (61, 39) [um] in lane coordinates, and the tracks of both lines."""

    film_um: FloatArray
    now: Track | None
    advised: Track | None


def lane_views(
    request: AdviceRequest, advice: Mapping[str, LaneAdvice], seen: LookBack
) -> dict[str, LaneView]:
    """The view of every advised lane whose film is known, by lane id; `seen` is what `advise` believed."""
    return {
        lane_id: _view(request, seen.worlds, seen.histories[lane_id], answer)
        for lane_id, answer in advice.items()
        if lane_id in seen.histories
    }


def _view(request: AdviceRequest, worlds: Worlds, history: LaneHistory, answer: LaneAdvice) -> LaneView:
    lane_id = answer.lane_id
    films = history.now.mix(worlds.log_film[lane_id], worlds.log_wear, worlds.log_carry)
    scene = Scene(lane_id=lane_id, films_um=films, worlds=worlds)
    now = _candidate(request, request.current_ball_id, request.current_release, answer.line_now)
    advised = _candidate(request, answer.ball_id, answer.release_name, answer.line)
    return LaneView(
        film_um=own_side(films.mean(axis=0), request.hand),
        now=None if now is None else track_of(scene, now),
        advised=None if advised is None or advised == now else track_of(scene, advised),
    )


def _candidate(
    request: AdviceRequest, ball_id: str | None, release_name: str | None, line: Line | None
) -> Candidate | None:
    ball, release = request.ball(ball_id), request.release(release_name)
    if ball is None or release is None or line is None:
        return None
    return Candidate(
        ball_id=ball.ball_id, ball=ball.spec, release_name=release.name, release=release.spec, line=line
    )


def track_of(scene: Scene, candidate: Candidate) -> Track:
    """Where the throws of a candidate run, over the worlds of a scene and the bowler's scatter."""
    batch = march_throws(scene, candidate, scatter_normals(SAMPLES), tracks=True)
    low, middle, high = _percentiles(batch.tracks(), BAND)
    return Track(low=low, middle=middle, high=high)


@dataclass(frozen=True, kw_only=True, eq=False)
class LookBack:
    """The lanes of own-side logged shots, as believed after all of them."""

    histories: Mapping[str, LaneHistory]
    worlds: Worlds

    def film_before(self, shot: LoggedShot) -> FloatArray:
        """Mean film of the worlds before a shot, (61, 39) [um], own-side of the one who asks."""
        mean: FloatArray = self._films(shot).mean(axis=0)
        return mean

    def track(self, shot: LoggedShot) -> FloatArray | None:
        """Board at every foot of the intended shot, (61,), middle of the worlds; None without a line."""
        if shot.line is None:
            return None
        films = own_side(self._films(shot), shot.hand)
        key = ball_key(shot.spec)
        log_scale = self.worlds.log_friction[shot.lane_id] + self.worlds.log_friction_ball[key]
        maps = np.minimum(friction_maps(films, shot.spec) * np.exp(log_scale)[:, None, None], 1.0)
        release, line = shot.release, shot.line
        ball = drilled(shot.spec, release, films.mean(axis=0))
        revs_today = release.rev_rate_rpm * np.exp(self.worlds.log_rev_rate[shot.bowler_key])
        batch = march(
            ball.maps(maps),
            np.clip(release.speed_mph + self.worlds.speed_mph[shot.bowler_key], *SPEED_MPH),
            launch_deg=line.launch_deg,
            laydown_board=line.foul_line_board,
            mu_index=np.arange(self.worlds.count),
            tracks=True,
            **ball.thrown(
                np.clip(revs_today, *REV_RATE_RPM), release.axis_rotation_deg, release.axis_tilt_deg
            ),
        )
        middle: FloatArray = _percentiles(batch.tracks(), (50.0,))[0]
        return middle

    def _films(self, shot: LoggedShot) -> FloatArray:
        star = self.histories[shot.lane_id].before_entry(shot.passes_before)
        return star.mix(self.worlds.log_film[shot.lane_id], self.worlds.log_wear, self.worlds.log_carry)


def look_back(request: AdviceRequest) -> LookBack:
    """Replay the lanes of an own-side request and weigh the worlds by all its shots."""
    histories = {lane.lane_id: replay(lane) for lane in request.lanes if lane.film_um is not None}
    evidence = gather(request.shots, histories)
    weighted = weigh(Layout(request), evidence, frame_table(request.spares))
    return LookBack(histories=histories, worlds=representative(weighted, WORLDS))


def _percentiles(tracks: FloatArray, percent: tuple[float, ...]) -> FloatArray:
    with warnings.catch_warnings():
        # A foot that every throw reaches only in the gutter stays NaN.
        warnings.simplefilter("ignore", RuntimeWarning)
        result: FloatArray = np.nanpercentile(tracks, percent, axis=0)
    return result
