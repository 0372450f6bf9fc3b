"""Two layouts of one ball on one film, by the reference solver, with what is not known of the difference.

A handful of possible worlds draws every friction and cover parameter from its prior width (``parameters``),
the film's own scale, and the turn of the ball about its axis at release, which nobody measures. In each world
both layouts are solved, so the difference is far better known than either path. The bowler's scatter is
drawn through the fast march of the reduced model (``layout_effect``), laid about the reference's own paths.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
from scipy.stats import t as student

from motion.draws import release_samples
from motion.engine import march
from motion.errors import FloatArray, number
from motion.film import FILM_MAX_UM
from motion.friction import mu_map
from motion.full_ball import FullPath, solve_full_ball
from motion.inertia import layout_of
from motion.inputs import LAUNCH_DEG, BallSpec, Line, ReleaseSpec, lane_map
from motion.layout_effect import effective
from motion.parameters import PARAMETERS, Physics
from motion.path import FREE_LAYDOWN_BOARD
from motion.streams import scatter_normals, stratified_normals
from motion.units import BOARDS, EDGE_HIGH_BOARD, EDGE_LOW_BOARD, FEET, HEAD_PIN_BOARD, LANE_LENGTH_FT

OTHER_WORLDS = 3
# Keeps the board at the pins within a hundredth or so, at two thirds of the work of finer ones.
RTOL = 1e-4
SCATTER_DRAWS = 64
# One interval everywhere: 80 percent.
TAIL = 0.1


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One number of both layouts, each with the middle value of every parameter, and second less first: its
    middle and 80 % interval over the worlds."""

    name: str
    unit: str
    places: int
    first: float
    second: float
    middle: float
    low: float
    high: float

    @property
    def clear(self) -> bool:
        """Whether the interval leaves no doubt which way it goes."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class LayoutPath:
    """One layout: what was solved for it, its path on the lane as the sheet says, and where eight throws in
    ten run, low and high (61,) [boards], NaN once most are in the gutter."""

    ball: BallSpec
    path: FullPath
    low_board: FloatArray
    high_board: FloatArray
    sd_at_pins_boards: float


@dataclass(frozen=True, kw_only=True, eq=False)
class TwoLayouts:
    """Both layouts and what tells them apart.

    apart_* (n,) [boards]: second less first along y_ft, NaN from where either lies in the gutter.
    differences: those at the pins are missing then.
    """

    first: LayoutPath
    second: LayoutPath
    y_ft: FloatArray
    apart_board: FloatArray
    apart_low: FloatArray
    apart_high: FloatArray
    differences: tuple[Difference, ...]
    film_um: FloatArray
    worlds: int


@dataclass(frozen=True, kw_only=True)
class World:
    """One possible world: its physics and the ball's turn about its axis at release [deg]."""

    physics: Physics
    phase_deg: float


def possible_worlds(count: int, film_scale_sd: float, key: str = "layouts") -> tuple[World, ...]:
    """`count` worlds drawn evenly from the prior widths of the table, log-normal where a width is relative.

    film_scale_sd: relative standard deviation of the amount of oil. The same key gives the same worlds.
    Raises MotionError.
    """
    number("film_scale_sd", film_scale_sd, 0.0, 1.0)
    drawn: dict[str, FloatArray] = {}
    for item in fields(Physics):
        parameter = PARAMETERS[item.name]
        width = film_scale_sd if item.name == "film_scale" else parameter.prior_sd
        normals = stratified_normals(f"{key} {item.name}", count)
        drawn[item.name] = (
            parameter.value * np.exp(width * normals)
            if parameter.relative
            else parameter.value + width * normals
        )
    turns = 0.5 + np.argsort(np.argsort(stratified_normals(f"{key} phase", count)))
    return tuple(
        World(
            physics=Physics(**{name: float(values[i]) for name, values in drawn.items()}),
            phase_deg=float(turns[i]) * 360.0 / count - 180.0,
        )
        for i in range(count)
    )


def compare_layouts(
    ball: BallSpec,
    other: BallSpec,
    release: ReleaseSpec,
    line: Line,
    film_um: FloatArray,
    *,
    film_scale_sd: float = 0.0,
) -> TwoLayouts:
    """Solve both balls down one line on one film (61, 39) [um], own-side, as known and in other worlds.

    ball and other differ in their layouts alone. film_scale_sd: how far the film is believed (relative sd).
    Takes eight solutions of the reference, fewer where one was asked before. Raises MotionError.
    """
    known = World(physics=Physics(), phase_deg=0.0)
    worlds = (known, *possible_worlds(OTHER_WORLDS, film_scale_sd))
    film_um = lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um")
    film = film_um.tobytes()
    firsts = [_solved(ball, release, line, film, world) for world in worlds]
    seconds = [_solved(other, release, line, film, world) for world in worlds]
    apart = np.stack([b.board - a.board for a, b in zip(firsts, seconds, strict=True)])
    ends_ft = min(_ends_ft(path) for path in (firsts[0], seconds[0]))
    apart[:, firsts[0].y_ft > ends_ft] = np.nan
    middle, low, high = interval(apart)
    return TwoLayouts(
        first=_with_scatter(ball, firsts[0], release, line, film_um, worlds),
        second=_with_scatter(other, seconds[0], release, line, film_um, worlds),
        y_ft=firsts[0].y_ft,
        apart_board=middle,
        apart_low=low,
        apart_high=high,
        differences=_differences(firsts, seconds, to_pins=ends_ft >= LANE_LENGTH_FT),
        film_um=film_um,
        worlds=len(worlds),
    )


def with_layout(
    ball: BallSpec, *, pin_to_pap_in: float, drilling_angle_deg: float, val_angle_deg: float
) -> BallSpec:
    """The same ball drilled otherwise; raises MotionError."""
    return replace(
        ball,
        pin_to_pap_in=pin_to_pap_in,
        drilling_angle_deg=drilling_angle_deg,
        val_angle_deg=val_angle_deg,
    )


def interval(values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean and the ends of an 80 % interval for one more world, from a handful of worlds (m, ...).

    The prediction interval of a normal sample, mean ± t s sqrt(1 + 1/m) with Student's t (Gosset,
    Biometrika 6 (1908) 1, from memory).
    """
    count = len(values)
    middle = values.mean(axis=0)
    reach = float(student.ppf(1.0 - TAIL, count - 1)) * math.sqrt(1.0 + 1.0 / count)
    half = reach * values.std(axis=0, ddof=1)
    return middle, middle - half, middle + half


@lru_cache(maxsize=96)
def _solved(ball: BallSpec, release: ReleaseSpec, line: Line, film: bytes, world: World) -> FullPath:
    """One solution, kept by content: trying a second layout solves only what is new."""
    film_um = np.frombuffer(film).reshape(FEET, BOARDS)
    return solve_full_ball(
        mu_map(film_um, ball, world.physics),
        ball,
        release,
        launch_deg=line.launch_deg,
        laydown_board=line.foul_line_board,
        film_um=film_um,
        physics=world.physics,
        phase_deg=world.phase_deg,
        rtol=RTOL,
    )


def _ends_ft(path: FullPath) -> float:
    return LANE_LENGTH_FT if path.gutter_ft is None else path.gutter_ft


def _differences(firsts: list[FullPath], seconds: list[FullPath], *, to_pins: bool) -> tuple[Difference, ...]:
    readings: tuple[tuple[str, str, int, str], ...] = (
        ("Breakpoint", "boards", 1, "breakpoint_board"),
        ("Breakpoint, down the lane", "ft", 1, "breakpoint_ft"),
        ("At the pins", "boards", 1, "board_at_60"),
        ("Entry angle", "°", 1, "entry_angle_deg"),
        ("Speed at the pins", "mph", 2, "speed_at_60_mph"),
        ("Flare, first to last track", "in", 1, "flare_in"),
    )
    return tuple(
        _difference(name, unit, places, _read(firsts, field), _read(seconds, field))
        for name, unit, places, field in readings
        if to_pins or field == "flare_in"
    )


def _read(paths: Iterable[FullPath], name: str) -> FloatArray:
    return np.array([getattr(path, name) for path in paths], dtype=np.float64)


def _difference(name: str, unit: str, places: int, first: FloatArray, second: FloatArray) -> Difference:
    middle, low, high = interval(second - first)
    return Difference(
        name=name,
        unit=unit,
        places=places,
        first=float(first[0]),
        second=float(second[0]),
        middle=float(middle),
        low=float(low),
        high=float(high),
    )


def _with_scatter(
    ball: BallSpec,
    path: FullPath,
    release: ReleaseSpec,
    line: Line,
    film_um: FloatArray,
    worlds: tuple[World, ...],
) -> LayoutPath:
    """The path with the band of eight throws in ten: scatter and worlds from the reduced model, its own
    departure from the reference taken out foot by foot."""
    effects = [
        effective(ball, release, film_um=film_um, physics=world.physics, launch_deg=line.launch_deg)
        for world in worlds
    ]
    maps = np.stack(
        [
            effect.mu(mu_map(film_um, ball, world.physics))
            for effect, world in zip(effects, worlds, strict=True)
        ]
    )
    normals = np.concatenate([np.zeros((1, 5)), scatter_normals(SCATTER_DRAWS)])
    tracks = np.concatenate(
        [
            _tracks(maps, m, effect.release(release), effect.k, ball, line, normals)
            for m, effect in enumerate(effects)
        ]
    )
    # What the reduced model misses of the intended throw moves the whole band.
    off = np.nan_to_num(path.board[::2] - tracks[0])
    low, high = np.quantile(_beyond(tracks), [TAIL, 1.0 - TAIL], axis=0, method="nearest")
    lost = np.isinf(low) & np.isinf(high)
    at_pins = tracks[1 : 1 + SCATTER_DRAWS, -1]
    at_pins = at_pins[np.isfinite(at_pins)]
    return LayoutPath(
        ball=ball,
        path=path,
        low_board=np.where(lost, np.nan, np.maximum(low + off, EDGE_LOW_BOARD)),
        high_board=np.where(lost, np.nan, np.minimum(high + off, EDGE_HIGH_BOARD)),
        sd_at_pins_boards=float(at_pins.std()) if at_pins.size > 1 else math.nan,
    )


def _beyond(tracks: FloatArray) -> FloatArray:
    """Tracks (n, 61) with every throw in a gutter beyond all boards of its side."""
    lost = np.isnan(tracks)
    last = np.maximum(np.argmax(lost, axis=1) - 1, 0)
    side = np.where(tracks[np.arange(len(tracks)), last] > HEAD_PIN_BOARD, np.inf, -np.inf)
    return np.where(lost, side[:, None], tracks)


def _tracks(
    maps: FloatArray,
    world: int,
    release: ReleaseSpec,
    k: float,
    ball: BallSpec,
    line: Line,
    normals: FloatArray,
) -> FloatArray:
    draws = release_samples(release, normals)
    return march(
        maps,
        draws.speed_mph,
        draws.rev_rate_rpm,
        draws.axis_rotation_deg,
        np.clip(line.launch_deg + draws.launch_off_deg, *LAUNCH_DEG),
        np.clip(line.foul_line_board + draws.laydown_off_boards, *FREE_LAYDOWN_BOARD),
        ball.rg_in,
        ball.diameter_in,
        np.full(len(normals), world),
        axis_tilt_deg=draws.axis_tilt_deg,
        k=k,
        tracks=True,
    ).tracks()


def layout_words(ball: BallSpec) -> str:
    """A layout as it is written: drilling angle, pin to PAP and VAL angle."""
    layout = layout_of(ball)
    return f"{layout.drilling_angle_deg:g}° × {layout.pin_to_pap_in:g} in × {layout.val_angle_deg:g}°"
