"""Many paths fast: the march of ``motion.path`` many at a time, over all cores, with the same answers.

`march` takes and gives what ``motion.path.march_batch`` does; `search` throws every line with every sample of
a release on every map, the product formed inside the kernel. Both run the float32 kernel of
``motion.kernels.wide_march``; the few paths it does not answer (releases beyond its polynomial, very steep
entries) are marched in float64. Same input, same bits, whatever the size of the batch and the number of
threads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from motion import units
from motion.errors import FloatArray, MotionError, numbers
from motion.inputs import AXIS_ROTATION_DEG, AXIS_TILT_DEG, LAUNCH_DEG, REV_RATE_RPM, SPEED_MPH
from motion.kernels import wide_march
from motion.kernels.jit import uncompiled
from motion.kernels.wide_march import EVENTS, IN, OUT, PATHS, Float32Array
from motion.path import (
    EFFECTIVE_K,
    FREE_LAYDOWN_BOARD,
    PathBatch,
    PathColumns,
    contact_reach_m,
    map_stack,
    march_columns,
    path_columns,
)
from motion.threads import in_parts

CHUNKS_A_PART = 16
THROWS_A_PART = 2**15
TWIN_STEPS_PER_FOOT = 4


def march(
    mu: FloatArray,
    speed_mph: ArrayLike,
    rev_rate_rpm: ArrayLike,
    axis_rotation_deg: ArrayLike,
    launch_deg: ArrayLike,
    laydown_board: ArrayLike,
    rg_in: ArrayLike,
    diameter_in: float = 8.55,
    mu_index: ArrayLike | None = None,
    *,
    axis_tilt_deg: ArrayLike = 0.0,
    k: ArrayLike | None = None,
    tracks: bool = False,
) -> PathBatch:
    """March many paths: arguments, result and errors of `motion.path.march_batch`, within 0.1 board and 0.03
    degree of `motion.path.solve_path` on maps rough board by board (99.9 of 100 shots, see the bench).

    roll_start_ft is good to about a tenth of a foot.
    """
    stack = map_stack(mu)
    columns = path_columns(
        len(stack),
        speed_mph,
        rev_rate_rpm,
        axis_rotation_deg,
        launch_deg,
        laydown_board,
        rg_in,
        diameter_in,
        mu_index,
        axis_tilt_deg,
        k,
    )
    if uncompiled() or len(columns) == 0:
        return march_columns(stack, columns, diameter_in, TWIN_STEPS_PER_FOOT, tracks)
    chunks = _chunks(columns.mu_index)
    paths = chunks.filled(_inputs(columns))
    out = np.empty((len(chunks), OUT * PATHS), dtype=np.float32)
    found = np.empty((len(chunks), EVENTS * PATHS), dtype=np.float32)
    track_board = np.empty((len(chunks) if tracks else 0, units.FEET * PATHS), dtype=np.float32)
    reach = contact_reach_m(diameter_in)

    def work(first: int, last: int) -> None:
        some = slice(first, last)
        wide_march.march_listed(
            stack,
            chunks.map[some],
            chunks.size[some],
            paths[some],
            reach,
            out[some],
            found[some],
            track_board[some],
        )

    in_parts(work, len(chunks), CHUNKS_A_PART)
    board, angle, contact, contact_angle, speed = chunks.taken(out, OUT)
    roll_start, gutter_ft, breakpoint_board, breakpoint_ft = chunks.taken(found, EVENTS)
    batch = PathBatch(
        board_at_60=board,
        entry_angle_deg=np.degrees(angle),
        speed_at_60_mph=units.mps_to_mph(speed),
        roll_start_ft=roll_start,
        contact_board=contact,
        contact_angle_deg=np.degrees(contact_angle),
        contact_offset_boards=units.HEAD_PIN_BOARD - contact,
        gutter=~np.isnan(gutter_ft),
        gutter_ft=gutter_ft,
        breakpoint_board=breakpoint_board,
        breakpoint_ft=breakpoint_ft,
        track_board=np.stack(chunks.taken(track_board, units.FEET), axis=1) if tracks else None,
    )
    unanswered = np.isnan(board)
    if unanswered.any():
        twin = march_columns(stack, columns.rows(unanswered), diameter_in, TWIN_STEPS_PER_FOOT, tracks)
        for part in fields(PathBatch):
            if getattr(batch, part.name) is not None:
                getattr(batch, part.name)[unanswered] = getattr(twin, part.name)
    return batch


@dataclass(frozen=True, kw_only=True, eq=False)
class Samples:
    """Draws of a release, arrays (s,), or (m, s) where each map has its own: speed [mph], rev rate [rpm],
    axis rotation, tilt [deg], and what launch [deg] and laydown [boards] depart from the line aimed at."""

    speed_mph: FloatArray
    rev_rate_rpm: FloatArray
    axis_rotation_deg: FloatArray
    axis_tilt_deg: FloatArray
    launch_off_deg: FloatArray
    laydown_off_boards: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Arrivals:
    """Where throws met the head pin, float32 (maps, lines, samples); NaN where they did not.

    ``offset_boards`` at first contact, positive on the own side; ``angle_deg`` positive away from it.
    """

    offset_boards: Float32Array
    angle_deg: Float32Array


def search(
    mu: FloatArray,
    *,
    rg_in: ArrayLike,
    launch_deg: ArrayLike,
    laydown_board: ArrayLike,
    samples: Samples,
    diameter_in: ArrayLike = 8.55,
    k: ArrayLike | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Arrivals:
    """Throw every sample of a release down every line on every map.

    mu: (m, 61, 39), or (61, 39), own-side friction maps, one for each ball and state of the lane. rg_in,
    diameter_in: scalars or (m,) [in]: the ball of each map; k [-], if given, is (RG/R)^2 in its place.
    launch_deg [deg], laydown_board [own-side board at the foul line]: (l,) lines. progress(done, all), in
    lines of all maps, and cancelled() are called between parts of the work.
    Raises MotionError; ``motion.threads.Cancelled`` once cancelled() is true. Accuracy as in `march`.
    """
    stack = map_stack(mu)
    balls = _balls(len(stack), rg_in, diameter_in, k)
    launch = np.radians(numbers("launch_deg", launch_deg, *LAUNCH_DEG, "degrees"))
    lines = _side_by_side(
        "lines", launch, numbers("laydown_board", laydown_board, *FREE_LAYDOWN_BOARD, "(board)")
    )
    throws = _throws(samples)
    if lines.ndim != 2 or throws.ndim not in (2, 3) or (throws.ndim == 3 and len(throws) != len(stack)):
        raise MotionError(
            "lines and samples",
            f"{lines.shape[:-1]}, {throws.shape[:-1]}",
            f"lines must have shape (l,), samples (s,) or ({len(stack)}, s)",
        )
    throws = throws if throws.ndim == 3 else throws[None]
    out = np.empty((len(stack), len(lines), 2, throws.shape[1]), dtype=np.float32)
    kernel = _search_slowly if uncompiled() else wide_march.search_lines

    def work(first: int, last: int) -> None:
        kernel(stack, balls, lines, throws, first, last, out)
        _answer_rest(stack, balls, lines, throws, first, last, out)

    part = max(1, THROWS_A_PART // max(1, throws.shape[1]))
    in_parts(work, len(stack) * len(lines), part, progress=progress, cancelled=cancelled)
    np.degrees(out[:, :, 1], out=out[:, :, 1])
    return Arrivals(offset_boards=out[:, :, 0], angle_deg=out[:, :, 1])


@dataclass(frozen=True, kw_only=True, eq=False)
class _Chunks:
    """How n paths lie in chunks of PATHS, each on one map: map, size (chunks,); place (n,) of each path."""

    map: NDArray[np.int64]
    size: NDArray[np.int64]
    place: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.map)

    def filled(self, inputs: list[FloatArray]) -> Float32Array:
        """Inputs, IN arrays (n,), as the kernel reads them: (chunks, IN PATHS); lanes left over repeat the
        first path."""
        paths = np.empty((len(self), IN, PATHS), dtype=np.float32)
        for column, values in enumerate(inputs):
            lanes = np.full(len(self) * PATHS, values[0], dtype=np.float32)
            lanes[self.place] = values
            paths[:, column] = lanes.reshape(len(self), PATHS)
        return paths.reshape(len(self), IN * PATHS)

    def taken(self, values: Float32Array, columns: int) -> list[FloatArray]:
        """Results (chunks, columns PATHS) in the order of the paths: `columns` arrays (n,)."""
        lanes = values.reshape(len(self), columns, PATHS)
        return [lanes[:, c].reshape(-1)[self.place].astype(np.float64) for c in range(columns)]


def _chunks(map_index: NDArray[np.int64]) -> _Chunks:
    order = np.argsort(map_index, kind="stable")
    maps, first, count = np.unique(map_index[order], return_index=True, return_counts=True)
    pieces = -(-count // PATHS)
    before = np.cumsum(pieces) - pieces
    rank = np.arange(len(order)) - np.repeat(first, count)  # of each path among those of its map
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.repeat(before, count) * PATHS + rank
    piece = np.arange(pieces.sum()) - np.repeat(before, pieces)
    size = np.minimum(PATHS, np.repeat(count, pieces) - piece * PATHS)
    return _Chunks(map=np.repeat(maps, pieces), size=size, place=place)


def _inputs(columns: PathColumns) -> list[FloatArray]:
    surface = columns.surface_mps * np.cos(columns.tilt)
    return [
        columns.speed_mps,
        surface * np.cos(columns.rotation),
        surface * np.sin(columns.rotation),
        columns.launch,
        columns.laydown_board,
        columns.k,
    ]


def _balls(maps: int, rg_in: ArrayLike, diameter_in: ArrayLike, k: ArrayLike | None) -> FloatArray:
    """Radius [m], k and the reach of ball and pin [m] of each map's ball, (maps, 3)."""
    rg = numbers("rg_in", rg_in, units.RG_MIN_IN, units.RG_MAX_IN, "in", "equipment rule limits")
    size = (units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN)
    diameter = numbers("diameter_in", diameter_in, *size, "in", "equipment rule limits")
    radius = units.in_to_m(diameter / 2.0)
    inertia = np.zeros(()) if k is None else numbers("k", k, *EFFECTIVE_K)
    for name, values in (("rg_in", rg), ("diameter_in", diameter), ("k", inertia)):
        if values.shape not in ((), (maps,)):
            allowed = f"must be one number or one for each of {maps} maps"
            raise MotionError(name, f"shape {values.shape}", allowed)
    if k is None:
        inertia = (units.in_to_m(rg) / radius) ** 2
    parts = np.broadcast_arrays(radius, inertia, contact_reach_m(diameter), np.empty(maps))
    return np.column_stack(parts[:3])


def _throws(samples: Samples) -> FloatArray:
    rotation = np.radians(
        numbers("axis_rotation_deg", samples.axis_rotation_deg, *AXIS_ROTATION_DEG, "degrees")
    )
    tilt = np.radians(numbers("axis_tilt_deg", samples.axis_tilt_deg, *AXIS_TILT_DEG, "degrees"))
    spin = units.rpm_to_rad_s(numbers("rev_rate_rpm", samples.rev_rate_rpm, *REV_RATE_RPM, "rpm"))
    return _side_by_side(
        "samples",
        units.mph_to_mps(numbers("speed_mph", samples.speed_mph, *SPEED_MPH, "mph")),
        spin * np.cos(tilt) * np.cos(rotation),
        spin * np.cos(tilt) * np.sin(rotation),
        np.radians(numbers("launch_off_deg", samples.launch_off_deg, *LAUNCH_DEG, "degrees")),
        numbers("laydown_off_boards", samples.laydown_off_boards, *FREE_LAYDOWN_BOARD, "boards"),
    )


def _side_by_side(name: str, *columns: FloatArray) -> FloatArray:
    try:
        return np.ascontiguousarray(np.stack(np.broadcast_arrays(*columns), axis=-1))
    except ValueError:
        raise MotionError(name, "arrays of different shapes", "must be scalars or share one shape") from None


def _answer_rest(
    stack: FloatArray,
    balls: FloatArray,
    lines: FloatArray,
    throws: FloatArray,
    first: int,
    last: int,
    out: Float32Array,
) -> None:
    """March in float64 what the fast kernel left open (infinite offsets) on the lines first to last - 1,
    counted over all maps."""
    rows = out.reshape(-1, 2, out.shape[3])[first:last]
    unit, sample = np.nonzero(np.isinf(rows[:, 0]))
    if unit.size == 0:
        return
    place, line = np.divmod(first + unit, len(lines))
    throw = throws[place if len(throws) > 1 else 0, sample]
    for radius in np.unique(balls[place, 0]):
        some = balls[place, 0] == radius
        columns = PathColumns(
            speed_mps=throw[some, 0],
            surface_mps=np.hypot(throw[some, 1], throw[some, 2]) * radius,
            rotation=np.arctan2(throw[some, 2], throw[some, 1]),
            tilt=np.zeros(int(some.sum())),
            launch=lines[line[some], 0] + throw[some, 3],
            laydown_board=lines[line[some], 1] + throw[some, 4],
            k=balls[place[some], 1],
            mu_index=place[some],
            radius_m=float(radius),
        )
        twin = march_columns(stack, columns, 2.0 * radius / units.INCH_M, TWIN_STEPS_PER_FOOT, False)
        rows[unit[some], 0, sample[some]] = twin.contact_offset_boards
        rows[unit[some], 1, sample[some]] = np.radians(twin.contact_angle_deg)


def _search_slowly(
    stack: FloatArray,
    balls: FloatArray,
    lines: FloatArray,
    throws: FloatArray,
    first: int,
    last: int,
    out: Float32Array,
) -> None:
    """Without compiled kernels everything is left to the float64 march."""
    out.reshape(-1, 2, out.shape[3])[first:last] = np.inf
