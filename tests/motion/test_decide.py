"""The decision: staying unless a change wins by more than its doubt and its cost."""

from __future__ import annotations

import numpy as np
import pytest

from motion.advice_text import arrival, headline, move_words
from motion.advice_types import Candidate, Outlook
from motion.compare import Compared
from motion.decide import COSTS, action_between, cost_of_change, decide, ranked
from motion.inputs import Line
from tests.motion.advice_cases import HYBRID, SOLID, STRIKE

HERE = Line(laydown_board=20.0, target_board=13.0)
INSIDE = Line(laydown_board=22.0, target_board=14.0)


def _choice(line: Line = HERE, ball_id: str = "1") -> Candidate:
    spec = SOLID if ball_id == "1" else HYBRID
    return Candidate(ball_id=ball_id, ball=spec, release_name="strike", release=STRIKE, line=line)


def _seen(candidate: Candidate, mean: np.ndarray, worst: np.ndarray | None = None) -> Compared:
    outlook = Outlook(
        pocket=0.5,
        strike=0.4,
        split_or_washout=0.1,
        expected_frame=float(mean.mean()),
        worst_tenth=10.0,
        mean_offset_boards=2.5,
        sd_offset_boards=1.0,
        entry_angle_deg=5.0,
        breakpoint_board=8.0,
        breakpoint_ft=42.0,
    )
    return Compared(
        candidate=candidate,
        mean_by_world=mean,
        worst_tenth_by_world=mean if worst is None else worst,
        pocket_by_world=np.full(len(mean), 0.5),
        outlook=outlook,
    )


STAY = _seen(_choice(), np.full(10, 18.0))


def test_nothing_better_stays_with_a_gain_of_nothing() -> None:
    found = decide(STAY, [_seen(_choice(INSIDE), np.full(10, 17.9))], "score")
    assert found.compared is STAY
    assert (found.mean, found.low, found.high) == (0.0, 0.0, 0.0)


def test_a_sure_gain_beyond_its_cost_moves() -> None:
    better = _seen(_choice(INSIDE), np.full(10, 18.0 + cost_of_change(_choice(), _choice(INSIDE)) + 0.01))
    assert decide(STAY, [better], "score").compared is better


def test_a_sure_gain_below_its_cost_stays() -> None:
    better = _seen(_choice(INSIDE), np.full(10, 18.0 + COSTS.move))
    assert decide(STAY, [better], "score").compared is STAY


def test_a_large_gain_in_too_few_worlds_stays() -> None:
    hopeful = np.full(10, 22.0)
    hopeful[:3] = 17.0
    assert decide(STAY, [_seen(_choice(INSIDE), hopeful)], "score").compared is STAY
    hopeful[2] = 22.0
    assert decide(STAY, [_seen(_choice(INSIDE), hopeful)], "score").compared is not STAY


def test_a_larger_move_must_bring_more_than_a_small_one() -> None:
    far = _choice(Line(laydown_board=30.0, target_board=18.0))
    small, large = cost_of_change(_choice(), _choice(INSIDE)), cost_of_change(_choice(), far)
    assert large == pytest.approx(small + 12.0 * COSTS.per_board)  # ten and five beside two and one
    assert cost_of_change(_choice(), _choice()) == 0.0
    gain = np.full(10, 18.0 + 0.5 * (small + large))
    assert decide(STAY, [_seen(far, gain)], "score").compared is STAY
    assert decide(STAY, [_seen(_choice(INSIDE), gain)], "score").compared is not STAY


def test_of_two_moves_that_bring_as_much_the_smaller_is_advised() -> None:
    near, far = _choice(INSIDE), _choice(Line(laydown_board=26.0, target_board=16.0))
    better = np.full(10, 20.0)
    found = decide(STAY, [_seen(far, better + 0.1), _seen(near, better)], "score")
    assert found.compared.candidate == near


def test_a_change_must_pay_its_cost_in_enough_worlds_and_not_only_be_better_in_them() -> None:
    cost = cost_of_change(_choice(), _choice(INSIDE))
    hopeful = np.full(10, 18.0 + 0.5 * cost)
    hopeful[:5] = 21.0
    found = ranked(STAY, [_seen(_choice(INSIDE), hopeful)], "score")[0]
    assert found.chance == 1.0 and found.mean > cost
    assert found.chance_pays == 0.5 and not found.wins


def test_a_ball_change_must_win_by_more_than_a_move() -> None:
    gain = np.full(10, 18.0 + COSTS.move + 0.15)
    assert decide(STAY, [_seen(_choice(INSIDE), gain)], "score").compared is not STAY
    assert decide(STAY, [_seen(_choice(INSIDE, "2"), gain)], "score").compared is STAY


def test_the_objective_chooses_which_value_counts() -> None:
    safe = _seen(_choice(INSIDE), np.full(10, 17.5), worst=np.full(10, 20.0))
    assert decide(STAY, [safe], "score").compared is STAY
    assert decide(STAY, [safe], "floor").compared is safe


def test_a_ball_that_may_not_be_thrown_is_changed_even_at_a_loss() -> None:
    other = _seen(_choice(HERE, "2"), np.full(10, 17.0))
    assert decide(STAY, [other], "score", must_change=True).compared is other


def test_equal_choices_are_ordered_by_content_and_not_by_listing() -> None:
    one, two = (
        _seen(_choice(INSIDE), np.full(10, 19.0)),
        _seen(_choice(Line(laydown_board=18.0, target_board=12.0)), np.full(10, 19.0)),
    )
    first = [gain.compared.candidate for gain in ranked(STAY, [one, two], "score")]
    second = [gain.compared.candidate for gain in ranked(STAY, [two, one], "score")]
    assert first == second


def test_words_for_the_action() -> None:
    assert action_between(_choice(), _choice()) == "stay"
    assert action_between(_choice(), _choice(INSIDE)) == "move"
    assert action_between(_choice(), _choice(INSIDE, "2")) == "change ball"


@pytest.mark.parametrize(
    ("offset", "words"),
    [(2.5, "in the pocket"), (0.5, "2 boards high"), (3.5, "1 board light"), (1.0, "1.5 boards high")],
)
def test_where_a_line_arrives_in_words(offset: float, words: str) -> None:
    assert arrival(offset) == words


def test_moves_in_words() -> None:
    assert move_words(2.0, -1.0) == "feet 2 boards inside, target 1 board outside"
    assert move_words(0.0, 0.5) == "feet the same, target 0.5 boards inside"


def test_a_headline_names_feet_and_target_of_this_bowler() -> None:
    text = headline("move", _choice(), _choice(INSIDE), "Kestrel", 6.0)
    assert text == "Move feet 2 boards inside, target 1 board inside (feet 28, target 14)."
    assert headline("stay", _choice(), _choice(), "Kestrel", 6.0) == "Stay: Kestrel, same line."
