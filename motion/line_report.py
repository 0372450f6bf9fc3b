"""One line in numbers: its chances with their standard errors, the miss room, the worst tenth, and what a
small change does.

Every throw of a report, as intended or changed, uses the same draws of the release (common random numbers;
a standard device of simulation), so two of them differ by the change alone. The draws are several
independent scrambles of one even sequence (Owen, J. Complexity 14 (1998) 466, from memory): each scramble
answers every question once, and the spread of those answers is the standard error.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from motion import units
from motion.advice_request import SpareRecord
from motion.draws import release_samples
from motion.engine import march
from motion.errors import FloatArray, MotionError, number
from motion.inputs import LAUNCH_DEG, Line, ReleaseSpec, lane_map
from motion.line_report_types import Estimate, Field, LineReport, Room, Sensitivity, Span, WorstTenth
from motion.offsets import offset_at_pins
from motion.outcomes import frame_table
from motion.path import FREE_LAYDOWN_BOARD, MU_RANGE, map_stack
from motion.pocket import in_pocket
from motion.streams import generator

SCRAMBLES, DRAWS = 16, 256
WORLD_DRAWS = 256
WORST_SHARE = 0.1
ROOM_SHARE = 0.5  # of the best chance: still worth playing from there
NO_CHANCE = 0.01
ROOM_BOARDS, ROOM_MPH = (0.25, 6.0), (0.125, 3.0)  # step and farthest
TAIL = 0.1  # ranges over worlds are 80 % ones
PATHS_AT_ONCE = 65_536
INTENDED: FloatArray = np.zeros((1, 5))

# Half a mph, five degrees of rotation, 25 rpm, two boards, a tenth of a degree: steps a bowler can feel.
CHANGES: tuple[tuple[Field, float], ...] = (
    ("speed_mph", -0.5),
    ("speed_mph", 0.5),
    ("axis_rotation_deg", -5.0),
    ("axis_rotation_deg", 5.0),
    ("rev_rate_rpm", -25.0),
    ("rev_rate_rpm", 25.0),
    ("boards", -2.0),
    ("boards", 2.0),
    ("launch_deg", -0.1),
    ("launch_deg", 0.1),
)


def line_report(
    mu: FloatArray,
    *,
    release: ReleaseSpec,
    line: Line,
    rg_in: float | None = None,
    k: float | None = None,
    diameter_in: float = 8.55,
    spares: SpareRecord | None = None,
    worlds_mu: FloatArray | None = None,
    draws: int = DRAWS,
    scrambles: int = SCRAMBLES,
    key: str = "line report",
) -> LineReport:
    """Report on one line: see `LineReport`.

    mu: (61, 39) own-side friction [-], the one believed. rg_in [in], or k [-] as for
    `motion.path.march_batch`: one of the two. worlds_mu: (m, 61, 39) friction in possible worlds; None
    leaves the spans out. draws: a power of two, 16 to 4096, in each of 4 to 64 scrambles; the same key gives
    the same draws. spares: what a leave is worth to this bowler. Changes that cannot be thrown, or leave the
    lane, are left out. Raises MotionError.
    """
    mu = lane_map("mu", mu, *MU_RANGE)
    if (rg_in is None) == (k is None):
        raise MotionError("rg_in, k", f"{rg_in}, {k}", "give one of the two")
    normals = even_normals(draws, scrambles, key)
    lane = _Lane(mu[None], rg_in, k, diameter_in)
    worlds = None
    if worlds_mu is not None:
        worlds = _Lane(map_stack(worlds_mu), rg_in, k, diameter_in)

    intended = _Throw(release, line.launch_deg, line.foul_line_board)
    base = lane.thrown([intended], normals)
    pocket = _by_scramble(base.pocket(), scrambles)[0]
    table = frame_table(SpareRecord() if spares is None else spares)
    split = table.split_or_washout(base.offset, base.angle, base.gutter)
    frame = table.value(base.offset, base.angle, base.gutter)
    known = lane.thrown([intended], INTENDED)
    gutter = bool(known.gutter.item())
    return LineReport(
        line=line,
        draws=draws * scrambles,
        offset_boards=None if gutter else float(known.offset.item()),
        entry_angle_deg=None if gutter else float(known.angle.item()),
        pocket=_estimate(pocket),
        split_or_washout=_estimate(_by_scramble(split, scrambles)[0]),
        expected_frame=_estimate(_by_scramble(frame, scrambles)[0]),
        worst_tenth=_worst_tenth(frame.reshape(scrambles, draws), base),
        board_room=_room(lane, release, line, "boards", ROOM_BOARDS, normals, scrambles),
        speed_room=_room(lane, release, line, "speed_mph", ROOM_MPH, normals, scrambles),
        sensitivities=_sensitivities(lane, worlds, release, line, normals, pocket),
        pocket_span=None
        if worlds is None
        else _span(worlds.thrown([intended], normals[:WORLD_DRAWS]).pocket().mean(axis=2)[0]),
        worlds=0 if worlds is None else len(worlds.stack),
    )


def even_normals(draws: int, scrambles: int, key: str) -> FloatArray:
    """Independent scrambles of one even sequence as standard normals, (scrambles draws, 5), one scramble
    after the other; raises MotionError."""
    for name, value, low, high in (("draws", draws, 16, 4096), ("scrambles", scrambles, 4, 64)):
        if number(name, value, low, high) != int(value):
            raise MotionError(name, value, "must be a whole number")
    if draws & (draws - 1):
        raise MotionError("draws", draws, "must be a power of two")
    points = np.concatenate(
        [qmc.Sobol(5, scramble=True, rng=generator(f"{key} {i}")).random(draws) for i in range(scrambles)]
    )
    normals: FloatArray = ndtri(np.clip(points, 1e-6, 1.0 - 1e-6))
    return normals


@dataclass(frozen=True)
class _Throw:
    release: ReleaseSpec
    launch_deg: float
    foul_line_board: float


def _changed(release: ReleaseSpec, line: Line, field: Field, amount: float) -> _Throw | None:
    """The throw with one thing changed; None where nobody can throw it."""
    try:
        if field == "boards":
            line = replace(
                line,
                laydown_board=line.laydown_board + amount,
                target_board=line.target_board + amount,
            )
        elif field != "launch_deg":
            release = replace(release, **{field: getattr(release, field) + amount})
    except MotionError:
        return None
    if field != "launch_deg":
        return _Throw(release, line.launch_deg, line.foul_line_board)
    launch = line.launch_deg + amount
    if not LAUNCH_DEG[0] <= launch <= LAUNCH_DEG[1]:
        return None
    slope = math.tan(math.radians(launch)) * 12.0 / units.BOARD_IN
    return _Throw(release, launch, line.laydown_board + slope * line.laydown_ft)


@dataclass(frozen=True, eq=False)
class _Arrivals:
    """Where throws come to, arrays (throws, maps, draws)."""

    offset: FloatArray
    angle: FloatArray
    gutter: NDArray[np.bool_]

    def pocket(self) -> FloatArray:
        inside: FloatArray = (in_pocket(self.offset, self.angle) & ~self.gutter).astype(np.float64)
        return inside


@dataclass(frozen=True, eq=False)
class _Lane:
    """One ball on friction maps (m, 61, 39)."""

    stack: FloatArray
    rg_in: float | None
    k: float | None
    diameter_in: float

    def thrown(self, throws: Sequence[_Throw], normals: FloatArray) -> _Arrivals:
        """Every throw on every map with every draw, all of them sharing the same normals (draws, 5)."""
        maps = len(self.stack)
        samples = [release_samples(throw.release, normals) for throw in throws]

        def column(values: Iterable[FloatArray]) -> FloatArray:
            return np.concatenate([np.tile(each, maps) for each in values])

        launch = (t.launch_deg + s.launch_off_deg for t, s in zip(throws, samples, strict=True))
        laydown = (t.foul_line_board + s.laydown_off_boards for t, s in zip(throws, samples, strict=True))
        batch = march(
            self.stack,
            column(s.speed_mph for s in samples),
            column(s.rev_rate_rpm for s in samples),
            column(s.axis_rotation_deg for s in samples),
            np.clip(column(launch), *LAUNCH_DEG),
            np.clip(column(laydown), *FREE_LAYDOWN_BOARD),
            units.RG_MIN_IN if self.rg_in is None else self.rg_in,  # k goes before it
            self.diameter_in,
            np.tile(np.repeat(np.arange(maps), len(normals)), len(throws)),
            axis_tilt_deg=column(s.axis_tilt_deg for s in samples),
            k=self.k,
        )
        shape = (len(throws), maps, len(normals))
        offset = offset_at_pins(batch.board_at_60, batch.entry_angle_deg, self.diameter_in)
        return _Arrivals(
            offset=offset.reshape(shape),
            angle=batch.entry_angle_deg.reshape(shape),
            gutter=batch.gutter.reshape(shape),
        )

    def pocket_chances(self, throws: Sequence[_Throw], normals: FloatArray, scrambles: int) -> FloatArray:
        """Chance of the pocket on the first map, (throws, scrambles)."""
        some = max(1, PATHS_AT_ONCE // len(normals))
        parts = [
            _by_scramble(self.thrown(throws[first : first + some], normals).pocket(), scrambles)
            for first in range(0, len(throws), some)
        ]
        return np.concatenate(parts)


def _by_scramble(values: FloatArray, scrambles: int) -> FloatArray:
    """Means (throws, scrambles) of values (throws, 1, scrambles draws)."""
    means: FloatArray = values.reshape(len(values), scrambles, -1).mean(axis=2)
    return means


def _estimate(values: FloatArray) -> Estimate:
    """Mean and standard error from the independent answers of the scrambles."""
    error = float(values.std(ddof=1)) / math.sqrt(len(values))
    return Estimate(value=float(values.mean()), error=error)


def _sensitivities(
    lane: _Lane,
    worlds: _Lane | None,
    release: ReleaseSpec,
    line: Line,
    normals: FloatArray,
    pocket: FloatArray,
) -> tuple[Sensitivity, ...]:
    changed = [(field, amount, _changed(release, line, field, amount)) for field, amount in CHANGES]
    thrown = [(field, amount, throw) for field, amount, throw in changed if throw is not None]
    throws = [_Throw(release, line.launch_deg, line.foul_line_board), *(throw for _, _, throw in thrown)]
    chances = lane.pocket_chances(throws, normals, len(pocket))
    known = _changes(lane.thrown(throws, INTENDED))
    others = None if worlds is None else _changes(worlds.thrown(throws, INTENDED))
    return tuple(
        Sensitivity(
            field=field,
            amount=amount,
            offset_boards=_number(known[0][i, 0]),
            angle_deg=_number(known[1][i, 0]),
            pocket=_estimate(chances[i] - pocket),
            offset_span=None if others is None else _span(others[0][i]),
            angle_span=None if others is None else _span(others[1][i]),
        )
        for i, (field, amount, _) in enumerate(thrown, start=1)
    )


def _changes(arrivals: _Arrivals) -> tuple[FloatArray, FloatArray]:
    """What each intended throw differs by from the first in offset and angle, (throws, maps), NaN where
    either is in the gutter."""
    lost = (arrivals.gutter | arrivals.gutter[0])[..., 0]
    offset = np.where(lost, np.nan, (arrivals.offset - arrivals.offset[0])[..., 0])
    angle = np.where(lost, np.nan, (arrivals.angle - arrivals.angle[0])[..., 0])
    return offset, angle


def _number(value: float) -> float | None:
    return None if math.isnan(value) else float(value)


def _worst_tenth(frame: FloatArray, base: _Arrivals) -> WorstTenth:
    count = max(1, round(WORST_SHARE * frame.shape[1]))
    order = np.argsort(frame, axis=1, kind="stable")[:, :count]
    worst = np.take_along_axis(frame, order, axis=1)
    offset = np.take_along_axis(base.offset.reshape(frame.shape), order, axis=1)
    gutter = np.take_along_axis(base.gutter.reshape(frame.shape), order, axis=1)
    low, high = None, None
    if not gutter.all():
        low, high = (float(x) for x in np.quantile(offset[~gutter], [0.05, 0.95]))
    return WorstTenth(
        frame=_estimate(worst.mean(axis=1)),
        low_boards=low,
        high_boards=high,
        gutter_share=float(gutter.mean()),
    )


def _room(
    lane: _Lane,
    release: ReleaseSpec,
    line: Line,
    field: Field,
    steps: tuple[float, float],
    normals: FloatArray,
    scrambles: int,
) -> Room | None:
    step, farthest = steps
    ways = []
    for sign in (-1.0, 1.0):
        way: list[_Throw] = []
        for i in range(1, round(farthest / step) + 1):
            throw = _changed(release, line, field, sign * i * step)
            if throw is None:
                break
            way.append(throw)
        ways.append(way)
    less, more = ways
    here = _Throw(release, line.launch_deg, line.foul_line_board)
    chance = lane.pocket_chances([*less[::-1], here, *more], normals, scrambles)
    middle = len(less)
    found = _walk(chance.mean(axis=1), middle, step)
    if found is None:
        return None
    # The jackknife over scrambles: the room is no mean, so its error is read from leaving each one out.
    left_out = [_walk(np.delete(chance, s, axis=1).mean(axis=1), middle, step) for s in range(scrambles)]
    walks = np.array([found if walk is None else walk for walk in left_out])
    error = np.sqrt((scrambles - 1) * walks.var(axis=0))
    return Room(
        less=Estimate(value=found[0], error=float(error[0])),
        more=Estimate(value=found[1], error=float(error[1])),
        farthest_less=len(less) * step,
        farthest_more=len(more) * step,
    )


def _walk(chance: FloatArray, middle: int, step: float) -> tuple[float, float] | None:
    """How far from the middle, each way, the chance stays at half of its best or more."""
    best = float(chance.max())
    enough = ROOM_SHARE * best
    if best < NO_CHANCE or chance[middle] < enough:
        return None

    def way(values: FloatArray) -> float:
        below = np.flatnonzero(values < enough)
        if not below.size:
            return (len(values) - 1) * step
        first = int(below[0])
        before, after = float(values[first - 1]), float(values[first])
        return (first - 1 + (before - enough) / (before - after)) * step

    return way(chance[middle::-1]), way(chance[middle:])


def _span(values: FloatArray) -> Span | None:
    """The middle of the numbers that are known."""
    some = values[np.isfinite(values)]
    if not some.size:
        return None
    low, high = (float(x) for x in np.quantile(some, [TAIL, 1.0 - TAIL]))
    return Span(low=low, high=high)
