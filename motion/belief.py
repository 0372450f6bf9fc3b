"""What is not known about the lanes, the balls and the bowler, as a weighted ensemble of possible worlds.

Every unknown is a sum of independent parts with prior spreads (house + pair + lane, for example), so what
several pairs have in common moves the house or the bowler, and what one pair alone shows moves that pair.
Inside, a world is a point z of standard normals, one coordinate per part; `Layout` turns points into scales.
All spreads are assumed (no published source) until calibration on logged shots replaces them.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from motion.advice_types import AdviceRequest, SheetTrust
from motion.canonical import ball_key
from motion.errors import FloatArray
from motion.parameters import PARAMETERS
from motion.streams import stratified_normals

PRIOR_WORLDS = 256
LEAST_EFFECTIVE_SHARE = 1.0 / 16.0  # below this the evidence is tempered instead of trusting few worlds
MOST_BY_SURFACE = 0.3  # a surface nobody knows still is a cover some pad could have left
PROPOSAL_WIDENING = 1.4  # of the variance where evidence has narrowed it: weights stay tame


def _spread(name: str) -> float:
    value: float = field(default_factory=lambda: PARAMETERS[name].prior_sd)
    return value


@dataclass(frozen=True, kw_only=True)
class Priors:
    """Prior standard deviations, all assumed; logs are natural logarithms of a scale factor.

    How far to doubt friction, film, wear and carry stands in the parameter table; how much of that doubt is
    shared by the house, the pair and the lane alone, and what balls and bowlers differ by, stands here.
    """

    log_friction: float = _spread("friction_scale")
    log_wear: float = _spread("lift_share")
    log_carry: float = _spread("carry_ft")
    log_friction_ball: float = 0.06
    # Friction grows about as roughness to this power on a thin film (motion.friction at 3 to 15 units: 0.5 to
    # 0.7) and not at all on a dry lane; so what the surface log leaves open is doubt of the ball.
    friction_by_roughness: float = 0.4
    speed_mph: float = 0.40
    log_rev_rate: float = 0.04
    display_bias_mph: float = 0.60
    share_house: float = 0.45  # shares of variance; they sum to one
    share_pair: float = 0.40
    share_lane: float = 0.15

    def log_film(self, trust: SheetTrust) -> float:
        """Spread of the film against its sheet: wider where the sheet was rebuilt."""
        name = {"table": "sheet", "passes": "passes", "summary": "summary"}[trust]
        return PARAMETERS[f"film_scale_sd_{name}"].value


PRIORS = Priors()


@dataclass(frozen=True, kw_only=True, eq=False)
class Worlds:
    """Worlds as arrays of length n; per-lane and per-key parts in dictionaries. Weights sum to one.

    effective: Kish's effective number of worlds, 1 / sum of squared weights, as the evidence itself has them,
    before it is tempered: a small one says that hardly any world agrees with what was logged.
    """

    weight: FloatArray
    effective: float
    log_friction: dict[str, FloatArray]  # by lane id
    log_film: dict[str, FloatArray]  # by lane id
    log_wear: FloatArray
    log_carry: FloatArray
    log_friction_ball: dict[str, FloatArray]  # by ball key
    speed_mph: dict[str, FloatArray]  # by bowler key, added to the release's speed
    log_rev_rate: dict[str, FloatArray]  # by bowler key
    display_bias_mph: FloatArray

    @property
    def count(self) -> int:
        """How many worlds there are."""
        return len(self.weight)


class Layout:
    """Which coordinate of a world's point stands for which lane, ball or bowler of one request."""

    def __init__(self, request: AdviceRequest, priors: Priors = PRIORS) -> None:
        self.priors = priors
        self.lanes = [(lane.lane_id, lane.pair_id, lane.sheet_trust) for lane in request.lanes]
        pairs = list(dict.fromkeys(lane.pair_id for lane in request.lanes))
        self.pair_place = {pair: place for place, pair in enumerate(pairs)}
        # Balls by what they are and bowlers by first appearance: a key is a link, never a seed or an order.
        self.ball_sd: dict[str, float] = {}
        for spec in (*(ball.spec for ball in request.balls), *(shot.spec for shot in request.shots)):
            by_surface = priors.friction_by_roughness * spec.roughness_sd_um / spec.roughness_um
            widest = max(self.ball_sd.get(ball_key(spec), 0.0), min(by_surface, MOST_BY_SURFACE))
            self.ball_sd[ball_key(spec)] = widest
        self.balls = sorted(self.ball_sd)
        self.bowlers = list(dict.fromkeys(["", *(shot.bowler_key for shot in request.shots)]))
        self.names: list[str] = ["wear", "carry", "display", "house friction", "house film"]
        for what in ("friction", "film"):
            self.names += [f"pair {what} {place}" for place in range(len(pairs))]
            self.names += [f"lane {what} {place}" for place in range(len(self.lanes))]
        self.names += [f"ball {key}" for key in self.balls]
        self.names += [f"{what} {place}" for what in ("speed", "revs") for place in range(len(self.bowlers))]
        self.column = {name: place for place, name in enumerate(self.names)}

    def draws(self, count: int) -> FloatArray:
        """Standard normal points (count, coordinates), each coordinate stratified and keyed by its name."""
        return np.stack([stratified_normals(name, count) for name in self.names], axis=1)

    def worlds(
        self, points: FloatArray, weight: FloatArray | None = None, effective: float | None = None
    ) -> Worlds:
        """The worlds at points (n, coordinates), equally weighted unless weights (n,) are given.

        effective: see `Worlds`; that of the weights unless given.
        """
        priors, count = self.priors, len(points)
        weight = np.full(count, 1.0 / count) if weight is None else weight

        def at(name: str) -> FloatArray:
            column: FloatArray = points[:, self.column[name]]
            return column

        def shared(what: str, place: int, pair: str) -> FloatArray:
            total: FloatArray = (
                priors.share_house**0.5 * at(f"house {what}")
                + priors.share_pair**0.5 * at(f"pair {what} {self.pair_place[pair]}")
                + priors.share_lane**0.5 * at(f"lane {what} {place}")
            )
            return total

        return Worlds(
            weight=weight,
            effective=_kish(weight) if effective is None else effective,
            log_friction={
                lane: priors.log_friction * shared("friction", place, pair)
                for place, (lane, pair, _) in enumerate(self.lanes)
            },
            log_film={
                lane: priors.log_film(trust) * shared("film", place, pair)
                for place, (lane, pair, trust) in enumerate(self.lanes)
            },
            log_wear=priors.log_wear * at("wear"),
            log_carry=priors.log_carry * at("carry"),
            log_friction_ball={
                key: math.hypot(priors.log_friction_ball, self.ball_sd[key]) * at(f"ball {key}")
                for key in self.balls
            },
            speed_mph={key: priors.speed_mph * at(f"speed {i}") for i, key in enumerate(self.bowlers)},
            log_rev_rate={key: priors.log_rev_rate * at(f"revs {i}") for i, key in enumerate(self.bowlers)},
            display_bias_mph=priors.display_bias_mph * at("display"),
        )


def prior_worlds(layout: Layout, count: int = PRIOR_WORLDS) -> Worlds:
    """Equally weighted worlds as the priors have them."""
    return layout.worlds(layout.draws(count))


def posterior_worlds(
    layout: Layout,
    centre: FloatArray,
    precision: FloatArray,
    log_likelihood: Callable[[Worlds], FloatArray],
    count: int = PRIOR_WORLDS,
) -> Worlds:
    """Weighted worlds after evidence: drawn from a normal guess at the posterior and weighed by what is true.

    centre (d,), precision (d, d): mode and curvature of the guess in the coordinates of the layout. Every
    drawn world gets the weight prior x likelihood / guess (importance sampling), so a near guess will do.
    """
    values, vectors = np.linalg.eigh(precision)
    sd = np.sqrt(np.minimum(1.0, PROPOSAL_WIDENING / values))
    normals = layout.draws(count)
    # The symmetric root: unlike bare eigenvectors it has one value, whatever order the shots are summed in.
    points = centre + normals @ ((vectors * sd) @ vectors.T)
    worlds = layout.worlds(points)
    log_weight = log_likelihood(worlds) - 0.5 * np.sum(points**2, axis=1) + 0.5 * np.sum(normals**2, axis=1)
    return layout.worlds(points, _tempered(log_weight), _kish(_weights(log_weight, 1.0)))


def _tempered(log_weight: FloatArray) -> FloatArray:
    """Weights from logarithms, raised to the largest power in [0, 1] that leaves enough worlds effective.

    Where the guess was poor the spread then stays too wide rather than falsely narrow.
    """
    least = LEAST_EFFECTIVE_SHARE * len(log_weight)
    low, high = 0.0, 1.0
    if _kish(_weights(log_weight, 1.0)) >= least:
        return _weights(log_weight, 1.0)
    for _ in range(30):
        power = 0.5 * (low + high)
        if _kish(_weights(log_weight, power)) >= least:
            low = power
        else:
            high = power
    return _weights(log_weight, low)


def _weights(log_weight: FloatArray, power: float) -> FloatArray:
    raw: FloatArray = np.exp(power * (log_weight - log_weight.max()))
    result: FloatArray = raw / raw.sum()
    return result


def _kish(weight: FloatArray) -> float:
    return float(1.0 / np.sum(weight**2))


def representative(worlds: Worlds, count: int) -> Worlds:
    """Pick `count` worlds by systematic resampling (Kitagawa, JCGS 5 (1996) 1, from memory)."""
    edges = np.cumsum(worlds.weight)
    places = np.minimum(np.searchsorted(edges, (np.arange(count) + 0.5) / count), worlds.count - 1)
    return chosen(worlds, places.astype(np.int64))


def chosen(worlds: Worlds, places: npt.NDArray[np.int64]) -> Worlds:
    """The worlds at these places, equally weighted."""

    def pick(parts: dict[str, FloatArray]) -> dict[str, FloatArray]:
        return {key: part[places] for key, part in parts.items()}

    return Worlds(
        weight=np.full(len(places), 1.0 / len(places)),
        effective=float(len(places)),
        log_friction=pick(worlds.log_friction),
        log_film=pick(worlds.log_film),
        log_wear=worlds.log_wear[places],
        log_carry=worlds.log_carry[places],
        log_friction_ball=pick(worlds.log_friction_ball),
        speed_mph=pick(worlds.speed_mph),
        log_rev_rate=pick(worlds.log_rev_rate),
        display_bias_mph=worlds.display_bias_mph[places],
    )
