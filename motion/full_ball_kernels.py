"""Right-hand sides of the full rigid ball, and the oil its cover meets: floats and arrays in SI units only.

State (12,): 0-1 place [m] down-lane and away from the own gutter (0 at the gutter's edge); 2-3 velocity of
the centre [m/s]; 4-6 angular momentum per mass [m2/s] in the lane's frame; 7-10 quaternion body to lane
(w, x, y, z); 11 revolutions. Body axes are the principal ones, kk (3,) the squares of their radii of
gyration [m2].

Angular momentum is the variable because friction at the contact changes it and the velocity by one impulse:
l + R z x v stays constant to rounding, whatever the inertia. With K = diag(kk) seen from the lane,
omega = K^-1 l, and a force f per mass at the contact gives dv/dt = f, dl/dt = (-R z) x f.
"""

from __future__ import annotations

import math

import numpy as np

from motion.errors import FloatArray
from motion.kernels.jit import kernel
from motion.units import BOARD_M, FOOT_M, GRAVITY_MPS2

TWO_PI = 2.0 * math.pi
PATCHES = 24  # patches around one ring
# Columns of `rings` (m, 39): axis at its start and end (body), e1, e2 (longitude), sine latitudes, film (25).
RING_FIELDS = 14 + PATCHES + 1


@kernel
def body_to_lane(s: FloatArray, out: FloatArray) -> None:
    """Fill out (3, 3) with the rotation of the state's quaternion, normalised."""
    w, x, y, z = s[7], s[8], s[9], s[10]
    n = 2.0 / (w * w + x * x + y * y + z * z)
    out[0, 0], out[0, 1], out[0, 2] = 1 - n * (y * y + z * z), n * (x * y - w * z), n * (x * z + w * y)
    out[1, 0], out[1, 1], out[1, 2] = n * (x * y + w * z), 1 - n * (x * x + z * z), n * (y * z - w * x)
    out[2, 0], out[2, 1], out[2, 2] = n * (x * z - w * y), n * (y * z + w * x), 1 - n * (x * x + y * y)


@kernel
def inverse_inertia(turn: FloatArray, kk: FloatArray, out: FloatArray) -> None:
    """Fill out (3, 3) with K^-1 in the lane's frame."""
    for i in range(3):
        for j in range(3):
            out[i, j] = (
                turn[i, 0] * turn[j, 0] / kk[0]
                + turn[i, 1] * turn[j, 1] / kk[1]
                + turn[i, 2] * turn[j, 2] / kk[2]
            )


@kernel
def spin(s: FloatArray, inverse: FloatArray) -> tuple[float, float, float]:
    """Angular velocity [rad/s] in the lane's frame."""
    return (
        inverse[0, 0] * s[4] + inverse[0, 1] * s[5] + inverse[0, 2] * s[6],
        inverse[1, 0] * s[4] + inverse[1, 1] * s[5] + inverse[1, 2] * s[6],
        inverse[2, 0] * s[4] + inverse[2, 1] * s[5] + inverse[2, 2] * s[6],
    )


@kernel
def at_place(values: FloatArray, down_m: float, across_m: float) -> float:
    """A map (61, 39) read at a place: bilinear between nodes, constant beyond the outermost."""
    yy = min(max(down_m / FOOT_M, 0.0), 60.0)
    xx = min(max(across_m / BOARD_M - 0.5, 0.0), 38.0)
    i = min(int(yy), 59)
    j = min(int(xx), 37)
    fy = yy - i
    fx = xx - j
    near = values[i, j] * (1.0 - fx) + values[i, j + 1] * fx
    far = values[i + 1, j] * (1.0 - fx) + values[i + 1, j + 1] * fx
    value: float = near * (1.0 - fy) + far * fy
    return value


@kernel
def from_table(table: FloatArray, step: float, at: float) -> float:
    """A table read linearly at steps of `step` from 0, held at its end."""
    place = at / step
    low = min(int(place), table.shape[0] - 2)
    part = min(place - low, 1.0)
    value: float = table[low] + (table[low + 1] - table[low]) * part
    return value


@kernel
def filled(film_um: float, capacity_um: float, pickup: float) -> float:
    """Share of its free room a patch fills from a film on the lane: 1 - exp(-pickup film / capacity)."""
    return 1.0 - math.exp(-pickup * film_um / capacity_um)


@kernel
def after_pass(cover_um: float, fill: float, capacity_um: float, kept: float) -> float:
    """Film on a patch after it met the lane: what it kept, and its share of the room that leaves."""
    left = kept * cover_um
    return left + (capacity_um - left) * fill


@kernel
def met_film(film_um: float, cover_um: float, cover: FloatArray) -> float:
    """Film in the contact: the lane's, plus what a patch oilier than the neutral one brings and does not
    swallow.

    cover: start film [um], capacity [um], kept, pickup, given, neutral film [um], contact width [m], R [m].
    """
    extra = (cover_um - cover[5]) * (cover[4] + filled(film_um, cover[1], cover[3]))
    met: float = max(film_um + extra, 0.0)
    return met


@kernel
def cover_film(
    px: float, py: float, pz: float, part: float, rings: FloatArray, n_rings: int, cover: FloatArray
) -> float:
    """Film [um] on the cover at a body point: its history, pass by pass, over the rings laid so far.

    A ring is one revolution's track, a spiral about the spin axis that moves evenly from its place at the
    start of the revolution to that at its end. Two strips of the contact's width overlap by
    (1 - (d / width)^2)^2, d the distance between their middles on the sphere. part: how far the present
    revolution has come. Each earlier one passed here about one turn before the next, so longitudes are taken
    from one ring to the one before without a jump, and a ring goes on a little beyond its ends.
    """
    width, radius = cover[6], cover[7]
    places = np.empty(n_rings)
    apart = np.empty(n_rings)
    near = part
    for back in range(n_rings):
        m = n_rings - 1 - back
        ring = rings[m]
        # Near the ring an arc of latitude is the difference of the sines over the cosine.
        first = radius * (px * ring[0] + py * ring[1] + pz * ring[2] - ring[12])
        last = radius * (px * ring[3] + py * ring[4] + pz * ring[5] - ring[13])
        first /= math.sqrt(max(1.0 - ring[12] * ring[12], 0.01))
        last /= math.sqrt(max(1.0 - ring[13] * ring[13], 0.01))
        place = (
            math.atan2(
                px * ring[9] + py * ring[10] + pz * ring[11], px * ring[6] + py * ring[7] + pz * ring[8]
            )
            / TWO_PI
        )
        place += math.floor(near - place + 0.5)
        places[m] = place
        apart[m] = first + (last - first) * place
        if abs(apart[m]) < 0.5 * radius:
            near = place
    film: float = cover[0]
    for m in range(n_rings):
        if abs(apart[m]) < width:
            overlap = (1.0 - (apart[m] / width) ** 2) ** 2
            place = min(max(places[m], 0.0), 1.0) * PATCHES
            patch = min(int(place), PATCHES - 1)
            lane = rings[m, 14 + patch] + (rings[m, 15 + patch] - rings[m, 14 + patch]) * (place - patch)
            left = after_pass(film, filled(lane, cover[1], cover[3]), cover[1], cover[2])
            film += overlap * (left - film)
    return film


@kernel
def friction(
    s: FloatArray,
    turn: FloatArray,
    mu: FloatArray,
    film: FloatArray,
    table: FloatArray,
    table_step: float,
    rings: FloatArray,
    n_rings: int,
    cover: FloatArray,
) -> float:
    """Friction at the contact: the map's, changed by the cover's oil unless film is empty, (0, 0)."""
    value = at_place(mu, s[0], s[1])
    if film.shape[0] == 0:
        return value
    lane = at_place(film, s[0], s[1])
    on_patch = cover_film(-turn[2, 0], -turn[2, 1], -turn[2, 2], s[11] - n_rings, rings, n_rings, cover)
    changed = from_table(table, table_step, met_film(lane, on_patch, cover))
    return min(value * changed / from_table(table, table_step, lane), 1.0)


@kernel
def slip_of(s: FloatArray, kk: FloatArray, radius: float) -> tuple[float, float]:
    """Velocity of the contact point over the lane [m/s], v + omega x (-R z)."""
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    body_to_lane(s, turn)
    inverse_inertia(turn, kk, inverse)
    wx, wy, _ = spin(s, inverse)
    return s[2] - radius * wy, s[3] + radius * wx


@kernel
def put_rates(
    s: FloatArray, w: tuple[float, float, float], fx: float, fy: float, radius: float, out: FloatArray
) -> None:
    """Fill out (12,) with the state's rates under a force per mass (fx, fy) at the contact."""
    wx, wy, wz = w
    out[0], out[1], out[2], out[3] = s[2], s[3], fx, fy
    out[4], out[5], out[6] = radius * fy, -radius * fx, 0.0
    out[7] = 0.5 * (-wx * s[8] - wy * s[9] - wz * s[10])
    out[8] = 0.5 * (wx * s[7] + wy * s[10] - wz * s[9])
    out[9] = 0.5 * (wy * s[7] + wz * s[8] - wx * s[10])
    out[10] = 0.5 * (wz * s[7] + wx * s[9] - wy * s[8])
    out[11] = math.sqrt(wx * wx + wy * wy + wz * wz) / TWO_PI


@kernel
def contact_terms(
    s: FloatArray, inverse: FloatArray, w: tuple[float, float, float], radius: float, out: FloatArray
) -> None:
    """Fill out (5,) with du/dt = A f + b at the contact: Axx, Axy, Ayy, bx, by."""
    gx = w[1] * s[6] - w[2] * s[5]
    gy = w[2] * s[4] - w[0] * s[6]
    gz = w[0] * s[5] - w[1] * s[4]
    ax = -(inverse[0, 0] * gx + inverse[0, 1] * gy + inverse[0, 2] * gz)
    ay = -(inverse[1, 0] * gx + inverse[1, 1] * gy + inverse[1, 2] * gz)
    out[0] = 1.0 + radius * radius * inverse[1, 1]
    out[1] = -radius * radius * inverse[0, 1]
    out[2] = 1.0 + radius * radius * inverse[0, 0]
    out[3], out[4] = -radius * ay, radius * ax


@kernel
def rolling_force(s: FloatArray, kk: FloatArray, radius: float, terms: FloatArray) -> tuple[float, float]:
    """Force per mass that keeps the contact at rest; terms (5,) gets `contact_terms` of the place."""
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    body_to_lane(s, turn)
    inverse_inertia(turn, kk, inverse)
    contact_terms(s, inverse, spin(s, inverse), radius, terms)
    det = terms[0] * terms[2] - terms[1] * terms[1]
    return (
        -(terms[2] * terms[3] - terms[1] * terms[4]) / det,
        -(terms[0] * terms[4] - terms[1] * terms[3]) / det,
    )


@kernel
def friction_now(
    s: FloatArray,
    mu: FloatArray,
    film: FloatArray,
    table: FloatArray,
    table_step: float,
    rings: FloatArray,
    n_rings: int,
    cover: FloatArray,
) -> float:
    """`friction` where the orientation is only in the state."""
    turn = np.empty((3, 3))
    body_to_lane(s, turn)
    return friction(s, turn, mu, film, table, table_step, rings, n_rings, cover)


@kernel
def sliding_rates(
    s: FloatArray,
    kk: FloatArray,
    radius: float,
    mu: FloatArray,
    film: FloatArray,
    table: FloatArray,
    table_step: float,
    rings: FloatArray,
    n_rings: int,
    cover: FloatArray,
    out: FloatArray,
) -> None:
    """Rates of a sliding ball: f = -mu g u / |u|."""
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    body_to_lane(s, turn)
    inverse_inertia(turn, kk, inverse)
    w = spin(s, inverse)
    ux, uy = s[2] - radius * w[1], s[3] + radius * w[0]
    size = math.sqrt(ux * ux + uy * uy)
    fx, fy = 0.0, 0.0
    if size > 0.0:
        f = friction(s, turn, mu, film, table, table_step, rings, n_rings, cover) * GRAVITY_MPS2 / size
        fx, fy = -f * ux, -f * uy
    put_rates(s, w, fx, fy, radius, out)


@kernel
def rolling_rates(s: FloatArray, kk: FloatArray, radius: float, out: FloatArray) -> None:
    """Rates of a rolling ball: the force that keeps the contact at rest."""
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    terms = np.empty(5)
    body_to_lane(s, turn)
    inverse_inertia(turn, kk, inverse)
    fx, fy = rolling_force(s, kk, radius, terms)
    put_rates(s, spin(s, inverse), fx, fy, radius, out)


@kernel
def lay_ring(
    track: FloatArray, kk: FloatArray, film: FloatArray, cover: FloatArray, ring: FloatArray
) -> None:
    """Fill ring (39,) from the states (25, 12) at even steps of one revolution, as `cover_film` reads it."""
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    for end in range(2):
        s = track[end * PATCHES]
        body_to_lane(s, turn)
        inverse_inertia(turn, kk, inverse)
        wx, wy, wz = spin(s, inverse)
        size = max(math.sqrt(wx * wx + wy * wy + wz * wz), 1e-300)  # a ball may start without spin
        latitude = 0.0
        for i in range(3):
            ring[3 * end + i] = (turn[0, i] * wx + turn[1, i] * wy + turn[2, i] * wz) / size
            latitude -= turn[2, i] * ring[3 * end + i]
        ring[12 + end] = latitude
        if end == 0:
            # Longitude counts from the first contact the way the contact runs round the ball, -omega x p.
            length = 0.0
            for i in range(3):
                ring[6 + i] = -turn[2, i] - latitude * ring[i]
                length += ring[6 + i] ** 2
            for i in range(3):
                ring[6 + i] /= math.sqrt(max(length, 1e-300))
            for i in range(3):
                j, k = (i + 1) % 3, (i + 2) % 3
                ring[9 + i] = -(ring[j] * ring[6 + k] - ring[k] * ring[6 + j])
    for patch in range(PATCHES + 1):
        ring[14 + patch] = at_place(film, track[patch, 0], track[patch, 1])


@kernel
def fixed_step_march(
    s: FloatArray,
    kk: FloatArray,
    radius: float,
    mu: FloatArray,
    film: FloatArray,
    table: FloatArray,
    table_step: float,
    rings: FloatArray,
    cover: FloatArray,
    dt: float,
    creep: float,
    out: FloatArray,
) -> None:
    """The same ball by RK4 in steps of dt [s], for thousands of paths; s (12,) is used up.

    Below a slip of `creep` [m/s] friction falls in proportion, so rolling is a slow creep and needs no
    events; cover film is read once a step, from the first rings (m, 39) of revolutions, as many as there is
    room for. The fit and what is measured of it use this (script/fit_layout_effect.py). out (6,): board,
    direction [rad] and speed at 60 ft, lowest board and its feet, revolutions.
    """
    rates = np.empty(12)
    sums = np.empty(12)
    at = np.empty(12)
    turn = np.empty((3, 3))
    inverse = np.empty((3, 3))
    track = np.empty((PATCHES + 1, 12))
    track[0] = s
    noted, n_rings = 1, 0
    low, low_at = s[1], 0.0
    end = 60.0 * FOOT_M
    while s[0] < end and s[2] > 0.0:
        body_to_lane(s, turn)
        ratio = 1.0
        if film.shape[0] > 0:
            here = at_place(mu, s[0], s[1])
            if here > 0.0:
                ratio = friction(s, turn, mu, film, table, table_step, rings, n_rings, cover) / here
        h = min(dt, max((end - s[0]) / s[2], 1e-9))
        for stage in range(4):
            for i in range(12):
                back = 0.0 if stage == 0 else (h if stage == 3 else 0.5 * h)
                at[i] = s[i] + back * rates[i] if stage > 0 else s[i]
            body_to_lane(at, turn)
            inverse_inertia(turn, kk, inverse)
            w = spin(at, inverse)
            ux, uy = at[2] - radius * w[1], at[3] + radius * w[0]
            size = max(math.sqrt(ux * ux + uy * uy), creep)
            f = at_place(mu, at[0], at[1]) * ratio * GRAVITY_MPS2 / size
            put_rates(at, w, -f * ux, -f * uy, radius, rates)
            weight = 1.0 if stage == 0 or stage == 3 else 2.0
            for i in range(12):
                sums[i] = rates[i] if stage == 0 else sums[i] + weight * rates[i]
        for i in range(12):
            s[i] += h / 6.0 * sums[i]
        if s[1] < low:
            low, low_at = s[1], s[0]
        while n_rings < rings.shape[0] and s[11] * PATCHES >= n_rings * PATCHES + noted:
            track[noted] = s
            noted += 1
            if noted > PATCHES:
                if film.shape[0] > 0:
                    lay_ring(track, kk, film, cover, rings[n_rings])
                n_rings += 1
                track[0] = s
                noted = 1
    out[0] = s[1] / BOARD_M + 0.5
    out[1] = math.atan2(s[3], s[2])
    out[2] = math.sqrt(s[2] * s[2] + s[3] * s[3])
    out[3], out[4] = low / BOARD_M + 0.5, low_at / FOOT_M
    out[5] = s[11]
