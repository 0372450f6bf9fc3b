"""What is not known about the lanes, the balls and the bowler, as a weighted ensemble of possible worlds.

Every unknown is a sum of independent parts with prior spreads (house + pair + lane, for example), so what
several pairs have in common moves the house or the bowler, and what one pair alone shows moves that pair.
All spreads are assumed (no published source) until calibration on logged shots replaces them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from motion.advice_types import AdviceRequest, SheetTrust
from motion.canonical import ball_key
from motion.parameters import PARAMETERS
from motion.streams import stratified_normals

FloatArray = npt.NDArray[np.float64]

PRIOR_WORLDS = 2048
LOWEST_EFFECTIVE_SHARE = 1.0 / 32.0  # below this the evidence is tempered instead of trusting few worlds


def _spread(name: str) -> float:
    return field(default_factory=lambda: PARAMETERS[name].prior_sd)


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
    """Worlds as arrays of length n; per-lane and per-key parts in dictionaries. Weights sum to one."""

    weight: FloatArray
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

    @property
    def effective(self) -> float:
        """Kish's effective number of worlds, 1 / sum of squared weights."""
        return float(1.0 / np.sum(self.weight**2))


def prior_worlds(request: AdviceRequest, *, count: int = PRIOR_WORLDS, priors: Priors = PRIORS) -> Worlds:
    """Draw equally weighted worlds for the lanes, balls and bowlers that an own-side request names."""

    def draw(key: str, sd: float) -> FloatArray:
        return sd * stratified_normals(key, count)

    friction: dict[str, FloatArray] = {}
    film: dict[str, FloatArray] = {}
    pairs = list(dict.fromkeys(lane.pair_id for lane in request.lanes))
    for place, lane in enumerate(request.lanes):
        pair = pairs.index(lane.pair_id)

        def parts(what: str, place: int = place, pair: int = pair) -> FloatArray:
            total: FloatArray = (
                draw(f"house {what}", priors.share_house**0.5)
                + draw(f"pair {what} {pair}", priors.share_pair**0.5)
                + draw(f"lane {what} {place}", priors.share_lane**0.5)
            )
            return total

        friction[lane.lane_id] = priors.log_friction * parts("friction")
        film[lane.lane_id] = priors.log_film(lane.sheet_trust) * parts("film")
    balls = {ball_key(ball.spec) for ball in request.balls} | {ball_key(shot.spec) for shot in request.shots}
    # Bowlers are told apart by the order in which they first appear, so a key is a link and never a seed.
    bowlers = list(dict.fromkeys(["", *(shot.bowler_key for shot in request.shots)]))
    return Worlds(
        weight=np.full(count, 1.0 / count),
        log_friction=friction,
        log_film=film,
        log_wear=draw("wear", priors.log_wear),
        log_carry=draw("carry", priors.log_carry),
        log_friction_ball={key: draw(f"ball {key}", priors.log_friction_ball) for key in sorted(balls)},
        speed_mph={key: draw(f"speed {i}", priors.speed_mph) for i, key in enumerate(bowlers)},
        log_rev_rate={key: draw(f"rev {i}", priors.log_rev_rate) for i, key in enumerate(bowlers)},
        display_bias_mph=draw("display", priors.display_bias_mph),
    )


def reweighted(worlds: Worlds, log_likelihood: FloatArray) -> Worlds:
    """Weigh worlds by evidence; where too few would carry it, temper it until enough do.

    log_likelihood: shape (n,), natural log. Tempering raises the likelihood to the largest power in [0, 1]
    that keeps LOWEST_EFFECTIVE_SHARE of the worlds effective: the spread then stays too wide rather than
    falsely narrow.
    """
    centred = log_likelihood - log_likelihood.max()

    def weights(power: float) -> FloatArray:
        raw: FloatArray = worlds.weight * np.exp(power * centred)
        result: FloatArray = raw / raw.sum()
        return result

    def effective(power: float) -> float:
        return float(1.0 / np.sum(weights(power) ** 2))

    least = LOWEST_EFFECTIVE_SHARE * worlds.count
    power = 1.0
    if effective(1.0) < least:
        low, high = 0.0, 1.0
        for _ in range(40):
            power = 0.5 * (low + high)
            low, high = (power, high) if effective(power) >= least else (low, power)
        power = low
    return _with_weights(worlds, weights(power))


def representative(worlds: Worlds, count: int) -> Worlds:
    """Pick `count` equally weighted worlds by systematic resampling (Kitagawa, JCGS 5 (1996) 1)."""
    edges = np.cumsum(worlds.weight)
    places = np.minimum(np.searchsorted(edges, (np.arange(count) + 0.5) / count), worlds.count - 1)
    return chosen(worlds, places.astype(np.int64))


def chosen(worlds: Worlds, places: npt.NDArray[np.int64]) -> Worlds:
    """The worlds at these places, equally weighted."""

    def pick(parts: dict[str, FloatArray]) -> dict[str, FloatArray]:
        return {key: part[places] for key, part in parts.items()}

    return Worlds(
        weight=np.full(len(places), 1.0 / len(places)),
        log_friction=pick(worlds.log_friction),
        log_film=pick(worlds.log_film),
        log_wear=worlds.log_wear[places],
        log_carry=worlds.log_carry[places],
        log_friction_ball=pick(worlds.log_friction_ball),
        speed_mph=pick(worlds.speed_mph),
        log_rev_rate=pick(worlds.log_rev_rate),
        display_bias_mph=worlds.display_bias_mph[places],
    )




def _with_weights(worlds: Worlds, weight: FloatArray) -> Worlds:
    return Worlds(
        weight=weight,
        log_friction=worlds.log_friction,
        log_film=worlds.log_film,
        log_wear=worlds.log_wear,
        log_carry=worlds.log_carry,
        log_friction_ball=worlds.log_friction_ball,
        speed_mph=worlds.speed_mph,
        log_rev_rate=worlds.log_rev_rate,
        display_bias_mph=worlds.display_bias_mph,
    )
