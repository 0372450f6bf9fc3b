"""Measure how far a film that differs from its sheet sends lines astray: python script/measure_line_error.py

For docs/physics.md ("A line nobody has thrown") and `motion.line_error.BOARDS_BY_SHAPE`. Films differ from
their sheet board by board, smooth over three boards; every line goes to the pocket on the sheet itself. What
a film moves one line more than another is printed by the distance of the two, and for lines more than six
boards apart as boards for each share by which films differ. Some seconds.
"""

from __future__ import annotations

import sys
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from motion import units
from motion.engine import march
from motion.errors import FloatArray
from motion.friction import mu_map
from motion.inputs import BallSpec, Line
from motion.line_error import line_distance
from motion.pocket import POCKET_OFFSET_BOARDS
from motion.reconstruct import film_from_summary

SEED, FILMS, SMOOTH_BOARDS = 41, 60, 3.0
SHARES = (0.06, 0.10, 0.20, 0.40)
BINS = (0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 14.0)
FAR_BOARDS = 6.0
SPEED_MPH, REVS_RPM, ROTATION_DEG, TILT_DEG = 17.2, 330.0, 48.0, 12.0
SOLID = BallSpec(weight_lb=15.0, rg_in=2.50, cover="reactive_solid", roughness_um=0.7)
URETHANE = BallSpec(weight_lb=15.0, rg_in=2.55, cover="urethane", roughness_um=0.4)
HYBRID = BallSpec(weight_lb=15.0, rg_in=2.52, cover="reactive_hybrid", roughness_um=0.45)


def tapering(length_ft: float) -> FloatArray:
    """A film (61, 39) [um] that thins evenly from 5 in the middle to 1 outside, and by 40 % down the lane."""
    across = 1.0 + 4.0 * np.clip(1.0 - np.abs(np.arange(1, 40) - 20) / 16.0, 0.0, 1.0)
    feet = np.arange(61)
    film: FloatArray = np.where(feet <= length_ft, 1.0 - 0.4 * feet / length_ft, 0.0)[:, None] * across
    return film


def walled(length_ft: float) -> FloatArray:
    """A house-like film (61, 39) [um], 25 mL, 8 to 1: steep where the middle ends."""
    return film_from_summary(length_ft, 25.0, 8.0).film_um


CASES = tuple(
    (f"{name}, {shape.__name__}, {length_ft:g} ft", ball, shape(length_ft))
    for shape in (tapering, walled)
    for name, ball, length_ft in (
        ("solid", SOLID, 40.0),
        ("urethane", URETHANE, 40.0),
        ("hybrid", HYBRID, 44.0),
    )
)


def textures(rng: np.random.Generator) -> FloatArray:
    """Departures (FILMS, 39) of unit variance, smooth over SMOOTH_BOARDS, the same all down the lane."""
    away = np.arange(-12, 13)
    kernel = np.exp(-0.5 * (away / SMOOTH_BOARDS) ** 2)
    kernel /= np.sqrt((kernel**2).sum())
    rough = rng.standard_normal((FILMS, 39 + 24))
    return np.array([np.convolve(row, kernel, mode="valid") for row in rough])


def offsets(mu: FloatArray, ball: BallSpec, lines: list[Line]) -> FloatArray:
    """Offsets (films, lines) of the same throw down every line on every film (m, 61, 39)."""
    m = len(mu)
    met = march(
        mu, SPEED_MPH, REVS_RPM, ROTATION_DEG,
        np.tile([line.launch_deg for line in lines], m),
        np.tile([line.foul_line_board for line in lines], m),
        ball.rg_in, ball.diameter_in, np.repeat(np.arange(m), len(lines)), axis_tilt_deg=TILT_DEG,
    )  # fmt: skip
    off: FloatArray = units.HEAD_PIN_BOARD - met.board_at_60
    return off.reshape(m, len(lines))


def pocket_lines(mu: FloatArray, ball: BallSpec) -> list[Line]:
    """For each target board the line that arrives in the middle of the pocket, where one does."""
    found = []
    for target in np.arange(6.0, 22.0):
        tried = [
            Line(laydown_board=float(lay), target_board=float(target))
            for lay in target + np.arange(-2.0, 18.0, 0.05)
        ]
        off = np.abs(offsets(mu[None], ball, tried)[0] - POCKET_OFFSET_BOARDS)
        if np.nanmin(off) < 0.1:
            found.append(tried[int(np.nanargmin(off))])
    return found


def main() -> None:
    rows = textures(np.random.default_rng(SEED))
    edges = [f"{low:g} to {high:g}" for low, high in pairwise(BINS)]
    print(
        "| ball, film | films differ by | "
        + " | ".join(f"{edge} boards" for edge in edges)
        + " | per share |"
    )
    print("| --- " * (len(edges) + 3) + "|")
    for name, ball, film in CASES:
        lines = pocket_lines(mu_map(film, ball), ball)
        pairs = list(combinations(range(len(lines)), 2))
        apart = np.array([line_distance(lines[a], lines[b]) for a, b in pairs])
        plain = offsets(mu_map(film, ball)[None], ball, lines)
        for share in SHARES:
            films = film * np.exp(share * rows)[:, None, :]
            moved = offsets(np.stack([mu_map(one, ball) for one in films]), ball, lines) - plain
            # Pairs by films.
            gap = np.array([moved[:, a] - moved[:, b] for a, b in pairs])
            said = []
            for low, high in pairwise(BINS):
                some = gap[(apart >= low) & (apart < high)]
                said.append(float(np.sqrt((some**2).mean())) if some.size else float("nan"))
            far = float(np.sqrt((gap[apart >= FAR_BOARDS] ** 2).mean()))
            numbers = " | ".join(f"{value:.2f}" for value in said)
            print(f"| {name} | {share:.0%} | {numbers} | {far / share:.1f} |")


if __name__ == "__main__":
    main()
