"""How many pins fell, and nothing else: what a typed game says to the belief."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.interpolate import RegularGridInterpolator
from scipy.stats import norm

from motion.advice_types import AdviceRequest, LoggedShot
from motion.belief import Layout, Worlds, prior_worlds
from motion.evidence import (
    MODEL_OFFSET_SD,
    PIN_TRUST,
    SHARED_ERROR,
    Predicted,
    Unknowns,
    gather,
    offset_scatter,
    predict,
    weigh,
)
from motion.inputs import Line
from motion.leaves import mask_of
from motion.outcomes import frame_table
from motion.pocket import in_pocket
from motion.rack_table import rack_table
from motion.replay import replay
from motion.sites import GRID_BOARDS, Sites
from tests.motion.advice_cases import logged, other_hand, request_on

LIGHT = Line(laydown_board=21.0, target_board=14.5)  # arrives light in the central world
POCKET = Line(laydown_board=18.5, target_board=12.5)  # arrives near the pocket there


def counted(line: Line, *counts: int) -> tuple[LoggedShot, ...]:
    return tuple(logged("5", line, None, 0, pins_fallen=count) for count in counts)


def weighed(line: Line, shots: tuple[LoggedShot, ...]) -> tuple[AdviceRequest, Worlds]:
    request = request_on(line, shots=shots)
    histories = {"5": replay(request.lanes[0])}
    return request, weigh(Layout(request), gather(shots, histories), frame_table(request.spares))


def arrivals(request: AdviceRequest, worlds: Worlds, line: Line) -> Predicted:
    shot = logged("5", line, 0.0, 0)
    return predict(Unknowns.in_worlds(worlds, shot), shot, replay(request.lanes[0]).now)


def believed_offset(line: Line, shots: tuple[LoggedShot, ...]) -> float:
    request, worlds = weighed(line, shots)
    return float(worlds.weight @ arrivals(request, worlds, line).offset_boards)


def believed_pocket(line: Line, shots: tuple[LoggedShot, ...]) -> float:
    request, worlds = weighed(line, shots)
    seen = arrivals(request, worlds, line)
    return float(worlds.weight @ in_pocket(seen.offset_boards, seen.entry_angle_deg))


def test_counts_sum_to_one_everywhere_and_a_strike_is_ten() -> None:
    rack = rack_table()
    assert rack.fallen.shape == (*rack.share.shape[:2], 11)
    assert np.allclose(rack.fallen.sum(axis=2), 1.0, rtol=0.0, atol=1e-12)
    assert np.allclose(rack.fallen[:, :, 10], rack.share[:, :, 0], rtol=0.0, atol=1e-12)
    nines = sum(rack.share[:, :, 1 << pin] for pin in range(10))
    assert np.allclose(rack.fallen[:, :, 9], nines, rtol=0.0, atol=1e-12)


def test_the_chances_of_all_counts_sum_to_one_where_arrivals_scatter() -> None:
    table = frame_table(request_on(LIGHT).spares)
    offset, angle = np.array([-9.3, 0.4, 2.6, 7.7]), np.array([2.2, 4.9, 5.5, 3.1])
    total = sum(table.likelihood(table.of_count(count), offset, angle, 1.6) for count in range(11))
    assert np.allclose(total, 1.0, rtol=0.0, atol=1e-12)


def test_low_counts_move_what_is_believed_away_from_the_pocket_and_strikes_toward_it() -> None:
    before = believed_pocket(POCKET, ())
    low = counted(POCKET, *([7, 8, 6, 7, 9, 8, 7, 6, 10, 8] * 3))
    good = counted(POCKET, *([10, 9, 10, 10, 8, 10, 9, 10, 10, 10] * 3))
    assert believed_pocket(POCKET, low) < 0.6 * before
    assert believed_pocket(POCKET, good) > 1.3 * before


def test_strikes_and_the_rest_together_say_less_than_the_strikes_alone() -> None:
    strikes = believed_offset(LIGHT, counted(LIGHT, *[10] * 4))
    whole = believed_offset(LIGHT, counted(LIGHT, *[10] * 4, *[7] * 6))
    assert whole > strikes + 1.0


@pytest.mark.parametrize(
    ("left", "sign"), [(mask_of(()), -1.0), (mask_of((1, 2, 10)), 1.0), (mask_of((1, 2, 4, 10)), 1.0)]
)
def test_a_leave_and_its_bare_count_agree_in_direction(left: int, sign: float) -> None:
    # From a line that arrives light: strikes say less light than thought, washouts lighter still.
    before = believed_offset(LIGHT, ())
    whole = tuple(logged("5", LIGHT, None, 0, pins_left=left) for _ in range(6))
    bare = counted(LIGHT, *[10 - left.bit_count()] * 6)
    assert sign * (believed_offset(LIGHT, whole) - before) > 0.5
    assert sign * (believed_offset(LIGHT, bare) - before) > 0.5


def test_a_strike_says_the_same_by_its_pins_and_by_its_count() -> None:
    by_pins = believed_offset(LIGHT, tuple(logged("5", LIGHT, None, 0, pins_left=0) for _ in range(5)))
    assert believed_offset(LIGHT, counted(LIGHT, *[10] * 5)) == pytest.approx(by_pins, abs=1e-9)


def test_where_the_leave_is_known_its_count_adds_nothing() -> None:
    left = mask_of((3, 6, 10))
    with_count = tuple(logged("5", LIGHT, None, 0, pins_left=left, pins_fallen=7) for _ in range(3))
    without = tuple(replace(shot, pins_fallen=None) for shot in with_count)
    assert believed_offset(LIGHT, with_count) == believed_offset(LIGHT, without)


def test_where_the_hit_was_read_the_count_adds_nothing() -> None:
    read = tuple(logged("5", LIGHT, 4.0, 0) for _ in range(3))
    both = tuple(replace(shot, pins_fallen=6) for shot in read)
    assert believed_offset(LIGHT, both) == believed_offset(LIGHT, read)


def test_a_count_without_a_line_or_on_an_unknown_film_is_no_evidence() -> None:
    (shot,) = counted(LIGHT, 8)
    history = replay(request_on(LIGHT).lanes[0])
    assert gather((replace(shot, line=None),), {"5": history}) == []
    assert gather((shot,), {}) == []
    assert len(gather((shot,), {"5": history})) == 1


def test_one_ball_gone_wrong_hardly_moves_the_lane() -> None:
    good = (10, 9, 10, 9, 10, 8, 10, 9, 10, 10)
    calm = believed_offset(POCKET, counted(POCKET, *good))
    for count in (0, 1, 3):
        assert believed_offset(POCKET, counted(POCKET, *good, count)) == pytest.approx(calm, abs=0.5)


@pytest.mark.parametrize(
    "counts", [(10, 9, 10, 8, 10, 9, 10, 10), (7, 8, 6, 9, 7, 8, 7, 10), (7, 8, 9, 10) * 5, (8, 9) * 6]
)
def test_drawn_worlds_believe_what_the_prior_weighed_by_the_counts_does(counts: tuple[int, ...]) -> None:
    """Reference: Bayes' rule on plain prior worlds, shares summed by mask and interpolated by SciPy.

    The smoothing is integrated on a fine grid here, the scatter taken from the one published function.
    """
    shots = counted(LIGHT, *counts)
    request, worlds = weighed(LIGHT, shots)
    assert worlds.effective > 0.5 * worlds.count
    offset = arrivals(request, worlds, LIGHT).offset_boards
    mean = float(worlds.weight @ offset)
    sd = float(np.sqrt(worlds.weight @ (offset - mean) ** 2))

    plain = prior_worlds(Layout(request), 4000)
    seen = arrivals(request, plain, LIGHT)
    spread = np.hypot(offset_scatter(shots[0], replay(request.lanes[0]).now), MODEL_OFFSET_SD)
    steps = np.linspace(-2.25, 2.25, 46)
    weights = norm.pdf(steps) / norm.pdf(steps).sum()
    rack = rack_table()
    log_weight = np.zeros(plain.count)
    for count in counts:
        masks = [mask for mask in range(1024) if 10 - mask.bit_count() == count]
        share = RegularGridInterpolator(
            (rack.offset_boards, rack.entry_angle_deg), rack.share[:, :, masks].sum(axis=2)
        )
        places = np.clip(seen.offset_boards[:, None] + spread * steps, -16.0, 16.0)
        angles = np.broadcast_to(np.clip(seen.entry_angle_deg, 0.0, 10.0)[:, None], places.shape)
        likely = share(np.stack([places, angles], axis=-1)) @ weights
        usual = share(np.stack([2.5 + 2.0 * steps, np.full(46, 5.0)], axis=-1)) @ weights + 0.01
        log_weight += np.log(PIN_TRUST * likely + (1.0 - PIN_TRUST) * usual)
    log_weight /= 1.0 + SHARED_ERROR * (len(counts) - 1)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    plain_mean = float(weight @ seen.offset_boards)
    assert mean == pytest.approx(plain_mean, abs=0.2)
    plain_sd = float(np.sqrt(weight @ (seen.offset_boards - plain_mean) ** 2))
    assert sd == pytest.approx(plain_sd, rel=0.1)


def test_the_order_of_the_counts_changes_nothing_and_undoing_one_restores_every_bit() -> None:
    shots = counted(LIGHT, 10, 7, 9, 8, 6, 10)
    _, worlds = weighed(LIGHT, shots)
    _, shuffled = weighed(LIGHT, (*shots[3:], *shots[:3][::-1]))
    assert np.allclose(shuffled.weight, worlds.weight, rtol=1e-6)
    assert np.allclose(shuffled.log_friction["5"], worlds.log_friction["5"], rtol=0.0, atol=1e-8)
    _, more = weighed(LIGHT, (*shots, *counted(LIGHT, 6)))
    assert not np.array_equal(more.weight, worlds.weight)
    _, again = weighed(LIGHT, (*shots, *counted(LIGHT, 6))[:-1])
    assert np.array_equal(again.weight, worlds.weight)
    assert np.array_equal(again.log_friction["5"], worlds.log_friction["5"])


def test_a_count_is_part_of_the_question() -> None:
    one, other = (request_on(LIGHT, shots=counted(LIGHT, count)).digest() for count in (7, 8))
    assert one != other


def test_mirrored_counts_ask_the_mirrored_question() -> None:
    request = request_on(LIGHT, shots=counted(LIGHT, 7, 9))
    assert [(shot.hand, shot.pins_fallen) for shot in other_hand(request).shots] == [("left", 7), ("left", 9)]


# --- the normal stand-ins -------------------------------------------------------------------------


def test_stand_ins_of_normal_evidence_are_that_evidence() -> None:
    # Conjugate normal, d = 2: precision = prior + sum g g' / s^2, and pull alike.
    middle, noise = np.array([1.0, -2.0, 3.5]), np.array([1.2, 0.9, 2.0])
    slope, offset = np.array([[1.0, 0.0], [0.6, 0.8], [1.0, -0.5]]), np.array([0.2, 0.0, -0.4])
    log_likelihood = norm.logpdf(GRID_BOARDS, middle[:, None], noise[:, None])
    sites = Sites(3)
    for _ in range(3):
        precision, pull = sites.settle(log_likelihood, offset, slope, np.eye(2), np.zeros(2))
    exact = np.eye(2) + (slope.T / noise**2) @ slope
    assert np.allclose(precision, exact, rtol=2e-3)
    assert np.allclose(pull, slope.T @ ((middle - offset) / noise**2), rtol=5e-3, atol=2e-3)


def test_the_stand_in_of_evidence_with_two_peaks_has_its_mean_and_variance() -> None:
    # Against adaptive quadrature of the same product (scipy.integrate.quad).
    def likelihood(at: float) -> float:
        return 0.3 * norm.pdf(at, -2.0, 0.8) + 0.7 * norm.pdf(at, 3.0, 1.0)

    def moment(power: int) -> float:
        found = quad(lambda at: at**power * likelihood(at) * norm.pdf(at, 0.5, 2.5), -15.0, 15.0, limit=200)
        return float(found[0])

    mean = moment(1) / moment(0)
    variance = moment(2) / moment(0) - mean**2
    log_likelihood = np.log([[likelihood(at) for at in GRID_BOARDS]])
    sites = Sites(1)
    for _ in range(3):
        precision, pull = sites.settle(
            log_likelihood, np.array([0.5]), np.array([[2.5]]), np.eye(1), np.zeros(1)
        )
    move = pull[0] / precision[0, 0]
    assert 0.5 + 2.5 * move == pytest.approx(mean, abs=0.01)
    assert 2.5**2 / precision[0, 0] == pytest.approx(variance, rel=0.01)
