"""Friction between ball and lane from oil film, cover and surface: mixed lubrication.

    Lambda = film left in the contact / composite RMS roughness of ball and lane
    share  = 1 / (1 + (Lambda / lambda_half)^p)        load carried by solid contact, 1 dry, towards 0 in oil
    solid  = mu_dry(cover) (f + (1 - f) exp(-film / film_b))   oiled asperities slide more easily than dry
    ones mu     = share solid + (1 - share) mu_fluid

The film left is at most the film supplied; a thick film is squeezed down to what a soft, fully fed point
contact lets through (Hamrock & Dowson 1978, isoviscous-elastic regime, from memory). Both friction levels are
Coulomb, not viscous: experiment found that to fit better (UC Davis, found). Anchors: 0.2 dry is met by a
reactive cover; 0.04 in heavy oil gives way: along 40 ft it would bend an ordinary shot some 40 boards. A
strong rough ball has about 0.01 in the middle of a pattern and meets 0.04 near 4 to 5 units
(docs/physics.md).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from motion import units
from motion.errors import FloatArray, MotionError, numbers
from motion.film import FILM_MAX_UM
from motion.inputs import BallSpec, lane_map
from motion.parameters import Physics

DEFAULT_PHYSICS = Physics()


def flooded_film_um(
    physics: Physics = DEFAULT_PHYSICS, *, diameter_in: float = 8.55, weight_lb: float = 15.0
) -> float:
    """Thickness a fully fed contact lets through [um]: 7.43 R U^0.65 W^-0.21 (1 - 0.85 e^-0.31).

    U = viscosity x entrainment / (E' R), W = ball's weight as a load / (E' R^2), ellipticity 1. Source:
    module docstring.
    """
    radius = units.in_to_m(diameter_in) / 2.0
    modulus = physics.reduced_modulus_gpa * 1e9
    speed = physics.viscosity_mpas * 1e-3 * physics.entrainment_mps / (modulus * radius)
    load = units.lb_to_kg(weight_lb) * units.GRAVITY_MPS2 / (modulus * radius**2)
    metres: float = 7.43 * radius * speed**0.65 * load**-0.21 * (1.0 - 0.85 * math.exp(-0.31))
    return metres * 1e6


def film_left_um(
    film_um: FloatArray, ball: BallSpec | None = None, physics: Physics = DEFAULT_PHYSICS
) -> FloatArray:
    """Film left in the contact [um], same shape: the supplied film where thin, the flooded film where
    thick."""
    supplied = film_um * physics.film_scale
    if ball is None:
        limit = flooded_film_um(physics)
    else:
        limit = flooded_film_um(physics, diameter_in=ball.diameter_in, weight_lb=ball.weight_lb)
    n = physics.starvation_exponent
    result: FloatArray = supplied / (1.0 + (supplied / limit) ** n) ** (1.0 / n)
    return result


def mu_solid(ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> float:
    """Coefficient of friction of a cover on a dry lane [-]."""
    if ball.cover == "plastic":
        return physics.mu_solid_plastic
    if ball.cover == "urethane":
        return physics.mu_solid_urethane
    factor = {
        "reactive_solid": 1.0,
        "reactive_hybrid": (1.0 + physics.pearl_factor) / 2.0,
        "reactive_pearl": physics.pearl_factor,
    }
    return physics.mu_solid_reactive * factor[ball.cover]


def composite_roughness_um(ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> float:
    """Composite RMS roughness of ball and lane [um]: the root of the sum of their squares."""
    return math.hypot(ball.roughness_um * physics.rms_over_ra, physics.lane_roughness_um)


def _mu(film_um: FloatArray, ball: BallSpec, physics: Physics) -> FloatArray:
    ratio = film_left_um(film_um, ball, physics) / composite_roughness_um(ball, physics)
    share = 1.0 / (1.0 + (ratio / physics.lambda_half) ** physics.lambda_exponent)
    dry = mu_solid(ball, physics)
    oiled = physics.boundary_factor
    solid = dry * (oiled + (1.0 - oiled) * np.exp(-physics.film_scale * film_um / physics.boundary_film_um))
    mu = share * solid + (1.0 - share) * physics.mu_fluid
    result: FloatArray = np.minimum(mu * physics.friction_scale, 1.0)
    return result


def mu_map(film_um: FloatArray, ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> FloatArray:
    """Return the friction map (61, 39) [-] a ball meets on a film (61, 39) [um]; raises MotionError.

    Works node by node, so a mirrored film gives the mirrored map bit for bit. Equations: module docstring.
    """
    return _mu(lane_map("film_um", film_um, 0.0, FILM_MAX_UM, "um"), ball, physics)


def mu_curve(film_um: ArrayLike, ball: BallSpec, physics: Physics = DEFAULT_PHYSICS) -> FloatArray:
    """Return mu [-] at each film thickness (n,) [um], for plots of friction against film; raises
    MotionError."""
    film = np.atleast_1d(numbers("film_um", film_um, 0.0, FILM_MAX_UM, "um"))
    if film.ndim != 1:
        raise MotionError("film_um", f"{film.ndim} dimensions", "must have shape (n,)")
    return _mu(film, ball, physics)
