"""Balls and releases as the engine takes them, as they were when each delivery was thrown."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from arsenal.engine_inputs import ball_spec, release_spec
from arsenal.models import Ball, Bowler, Release
from arsenal.models.bowler import ReleaseKind
from arsenal.surface_state import SurfaceState, surface_event, surface_logs, surface_states
from motion.inputs import BallSpec, ReleaseSpec, Scatter
from motion.surface import surface_now
from sessions.deliveries import Delivery

# For a bowler without a release on record: the middle of the coaching classes, common practice with no
# published source.
ASSUMED_RELEASES = {
    (ReleaseKind.STRIKE, 1): ReleaseSpec(
        speed_mph=17.0, rev_rate_rpm=310.0, axis_rotation_deg=45.0, axis_tilt_deg=13.0, scatter=Scatter()
    ),
    (ReleaseKind.STRIKE, 2): ReleaseSpec(
        speed_mph=17.5, rev_rate_rpm=400.0, axis_rotation_deg=40.0, axis_tilt_deg=8.0, scatter=Scatter()
    ),
    (ReleaseKind.SPARE, 1): ReleaseSpec(
        speed_mph=18.0, rev_rate_rpm=200.0, axis_rotation_deg=15.0, axis_tilt_deg=13.0, scatter=Scatter()
    ),
    (ReleaseKind.SPARE, 2): ReleaseSpec(
        speed_mph=18.5, rev_rate_rpm=250.0, axis_rotation_deg=15.0, axis_tilt_deg=8.0, scatter=Scatter()
    ),
}


class BallBook:
    """Specs of balls now and at earlier moments, from one reading of their logs."""

    def __init__(self, balls: Iterable[Ball]) -> None:
        keys = {ball.pk for ball in balls}
        self.balls = {ball.pk: ball for ball in Ball.objects.filter(pk__in=keys).select_related("layout")}
        self.states: dict[int, SurfaceState] = surface_states(self.balls.values())
        self._logs = surface_logs(self.balls.values())
        self._then: dict[tuple[int, datetime], BallSpec] = {}

    def now(self, ball: Ball) -> BallSpec:
        return ball_spec(self.balls[ball.pk], self.states[ball.pk])

    def at(self, ball: Ball, when: datetime) -> BallSpec:
        """The ball with the surface it had at that moment."""
        key = (ball.pk, when)
        if key not in self._then:
            log = self._logs[ball.pk]
            surface = surface_now(
                [surface_event(entry) for entry in log.entries if entry.done_at <= when],
                [game for game in log.games if game[0] < when],
            )
            self._then[key] = replace(
                self.now(ball), roughness_um=surface.ra_um, roughness_sd_um=surface.sd_um
            )
        return self._then[key]


class ReleaseBook:
    """The release behind each delivery; a missing one by the bowler's strike or spare release."""

    def __init__(self, bowlers: Iterable[Bowler]) -> None:
        rows = Release.objects.filter(bowler__in={bowler.pk for bowler in bowlers})
        self.by_bowler = {(row.bowler_id, row.kind): row for row in rows}
        self.assumed = 0

    def of(self, delivery: Delivery) -> ReleaseSpec:
        if delivery.release is not None:
            return release_spec(delivery.release)
        kind = ReleaseKind.STRIKE if delivery.is_first else ReleaseKind.SPARE
        return self.usual(delivery.bowler, kind)

    def usual(self, bowler: Bowler, kind: ReleaseKind) -> ReleaseSpec:
        row = self.by_bowler.get((bowler.pk, kind))
        if row is not None:
            return release_spec(row)
        self.assumed += 1
        return ASSUMED_RELEASES[kind, bowler.hands_used]

    def named(self, bowler: Bowler) -> dict[str, ReleaseSpec]:
        """The bowler's own releases by kind; at least a strike release, assumed where none is on record."""
        own = {kind: release_spec(row) for (owner, kind), row in self.by_bowler.items() if owner == bowler.pk}
        if ReleaseKind.STRIKE not in own:
            own[ReleaseKind.STRIKE] = self.usual(bowler, ReleaseKind.STRIKE)
        return {kind: own[kind] for kind in ReleaseKind.values if kind in own}
