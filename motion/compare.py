"""Compare balls, releases and lines under scatter and over the worlds: coarsely all, closely a few.

Every candidate meets the same worlds and the same scatter (common random numbers), so differences between
candidates are far better known than their levels.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from motion.advice_types import Candidate, Objective, Outlook
from motion.costs import cost_of_change, cost_of_move
from motion.errors import FloatArray
from motion.inputs import Line
from motion.line_error import LineError
from motion.lines import launch_angles, launch_toward, laydowns, line_at, targets
from motion.outcomes import FrameTable
from motion.pocket import POCKET_OFFSET_BOARDS
from motion.scene import Scene, Throws, scan, throw

COARSE_WORLDS = 6
CLOSER_WORLDS = 12
CLOSER_SAMPLES = 32
CLOSER_PER_CHOICE = 4
FINAL_CANDIDATES = 10
LAYDOWN_STRIDE = 2
AIM_WITHIN_BOARDS = 1.75
_QUADRATURE = np.linspace(-2.0, 2.0, 9)
_QUADRATURE_WEIGHT = np.exp(-0.5 * _QUADRATURE**2) / np.exp(-0.5 * _QUADRATURE**2).sum()
WORST_SHARE = 0.1


@dataclass(frozen=True, kw_only=True, eq=False)
class Compared:
    """A candidate seen closely: frame value per world for both objectives, and its outlook."""

    candidate: Candidate
    mean_by_world: FloatArray
    worst_tenth_by_world: FloatArray
    pocket_by_world: FloatArray
    outlook: Outlook

    def value(self, objective: Objective) -> FloatArray:
        """Value per world: the expected frame, or the mean of its worst tenth."""
        return self.worst_tenth_by_world if objective == "floor" else self.mean_by_world


def search(
    scene: Scene,
    choices: Sequence[Candidate],
    present: Candidate | None,
    *,
    table: FrameTable,
    objective: Objective,
    normals: FloatArray,
    error: LineError | None = None,
    step: Callable[[], None] = lambda: None,
) -> list[Compared]:
    """Find the lines worth a close look for every ball and release, and look closely at the best.

    choices: one candidate per ball and release; its line is where the search starts (its distances are kept).
    present: what is thrown now, always among the results, first; other lines are sought by what they bring
    over it less the cost of the change. error: what the model may get wrong of every line of this lane, drawn
    for the worlds of the scene. step: called between pieces of work.
    """
    coarse_scene, closer_scene = scene.first(COARSE_WORLDS), scene.first(CLOSER_WORLDS)
    closer_error = None if error is None else error.first(CLOSER_WORLDS)
    shortlist: list[tuple[float, Candidate]] = []
    for choice in choices:
        line = None if present is None else present.line
        found = coarse_lines(coarse_scene, choice, line, table, objective, moves_cost=True)
        for candidate in found[:CLOSER_PER_CHOICE]:
            seen = look_closely(closer_scene, candidate, normals[:CLOSER_SAMPLES], table, closer_error)
            cost = 0.0 if present is None else cost_of_change(present, candidate)
            shortlist.append((float(seen.value(objective).mean()) - cost, candidate))
        step()
    # Ties fall to the line, not to the order in which the balls were listed.
    shortlist.sort(key=lambda item: (-item[0], content_order(item[1])))
    final = _best_of_each(shortlist)
    result = [] if present is None else [look_closely(scene, present, normals, table, error)]
    step()
    for candidate in final:
        if present is None or candidate != present:
            result.append(look_closely(scene, candidate, normals, table, error))
        step()
    return result


def coarse_lines(
    scene: Scene,
    choice: Candidate,
    present: Line | None,
    table: FrameTable,
    objective: Objective,
    *,
    moves_cost: bool = False,
) -> list[Candidate]:
    """Candidate lines for one ball and release, best first, at most one for each laydown.

    Best is what a line is worth, less the cost of moving there from the present one if moves_cost.
    The intended shot is marched on a grid of laydowns and launch angles in a few worlds; scatter is folded in
    through the slopes of the offset by speed, launch and laydown.
    """
    start = choice.line if present is None else present
    boards = laydowns(present)
    angles = launch_angles()
    # Neighbouring laydowns differ little: march every second one and interpolate between them.
    nodes = np.arange(boards[0], boards[-1] + LAYDOWN_STRIDE, LAYDOWN_STRIDE)
    slope = (start.laydown_board - start.foul_line_board) if start.laydown_ft else 0.0
    grid = scan(scene, choice, nodes - slope, angles)
    sd = _offset_sd(scene, choice, grid.offset_boards, nodes, angles)
    found: list[tuple[float, Candidate]] = []
    for board in boards:
        goals = targets(float(board), present)
        if len(goals) == 0:
            continue
        launch = launch_toward(float(board), goals, start)
        offset = _between(grid.offset_boards, nodes, angles, float(board), launch)
        angle = _between(grid.entry_angle_deg, nodes, angles, float(board), launch)
        wide = _between(sd[None], nodes, angles, float(board), launch)[0]
        lost = _between(grid.gutter.astype(np.float64), nodes, angles, float(board), launch)
        worth = _smoothed_value(table, offset, angle, wide, lost, objective)
        # Nobody plays for the far side of the head pin, however well the pin model thinks it carries.
        aimed = np.abs(offset.mean(axis=0) - POCKET_OFFSET_BOARDS) <= AIM_WITHIN_BOARDS
        if not aimed.any():
            continue
        if moves_cost and present is not None:
            worth = worth - cost_of_move(present, board, goals)
        worth = np.where(aimed, worth, -np.inf)
        best = int(np.argmax(worth))
        found.append(
            (
                float(worth[best]),
                Candidate(
                    ball_id=choice.ball_id,
                    ball=choice.ball,
                    release_name=choice.release_name,
                    release=choice.release,
                    line=line_at(float(board), float(goals[best]), start),
                ),
            )
        )
    found.sort(key=lambda item: (-item[0], content_order(item[1])))
    return _apart([candidate for _, candidate in found])


def look_closely(
    scene: Scene,
    candidate: Candidate,
    normals: FloatArray,
    table: FrameTable,
    error: LineError | None = None,
) -> Compared:
    """Throw a candidate with scatter in every world of the scene and weigh what happens.

    error: what the model may get wrong of its line, drawn for those worlds; it moves where throws arrive.
    """
    throws = throw(scene, candidate, normals)
    if error is not None:
        missed_by = error.at(candidate.line)[:, None]
        throws = replace(throws, offset_boards=throws.offset_boards + missed_by)
    values = table.value(throws.offset_boards, throws.entry_angle_deg, throws.gutter)
    worst_count = max(1, round(WORST_SHARE * values.shape[1]))
    worst = np.sort(values, axis=1)[:, :worst_count].mean(axis=1)
    pocket = table.pocket(throws.offset_boards, throws.entry_angle_deg, throws.gutter)
    return Compared(
        candidate=candidate,
        mean_by_world=values.mean(axis=1),
        worst_tenth_by_world=worst,
        pocket_by_world=pocket.mean(axis=1),
        outlook=_outlook(throws, values, pocket, table),
    )


def _outlook(throws: Throws, values: FloatArray, pocket: FloatArray, table: FrameTable) -> Outlook:
    everything = np.sort(values.ravel())
    worst = everything[: max(1, round(WORST_SHARE * everything.size))].mean()
    offset, angle, gutter = throws.offset_boards, throws.entry_angle_deg, throws.gutter
    return Outlook(
        pocket=float(pocket.mean()),
        strike=float(table.strike(offset, angle, gutter).mean()),
        split_or_washout=float(table.split_or_washout(offset, angle, gutter).mean()),
        expected_frame=float(values.mean()),
        worst_tenth=float(worst),
        mean_offset_boards=float(np.median(offset)),
        sd_offset_boards=float(offset.std()),
        entry_angle_deg=float(np.median(angle)),
        breakpoint_board=float(np.median(throws.breakpoint_board)),
        breakpoint_ft=float(np.median(throws.breakpoint_ft)),
    )


def _offset_sd(
    scene: Scene, choice: Candidate, offset: FloatArray, nodes: FloatArray, angles: FloatArray
) -> FloatArray:
    """Standard deviation of the offset under scatter at every node, shape (laydowns, angles)."""
    middle = scene.first(1)
    change = 0.3
    faster = scan(middle, choice, nodes, angles, change).offset_boards[0]
    slower = scan(middle, choice, nodes, angles, -change).offset_boards[0]
    by_speed = (faster - slower) / (2.0 * change)
    average = offset.mean(axis=0)
    by_launch = np.gradient(average, angles, axis=1)
    by_laydown = np.gradient(average, nodes, axis=0) if len(nodes) > 1 else np.ones_like(average)
    slopes = np.stack([by_speed, by_launch, by_laydown])
    covariance = choice.release.scatter.covariance()[:3, :3]
    variance = np.einsum("iab,ij,jab->ab", slopes, covariance, slopes)
    sd: FloatArray = np.sqrt(np.maximum(variance, 0.2**2))
    return sd


def _between(
    grid: FloatArray, nodes: FloatArray, angles: FloatArray, board: float, launch: FloatArray
) -> FloatArray:
    """Bilinear value of a (worlds, laydowns, angles) grid at one laydown and several launch angles."""
    place = np.clip((board - nodes[0]) / LAYDOWN_STRIDE, 0.0, len(nodes) - 1.0)
    low = min(int(place), max(len(nodes) - 2, 0))
    high = min(low + 1, len(nodes) - 1)
    part = place - low
    row = grid[:, low] * (1.0 - part) + grid[:, high] * part
    step = np.clip((launch - angles[0]) / (angles[1] - angles[0]), 0.0, len(angles) - 1.0)
    left = np.minimum(step.astype(np.int64), len(angles) - 2)
    share = step - left
    result: FloatArray = row[:, left] * (1.0 - share) + row[:, left + 1] * share
    return result


def _smoothed_value(
    table: FrameTable,
    offset: FloatArray,
    angle: FloatArray,
    sd: FloatArray,
    lost: FloatArray,
    objective: Objective,
) -> FloatArray:
    spread = offset[:, :, None] + sd[None, :, None] * _QUADRATURE
    entry = np.broadcast_to(angle[:, :, None], spread.shape)
    gutter = np.broadcast_to((lost > 0.5)[:, :, None], spread.shape)
    values = table.value(spread, entry, gutter)
    if objective == "floor":
        # The two ends of the scatter stand for its worst tenth (|z| >= 1.5 is 13 % of a normal).
        ends = np.concatenate([values[:, :, :2], values[:, :, -2:]], axis=2)
        floor: FloatArray = ends.mean(axis=2).mean(axis=0)
        return floor
    worth: FloatArray = (values @ _QUADRATURE_WEIGHT).mean(axis=0)
    return worth


def _apart(candidates: list[Candidate], boards: float = 2.0) -> list[Candidate]:
    """Keep the best and drop near neighbours of what is already kept."""
    kept: list[Candidate] = []
    for candidate in candidates:
        if all(abs(candidate.line.laydown_board - other.line.laydown_board) >= boards for other in kept):
            kept.append(candidate)
    return kept


def _best_of_each(shortlist: list[tuple[float, Candidate]]) -> list[Candidate]:
    """The best overall, with the best of every ball and release before any second line."""
    first: dict[tuple[str, str], Candidate] = {}
    rest: list[Candidate] = []
    for _, candidate in shortlist:
        key = (candidate.ball_id, candidate.release_name)
        if key in first:
            rest.append(candidate)
        else:
            first[key] = candidate
    return [*first.values(), *rest][: max(FINAL_CANDIDATES, len(first))]


def content_order(candidate: Candidate) -> tuple[object, ...]:
    """An order by content, so that equal values never fall to the order of the request."""
    ball, line = candidate.ball, candidate.line
    return (line.laydown_board, line.target_board, candidate.release_name, repr(ball), candidate.ball_id)
