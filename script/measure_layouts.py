"""Measure what docs/layout.md says of layouts besides the fit: nice python script/measure_layouts.py

Its figures are marked there by a dagger. Prints, in the order of the page: what the cover does by flare, the
swing of a rolling ball, what the assumed numbers of the cover leave open, and four layouts of one ball with
the turn at release and a bowler's scatter beside them. Half a minute.
"""

from __future__ import annotations

import sys
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from motion.draws import release_samples
from motion.engine import march
from motion.errors import FloatArray
from motion.friction import DEFAULT_PHYSICS, mu_map
from motion.full_ball import solve_full_ball
from motion.inertia import flare_per_turn_in
from motion.inputs import BallSpec, ReleaseSpec, Scatter
from motion.layout_effect import effective
from motion.parameters import PARAMETERS, Physics
from motion.path import march_batch
from motion.reconstruct import film_from_summary
from motion.streams import scatter_normals, stratified_normals
from script.fit_layout_effect import Case, draw, marched, other_layout

SEED, SHOTS, ROLLED, PAIRS = 300, 300, 40, 100
BALL = BallSpec(weight_lb=15.0, rg_in=2.50, differential_in=0.048, intermediate_differential_in=0.012)
RELEASE = ReleaseSpec(
    speed_mph=17.0,
    rev_rate_rpm=350.0,
    axis_rotation_deg=47.0,
    axis_tilt_deg=12.0,
    scatter=Scatter(
        sd_speed_mph=0.3,
        sd_launch_deg=0.25,
        sd_laydown_boards=0.5,
        sd_rev_rate_rpm=0.0,
        sd_axis_rotation_deg=0.0,
    ),
)
LINE: Any = {"launch_deg": 2.1, "laydown_board": 23.0}
LAYOUTS = ((0.75, 70.0, 40.0), (2.0, 50.0, 40.0), (3.4, 45.0, 35.0), (5.0, 75.0, 55.0))
ROUGHNESS_UM = (0.9, 0.5)
PHASES_DEG = np.arange(-180.0, 180.0, 45.0)


def rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def cover_by_flare() -> None:
    """Board at 60 ft with the cover's oil less without, by how far tracks part a turn."""
    rng = np.random.default_rng(SEED)
    cases = [draw(rng) for _ in range(SHOTS)]
    moved = np.array([marched(case, True)[0] - marched(case, False)[0] for case in cases])
    flare = np.array([flare_per_turn_in(case.ball) for case in cases])
    print(f"Cover on less off, board at 60 ft, {SHOTS} random shots:")
    for words, some in (
        ("flare below 0.1 in a turn", flare < 0.1),
        ("0.1 to 0.3 in", (flare >= 0.1) & (flare <= 0.3)),
        ("above 0.3 in", flare > 0.3),
        ("all", flare >= 0.0),
    ):
        print(f"  {words} ({some.sum()}): {moved[some].mean():+.2f}")


def swing_while_rolling() -> None:
    """How a rolling anisotropic ball's direction swings about its mean, shots that rolled before 50 ft."""
    rng = np.random.default_rng(SEED + 1)
    sds, ranges = [], []
    for case in (draw(rng) for _ in range(ROLLED)):
        full = solve_full_ball(
            case.mu, case.ball, case.release, launch_deg=case.launch_deg, laydown_board=case.laydown_board,
            rtol=1e-8,
        )  # fmt: skip
        if full.roll_start_ft is None or full.roll_start_ft > 50.0:
            continue
        rolling = full.direction_deg[full.y_ft >= full.roll_start_ft]
        sds.append(rolling.std())
        ranges.append(np.ptp(rolling))
    print(
        f"Swing while rolling, {len(sds)} of {ROLLED} shots rolled before 50 ft: {rms(np.array(sds)):.2f}° "
        f"rms, {np.mean(ranges):.2f}° from end to end"
    )


def reduced_board(case: Case, physics: Physics) -> float:
    """Board at 60 ft of the reduced model, the lane's own friction as it is known."""
    effect = effective(case.ball, case.release, film_um=case.film_um, physics=physics)
    thrown = effect.release(case.release)
    path = march_batch(
        effect.mu(case.mu), thrown.speed_mph, thrown.rev_rate_rpm, thrown.axis_rotation_deg, case.launch_deg,
        case.laydown_board, case.ball.rg_in, case.ball.diameter_in, axis_tilt_deg=thrown.axis_tilt_deg,
        k=effect.k, steps_per_foot=16,
    )  # fmt: skip
    return float(path.board_at_60[0])


def assumed_cover() -> None:
    """What the prior widths of the cover's parameters move a ball, and the difference of two layouts."""
    rng = np.random.default_rng(SEED + 2)
    drawn = {}
    for item in fields(Physics):
        if item.name.startswith("cover_"):
            parameter, normals = PARAMETERS[item.name], stratified_normals(f"measured {item.name}", PAIRS)
            off = parameter.prior_sd * normals
            drawn[item.name] = parameter.value * np.exp(off) if parameter.relative else parameter.value + off
    for words, pick in (("random shots", draw), ("the shot below", usual_shot)):
        moved, apart = [], []
        for i in range(PAIRS):
            case = pick(rng)
            world = replace(DEFAULT_PHYSICS, **{name: float(values[i]) for name, values in drawn.items()})
            one, two = (
                reduced_board(some, world) - reduced_board(some, DEFAULT_PHYSICS)
                for some in (case, other_layout(case, rng))
            )
            moved += [one, two]
            apart.append(two - one)
        print(
            f"Assumed numbers of the cover, {PAIRS} pairs of layouts, {words}: a ball "
            f"{rms(np.array(moved)):.2f} boards rms, the difference of two layouts {rms(np.array(apart)):.2f}"
        )


def usual_shot(rng: np.random.Generator) -> Case:
    """The ball and shot of the table of four layouts, with a random layout and surface."""
    film = film_from_summary(40.0, 25.0, 8.0).film_um
    ball = replace(BALL, roughness_um=rng.uniform(0.3, 1.0))
    case = Case(ball, RELEASE, LINE["launch_deg"], LINE["laydown_board"], film, mu_map(film, ball))
    return other_layout(case, rng)


def four_layouts() -> None:
    """The table of four layouts of one ball, the ends of it, the turn at release and a bowler's scatter."""
    film = film_from_summary(40.0, 25.0, 8.0).film_um
    ends: dict[float, list[tuple[float, float]]] = {rough: [] for rough in ROUGHNESS_UM}
    flares, turns, spreads = [], [], []
    for pin, drilling, val in LAYOUTS:
        for rough in ROUGHNESS_UM:
            ball = replace(
                BALL, roughness_um=rough, pin_to_pap_in=pin, drilling_angle_deg=drilling, val_angle_deg=val
            )
            mu = mu_map(film, ball)
            full = solve_full_ball(mu, ball, RELEASE, film_um=film, rtol=1e-8, **LINE)
            effect = effective(ball, RELEASE, film_um=film)
            case = Case(ball, RELEASE, LINE["launch_deg"], LINE["laydown_board"], film, mu)
            ends[rough].append((full.board_at_60, reduced_board(case, DEFAULT_PHYSICS)))
            if rough == ROUGHNESS_UM[0]:
                flares.append(full.flare_in)
                others = [
                    solve_full_ball(mu, ball, RELEASE, film_um=film, rtol=1e-6, phase_deg=float(p), **LINE)
                    for p in PHASES_DEG
                ]
                turns.append(np.ptp([other.board_at_60 for other in others]))
                draws = release_samples(effect.release(RELEASE), scatter_normals(1024))
                thrown = march(
                    effect.mu(mu), draws.speed_mph, draws.rev_rate_rpm, draws.axis_rotation_deg,
                    LINE["launch_deg"] + draws.launch_off_deg,
                    LINE["laydown_board"] + draws.laydown_off_boards,
                    ball.rg_in, ball.diameter_in, axis_tilt_deg=draws.axis_tilt_deg, k=effect.k,
                )  # fmt: skip
                spreads.append(np.nanstd(thrown.board_at_60))
    print("\n| layout | Ra 0.9 µm: board at 60 ft, full / reduced | Ra 0.5 µm | flare, in |")
    print("| --- | --- | --- | --- |")
    for i, (pin, drilling, val) in enumerate(LAYOUTS):
        boards = " | ".join("{:.2f} / {:.2f}".format(*ends[rough][i]) for rough in ROUGHNESS_UM)
        print(f"| {pin:g} in, {drilling:g}°, {val:g}° | {boards} | {flares[i]:.1f} |")
    for rough in ROUGHNESS_UM:
        full, reduced = np.array(ends[rough])[-1] - np.array(ends[rough])[0]
        print(f"Last less first, Ra {rough} µm: full ball {full:.2f}, reduced model {reduced:.2f} boards")
    print(f"Turn of the ball at release, Ra 0.9 µm, range over {len(PHASES_DEG)}: {max(turns):.2f} at most")
    print(f"Scatter of one shot at 60 ft, one standard deviation: {np.mean(spreads):.1f} boards")


def main() -> None:
    cover_by_flare()
    swing_while_rolling()
    assumed_cover()
    four_layouts()


if __name__ == "__main__":
    main()
