"""Oil on the cover: bounds, limits and monotony of the assumed law; nothing published could be read."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion import full_ball_kernels as kernels
from motion.cover_state import TABLE_STEP_UM, after_wiping_um, cover_of, friction_table
from motion.errors import MotionError
from motion.friction import mu_curve
from motion.inputs import BallSpec
from motion.parameters import Physics


def ball(**changes):
    return BallSpec(**({"weight_lb": 15.0, "rg_in": 2.5, "roughness_um": 0.8} | changes))


def after(cover, film_um, cover_um):
    """Film on a patch after it met the lane, by the kernels."""
    packed = cover.numbers(0.1)
    return kernels.after_pass(cover_um, kernels.filled(film_um, packed[1], packed[3]), packed[1], packed[2])


def met(cover, film_um, cover_um):
    """Film in the contact, by the kernels."""
    return kernels.met_film(film_um, cover_um, cover.numbers(0.1))


@settings(max_examples=60, deadline=None)
@given(film=st.floats(0.0, 20.0), share=st.floats(0.0, 1.0), rough_um=st.floats(0.01, 5.0))
def test_a_patch_never_holds_less_than_nothing_or_more_than_it_can(film, share, rough_um):
    cover = cover_of(ball(roughness_um=rough_um))
    assert 0.0 <= after(cover, film, share * cover.capacity_um) <= cover.capacity_um * (1.0 + 1e-12)
    assert met(cover, film, share * cover.capacity_um) >= 0.0


@settings(max_examples=60, deadline=None)
@given(film=st.floats(0.0, 20.0), start=st.floats(0.0, 1.0))
def test_many_contacts_end_where_gain_and_loss_are_equal(film, start):
    """Fixed point of c' = kept c + (cap - kept c) E: c = cap E / (1 - kept (1 - E))."""
    cover = cover_of(ball())
    oil = start * cover.capacity_um
    for _ in range(400):
        oil = after(cover, film, oil)
    fill = 1.0 - np.exp(-cover.pickup * film / cover.capacity_um)
    assert oil == pytest.approx(cover.capacity_um * fill / (1.0 - cover.kept * (1.0 - fill)), abs=1e-9)


def test_a_neutral_patch_changes_nothing_a_clean_one_takes_film_and_an_oily_one_adds():
    cover = cover_of(ball())
    for film in (0.0, 0.5, 2.0, 5.0):
        assert met(cover, film, cover.neutral_um) == film
        assert met(cover, film, 0.0) <= film < met(cover, film, 2.0 * cover.neutral_um)


def test_a_rough_clean_cover_swallows_more_than_a_polished_one():
    taken = []
    for rough_um in (0.1, 0.4, 1.2):
        cover = cover_of(ball(roughness_um=rough_um))
        taken.append(3.0 - met(cover, 3.0, 0.0))
    assert 0.0 < taken[0] < taken[1] < taken[2]


def test_on_a_dry_lane_a_patch_only_loses_oil():
    cover = cover_of(ball())
    assert after(cover, 0.0, 0.3) == pytest.approx(0.3 * cover.kept)


def test_the_kernels_state_the_law_of_the_module():
    """The two equations written out again from the table of parameters, in plain Python."""
    physics = Physics()
    cover = cover_of(ball())
    capacity = physics.cover_capacity_per_ra * 0.8
    for film in (0.0, 0.3, 4.0):
        fill = 1.0 - math.exp(-physics.cover_pickup_share * film / capacity)
        assert float(cover.filled(np.array(film))) == pytest.approx(fill, abs=1e-15)
        for oil in (0.0, 0.2, 0.7):
            kept = physics.cover_kept_share * oil
            assert after(cover, film, oil) == pytest.approx(kept + (capacity - kept) * fill, abs=1e-15)
            brought = (oil - physics.cover_neutral_share * capacity) * (physics.cover_given_share + fill)
            assert met(cover, film, oil) == pytest.approx(max(film + brought, 0.0), abs=1e-15)


def ring_about(axis, width_m=0.25 * 0.0254, film=2.0):
    """A ring on the equator of an axis, laid by a ball that turns without precession."""
    ring = np.zeros((1, kernels.RING_FIELDS))
    first = np.cross(axis, [0.3, -0.5, 0.81])
    first /= np.linalg.norm(first)
    ring[0, 0:3] = ring[0, 3:6] = axis
    ring[0, 6:9], ring[0, 9:12] = first, -np.cross(axis, first)
    ring[0, 14:] = film
    return ring


def test_a_strip_is_oily_in_its_middle_and_clean_a_contact_width_away():
    axis, cover = np.array([0.6, 0.0, 0.8]), cover_of(ball(), start_um=0.0)
    packed, ring = cover.numbers(0.1086), ring_about(np.array([0.6, 0.0, 0.8]))
    fresh = after(cover, 2.0, 0.0)
    oil = []
    for apart_in in (0.0, 0.0625, 0.125, 0.1875, 0.25, 0.5):
        angle = apart_in * 0.0254 / 0.1086
        place = np.cos(angle) * ring[0, 6:9] + np.sin(angle) * axis
        oil.append(kernels.cover_film(*place, 0.0, ring, 1, packed))
    assert oil[0] == pytest.approx(fresh)
    assert all(a > b for a, b in itertools.pairwise(oil))
    assert oil[2] == pytest.approx(fresh * 0.75**2, rel=1e-3)  # (1 - (1/2)^2)^2 of it, half a width away
    assert oil[4:] == pytest.approx([0.0, 0.0], abs=1e-6)


def test_a_second_pass_over_the_same_strip_follows_the_law_of_one_patch():
    cover = cover_of(ball(), start_um=0.05)
    packed, one = cover.numbers(0.1086), ring_about(np.array([0.0, 0.0, 1.0]))
    two = np.concatenate([one, ring_about(np.array([0.0, 0.0, 1.0]), film=0.5)])
    once = after(cover, 2.0, 0.05)
    twice = after(cover, 0.5, once)
    assert kernels.cover_film(*one[0, 6:9], 0.0, two, 1, packed) == pytest.approx(once)
    assert kernels.cover_film(*one[0, 6:9], 0.0, two, 2, packed) == pytest.approx(twice)


def test_a_towel_takes_its_share_and_a_world_may_draw_beyond_what_a_share_can_be():
    assert after_wiping_um(0.4) == pytest.approx(0.4 * 0.3)
    wild = replace(Physics(), cover_wiped_share=1.4, cover_kept_share=1.2, cover_neutral_share=2.0)
    cover = cover_of(ball(), wild)
    assert (cover.start_um, cover.kept, cover.neutral_um) == (0.0, 1.0, cover.capacity_um)


def test_the_friction_table_is_the_friction_law():
    films = np.array([0.0, 0.1237, 1.9, 7.77, 20.0])
    table = friction_table(ball())
    read = np.interp(films, np.arange(len(table)) * TABLE_STEP_UM, table)
    np.testing.assert_allclose(read, mu_curve(films, ball()), atol=5e-6)


def test_a_bad_start_is_named():
    with pytest.raises(MotionError, match="start_um"):
        cover_of(ball(), start_um=float("nan"))
