"""Fit the reduced model of a layout to the full ball and judge it on balls it has not seen:

nice python script/fit_layout_effect.py

Draws random legal balls (RG and differential over all that the rule allows, any layout), releases of 13 to 21
mph and 150 to 550 rpm (nearly all grown bowlers; common practice) and worn films, solves each with the full
ball (its compiled
fixed-step march; its distance from the SciPy solver is printed) and with the isotropic ball, fits the numbers
of `Fitted` on one half and prints the share of the layout effect explained on the other, beside the model "no
effect". Writes motion/data/layout_effect.json. About two minutes.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from motion import full_ball_kernels, units
from motion.cover_state import TABLE_STEP_UM
from motion.errors import FloatArray
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.full_ball_motion import problem_of, state_at_release
from motion.inputs import COVERS, BallSpec, ReleaseSpec
from motion.layout_effect import DATA, Fitted, effective
from motion.path import march_batch
from motion.reconstruct import film_from_summary

SEED, JUDGED, TRAINED, CHECKED = 20_260, 2_000, 600, 40
STEP_S, CREEP_MPS = 5e-4, 0.002
ROUGHNESS_UM = {"plastic": (0.05, 0.2), "urethane": (0.2, 1.2)}
MEASURES = ("board at 60 ft", "entry angle", "breakpoint board")
FITS = {False: ("inertia_share", "turn_share"), True: ("spread", "strength")}


@dataclass(frozen=True)
class Case:
    """One shot: ball, release, line and the film on the lane."""

    ball: BallSpec
    release: ReleaseSpec
    launch_deg: float
    laydown_board: float
    film_um: FloatArray
    mu: FloatArray


def draw(rng: np.random.Generator) -> Case:
    """A random legal ball and layout, and a shot with it that ends near the head pin if one does."""
    cover = str(rng.choice(COVERS))
    differential = rng.uniform(0.0, units.DIFFERENTIAL_MAX_IN)
    ball = BallSpec(
        weight_lb=rng.uniform(12.0, 16.0),
        rg_in=rng.uniform(units.RG_MIN_IN, units.RG_MAX_IN),
        differential_in=differential,
        intermediate_differential_in=differential * rng.uniform(0.0, 1.0) * rng.integers(0, 2),
        diameter_in=rng.uniform(units.BALL_DIAMETER_MIN_IN, units.BALL_DIAMETER_MAX_IN),
        cover=cover,
        roughness_um=rng.uniform(*ROUGHNESS_UM.get(cover, (0.15, 1.3))),
        pin_to_pap_in=rng.uniform(0.0, 6.75),
        drilling_angle_deg=rng.uniform(0.0, 180.0),
        val_angle_deg=rng.uniform(0.0, 90.0),
    )
    release = ReleaseSpec(
        speed_mph=rng.uniform(13.0, 21.0),
        rev_rate_rpm=rng.uniform(150.0, 550.0),
        axis_rotation_deg=rng.uniform(10.0, 80.0),
        axis_tilt_deg=rng.uniform(0.0, 40.0),
    )
    fresh = film_from_summary(
        rng.uniform(32.0, 47.0), rng.uniform(18.0, 30.0), rng.uniform(1.2, 11.0)
    ).film_um
    film = fresh * rng.uniform(0.5, 1.0) * (1.0 + 0.15 * rng.uniform(-1.0, 1.0, fresh.shape))
    mu = mu_map(film, ball)
    target, laydown = rng.uniform(6.0, 20.0), rng.uniform(0.0, 1.0)
    laydowns = target + np.linspace(-3.0, 14.0, 35) + 0.4 * laydown
    laydowns = laydowns[(laydowns > 3.0) & (laydowns < 36.0)]
    launches = np.degrees(np.arctan((laydowns - target) * units.BOARD_IN / 12.0 / 15.0))
    thrown = march_batch(
        mu, release.speed_mph, release.rev_rate_rpm, release.axis_rotation_deg, launches, laydowns, ball.rg_in
    )
    best = int(np.argmin(np.abs(thrown.board_at_60 - 18.0)))
    return Case(ball, release, float(launches[best]), float(laydowns[best]), film, mu)


def marched(case: Case, with_cover: bool) -> FloatArray:
    """The measures (3,) of the full ball, by its fixed-step march."""
    problem = problem_of(case.mu, case.ball, case.film_um if with_cover else None)
    state = state_at_release(
        case.ball, case.release, launch_deg=case.launch_deg, laydown_board=case.laydown_board
    )
    rings = np.zeros((64, full_ball_kernels.RING_FIELDS))
    out = np.empty(6)
    full_ball_kernels.fixed_step_march(
        state,
        problem.kk,
        problem.radius_m,
        problem.mu,
        problem.film,
        problem.table,
        TABLE_STEP_UM,
        rings,
        problem.cover,
        STEP_S,
        CREEP_MPS,
        out,
    )
    return np.array([out[0], np.degrees(out[1]), out[3]])


def isotropic(case: Case, release: ReleaseSpec, mu: FloatArray, k: float | None = None) -> FloatArray:
    """The measures (3,) of an isotropic ball; k for another than its own, which may lie beyond a legal RG."""
    path = march_batch(
        mu,
        release.speed_mph,
        release.rev_rate_rpm,
        release.axis_rotation_deg,
        case.launch_deg,
        case.laydown_board,
        case.ball.rg_in,
        case.ball.diameter_in,
        axis_tilt_deg=release.axis_tilt_deg,
        k=k,
        steps_per_foot=16,
    )
    return np.array([path.board_at_60[0], path.entry_angle_deg[0], path.breakpoint_board[0]])


def reduced(case: Case, with_cover: bool, fit: Fitted, launch_deg: float | None = None) -> FloatArray:
    """The measures (3,) of the isotropic ball as the reduced model changes it."""
    film = case.film_um if with_cover else None
    effect = effective(case.ball, case.release, film_um=film, launch_deg=launch_deg, fit=fit)
    return isotropic(case, effect.release(case.release), effect.mu(case.mu), effect.k)


def fit_numbers(cases: list[Case], truth: FloatArray, with_cover: bool, start: Fitted) -> Fitted:
    """The numbers of `Fitted` that leave least of the effect unexplained, each measure in its own spread."""
    names = FITS[with_cover]
    plain = np.array([isotropic(c, c.release, c.mu) for c in cases])
    scale = np.sqrt(((truth - plain) ** 2).mean(axis=0))

    def left(values: FloatArray) -> float:
        fit = replace(start, **dict(zip(names, values.tolist(), strict=True)))
        miss = (np.array([reduced(c, with_cover, fit) for c in cases]) - truth) / scale
        # A few shots near the edge of rolling move far; the fit is for the many.
        return float(np.minimum(np.abs(miss), 3.0).__pow__(2).mean())

    begin = np.array([getattr(start, n) for n in names])
    simplex = np.concatenate([begin[None], begin + 0.15 * np.eye(len(names))])
    found = minimize(
        left, begin, method="Nelder-Mead",
        options={"initial_simplex": simplex, "maxfev": 24, "xatol": 0.01, "fatol": 1e-4},
    )  # fmt: skip
    return replace(start, **{n: round(float(v), 3) for n, v in zip(names, found.x, strict=True)})


def solver_distance(cases: list[Case], with_cover: bool) -> FloatArray:
    """Largest distance (3,) of the fixed-step march from the SciPy solver."""
    worst = np.zeros(3)
    for case in cases:
        full = solve_full_ball(
            case.mu, case.ball, case.release, launch_deg=case.launch_deg, laydown_board=case.laydown_board,
            film_um=case.film_um if with_cover else None, rtol=1e-8,
        )  # fmt: skip
        exact = np.array([full.board_at_60, full.entry_angle_deg, full.breakpoint_board])
        worst = np.maximum(worst, np.abs(marched(case, with_cover) - exact))
    return worst


def other_layout(case: Case, rng: np.random.Generator) -> Case:
    """The same shot with the same ball drilled otherwise."""
    ball = replace(
        case.ball,
        pin_to_pap_in=rng.uniform(0.0, 6.75),
        drilling_angle_deg=rng.uniform(0.0, 180.0),
        val_angle_deg=rng.uniform(0.0, 90.0),
    )
    return replace(case, ball=ball)


def row(word: str, name: str, effect: FloatArray, miss: FloatArray, known: FloatArray) -> tuple[str, float]:
    """A line of the table for one measure, and the share explained."""
    unit = "°" if "angle" in name else ""
    square = float((effect**2).mean())
    sizes = (np.sqrt(square), np.quantile(np.abs(effect), 0.95), np.sqrt((miss**2).mean()))
    share = round(1.0 - float((miss**2).mean()) / square, 4)
    by_line = 1.0 - float((known**2).mean()) / square
    numbers = " | ".join(f"{size:.3f}{unit}" for size in sizes)
    return f"| {word} | {name} | {numbers} | {share:.1%} | {by_line:.1%} |", share


def main() -> None:
    rng = np.random.default_rng(SEED)
    cases = [draw(rng) for _ in range(TRAINED + JUDGED)]
    training, judged = cases[:TRAINED], cases[TRAINED:]
    others = [other_layout(c, rng) for c in judged]
    fit = Fitted()
    record: dict[str, float] = {}
    notes = []
    print("| cover | measure | effect, rms | 95 in 100 within | left, rms | explained | knowing the launch |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for with_cover in (False, True):
        fit = fit_numbers(training, np.array([marched(c, with_cover) for c in training]), with_cover, fit)
        truth = np.array([marched(c, with_cover) for c in judged])
        plain = np.array([isotropic(c, c.release, c.mu) for c in judged])
        model = np.array([reduced(c, with_cover, fit) for c in judged])
        known = np.array([reduced(c, with_cover, fit, c.launch_deg) for c in judged])
        second = np.array([marched(c, with_cover) for c in others])
        second_model = np.array([reduced(c, with_cover, fit) for c in others])
        second_known = np.array([reduced(c, with_cover, fit, c.launch_deg) for c in others])
        cover = "on" if with_cover else "off"
        for word, effect, by_model, by_line in (
            (cover, truth - plain, model - plain, known - plain),
            (cover + ", two layouts", truth - second, model - second_model, known - second_known),
        ):
            for i, name in enumerate(MEASURES):
                line, share = row(
                    word, name, effect[:, i], (by_model - effect)[:, i], (by_line - effect)[:, i]
                )
                print(line)
                record[f"{word}: {name}"] = share
        worst = solver_distance(judged[:CHECKED], with_cover)
        notes.append(
            f"March against solver, {CHECKED} shots, cover {cover}, at most: {worst[0]:.4f} board, "
            f"{worst[1]:.4f}°, {worst[2]:.4f} board."
        )
    text = json.dumps({"fitted": asdict(fit), "explained": record, "judged": JUDGED, "seed": SEED}, indent=1)
    DATA.write_text(text + "\n", encoding="utf-8")
    print("\n" + "\n".join(notes))
    print(f"Fitted: {asdict(fit)}")


if __name__ == "__main__":
    main()
