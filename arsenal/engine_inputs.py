"""Rows to what the engine is asked about."""

from arsenal.models import Ball, Layout, Release
from arsenal.surface_state import SurfaceState
from motion import units
from motion.inputs import IDENTITY, BallSpec, ReleaseSpec, Scatter


def ball_spec(ball: Ball, state: SurfaceState) -> BallSpec:
    """The ball with its surface now; read many with `select_related("layout")`.

    The engine answers within the equipment limits in force. A ball of an older approval or worn below size is
    computed at the nearest limit; `engine_notes` says so.
    """
    layout: Layout | None = getattr(ball, "layout", None)
    differential_in = min(ball.differential_in, units.DIFFERENTIAL_MAX_IN)
    return BallSpec(
        weight_lb=ball.weight_lb,
        rg_in=_within(ball.rg_in, units.RG_MIN_IN, units.RG_MAX_IN),
        differential_in=differential_in,
        intermediate_differential_in=min(ball.intermediate_differential_in, differential_in),
        diameter_in=_within(ball.diameter_in, units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN),
        cover=ball.cover,
        roughness_um=state.roughness_um,
        roughness_sd_um=state.sd_um,
        pin_to_pap_in=layout.pin_to_pap_in if layout else None,
        drilling_angle_deg=layout.drilling_angle_deg if layout else None,
        val_angle_deg=layout.val_angle_deg if layout else None,
    )


def engine_notes(ball: Ball) -> list[str]:
    """Where the engine computes with another number than the one entered."""
    low, high = units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN
    used = (
        ("Radius of gyration", ball.rg_in, _within(ball.rg_in, units.RG_MIN_IN, units.RG_MAX_IN)),
        ("Differential", ball.differential_in, min(ball.differential_in, units.DIFFERENTIAL_MAX_IN)),
        ("Diameter", ball.diameter_in, _within(ball.diameter_in, low, high)),
    )
    return [
        f"{name} {entered:g} in: the model computes with {taken:g} in, the nearest limit it knows."
        for name, entered, taken in used
        if entered != taken
    ]


def release_spec(release: Release) -> ReleaseSpec:
    correlation = release.scatter_correlation
    return ReleaseSpec(
        speed_mph=release.speed_mph,
        rev_rate_rpm=release.rev_rate_rpm,
        axis_rotation_deg=release.axis_rotation_deg,
        axis_tilt_deg=release.axis_tilt_deg,
        scatter=Scatter(
            sd_speed_mph=release.sd_speed_mph,
            sd_launch_deg=release.sd_launch_deg,
            sd_laydown_boards=release.sd_laydown_boards,
            sd_rev_rate_rpm=release.sd_rev_rate_rpm,
            sd_axis_rotation_deg=release.sd_axis_rotation_deg,
            correlation=tuple(tuple(row) for row in correlation) if correlation else IDENTITY,
        ),
    )


def _within(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)
