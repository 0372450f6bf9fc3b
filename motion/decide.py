"""Stay, move or change ball: staying is the default, anything else must win by more than doubt and cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.advice_types import Action, Candidate, Objective
from motion.compare import Compared, content_order
from motion.costs import COSTS, cost_of_change
from motion.errors import FloatArray

__all__ = ["COSTS", "Gain", "action_between", "cost_of_change", "decide", "gain_over", "ranked"]

LOW, HIGH = 10.0, 90.0  # ends of the interval shown, in percent of the worlds


@dataclass(frozen=True, kw_only=True, eq=False)
class Gain:
    """A choice against staying: value difference per world and what it says.

    chance: share of the worlds in which it is better at all. chance_pays: better by more than its cost.
    """

    compared: Compared
    by_world: FloatArray
    mean: float
    low: float
    high: float
    chance: float
    chance_pays: float
    cost: float

    @property
    def wins(self) -> bool:
        """Whether it beats staying by more than the uncertainty and the cost of change."""
        return self.chance_pays >= COSTS.chance_needed and self.mean >= self.cost


def gain_over(stay: Compared, other: Compared, objective: Objective) -> Gain:
    """The gain of a choice over staying, world by world."""
    by_world = other.value(objective) - stay.value(objective)
    cost = cost_of_change(stay.candidate, other.candidate)
    return Gain(
        compared=other,
        by_world=by_world,
        mean=float(by_world.mean()),
        low=float(np.percentile(by_world, LOW)),
        high=float(np.percentile(by_world, HIGH)),
        chance=float(np.mean(by_world > 0.0)),
        chance_pays=float(np.mean(by_world > cost)),
        cost=cost,
    )


def decide(
    stay: Compared, others: Sequence[Compared], objective: Objective, *, must_change: bool = False
) -> Gain:
    """The choice to advise; staying itself (a gain of nothing) unless something wins.

    must_change: the ball thrown so far may not be thrown any more, so the best of the others is advised.
    """
    gains = ranked(stay, others, objective)
    if must_change and gains:
        return gains[0]
    winners = [gain for gain in gains if gain.wins]
    return winners[0] if winners else gain_over(stay, stay, objective)


def ranked(stay: Compared, others: Sequence[Compared], objective: Objective) -> list[Gain]:
    """All choices by gain less cost, best first; equal ones in an order of content."""
    gains = [gain_over(stay, other, objective) for other in others]
    return sorted(gains, key=lambda gain: (-(gain.mean - gain.cost), content_order(gain.compared.candidate)))


def action_between(before: Candidate, after: Candidate) -> Action:
    """The word for going from one choice to another; a change of release counts as a move."""
    if before == after:
        return "stay"
    return "move" if before.ball_id == after.ball_id else "change ball"
