"""Discs in plan: one ball and up to ten pins, impact by impact. Lengths in metres, times in seconds.

x points to the right, y down the lane, the origin is the head pin's spot. Body 0 is the ball, body n is pin
n.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from motion.errors import FloatArray
from motion.kernels.jit import kernel

STANDING, MOVING, GONE = 0, 1, 2

# Order of the numbers in `physics`.
(
    BALL_MASS,
    PIN_MASS,
    BALL_RADIUS,
    PIN_RADIUS,
    RESTITUTION_BALL,
    RESTITUTION_PIN,
    TOPPLE_SPEED,
    DECK_FRICTION,
    PIN_DRAG,
    WALL_X,
    WALL_RESTITUTION,
    EDGE_X,
    PIT_Y,
    BALL_INERTIA,
    GRAVITY,
) = range(15)
PHYSICS_SIZE = 15

# Columns of one sample's jitter: pin spots x, pin spots y, reach of each pin once moving.
JITTER_SIZE = 30

_LONGEST_STEP_S = 0.004
_END_S = 1.6
_MOST_STEPS = 1500


@kernel
def impact(
    xa: float,
    ya: float,
    vxa: float,
    vya: float,
    mass_a: float,
    xb: float,
    yb: float,
    vxb: float,
    vyb: float,
    mass_b: float,
    restitution: float,
) -> tuple[float, float, float, float]:
    """Velocities after a frictionless impact along the line of centres; momentum is conserved."""
    nx = xb - xa
    ny = yb - ya
    length = math.sqrt(nx * nx + ny * ny)
    nx /= length
    ny /= length
    closing = (vxa - vxb) * nx + (vya - vyb) * ny
    impulse = (1.0 + restitution) * closing * mass_a * mass_b / (mass_a + mass_b)
    return (
        vxa - impulse * nx / mass_a,
        vya - impulse * ny / mass_a,
        vxb + impulse * nx / mass_b,
        vyb + impulse * ny / mass_b,
    )


@kernel
def time_to_touch(dx: float, dy: float, dvx: float, dvy: float, reach: float) -> float:
    """Time until two discs at relative place (dx, dy) and velocity touch at that distance; inf for never."""
    approach = dx * dvx + dy * dvy
    if approach >= 0.0:
        return math.inf
    speed2 = dvx * dvx + dvy * dvy
    gap2 = dx * dx + dy * dy - reach * reach
    if gap2 <= 0.0:
        return 0.0
    root = approach * approach - speed2 * gap2
    if root < 0.0:
        return math.inf
    return gap2 / (-approach + math.sqrt(root))


@kernel
def roll_rack(
    standing: int,
    start_x: float,
    start_y: float,
    vx: float,
    vy: float,
    spots: FloatArray,
    physics: FloatArray,
    jitter: FloatArray,
    events: FloatArray,
) -> int:
    """Pins left standing (mask) after one ball. events (n, 12) is filled with the first n impacts.

    Row: time, body a, body b, velocities before (ax, ay, bx, by), after (ax, ay, bx, by), and 1 if b toppled.
    Rows not used keep what they held.
    """
    x = np.zeros(11)
    y = np.zeros(11)
    u = np.zeros(11)
    w = np.zeros(11)
    state = np.full(11, GONE)
    x[0] = start_x
    y[0] = start_y
    u[0] = vx
    w[0] = vy
    state[0] = MOVING
    # The ball reaches the pins rolling: its surface speed is its speed, until impacts part the two.
    roll_x = vx
    roll_y = vy
    for pin in range(1, 11):
        if standing & (1 << (pin - 1)):
            state[pin] = STANDING
            x[pin] = spots[pin - 1, 0] + jitter[pin - 1]
            y[pin] = spots[pin - 1, 1] + jitter[9 + pin]
    unlogged = np.zeros(12)
    clock = 0.0
    logged = 0
    # The count ends it if impacts pile up without time passing (inelastic collapse of several pins).
    for _ in range(_MOST_STEPS):
        if clock > _END_S:
            break
        step, first, second = _next_meeting(x, y, u, w, state, physics, jitter)
        for body in range(11):
            if state[body] == MOVING:
                x[body] += u[body] * step
                y[body] += w[body] * step
        clock += step
        _drag(u, w, state, step, physics)
        roll_x, roll_y = _drive(u, w, state, step, physics, roll_x, roll_y)
        if first >= 0:
            event = events[logged] if logged < events.shape[0] else unlogged
            event[0] = clock
            _meet(first, second, x, y, u, w, state, physics, event)
            logged += 1
        if not _still_busy(x, y, u, w, state, physics):
            break
    left = 0
    for pin in range(1, 11):
        if state[pin] == STANDING:
            left |= 1 << (pin - 1)
    return left


@kernel
def _next_meeting(
    x: FloatArray,
    y: FloatArray,
    u: FloatArray,
    w: FloatArray,
    state: NDArray[np.int64],
    physics: FloatArray,
    jitter: FloatArray,
) -> tuple[float, int, int]:
    """Time to the next impact and its two bodies; the longest step and -1, -1 where none comes within it."""
    step = _LONGEST_STEP_S
    first = -1
    second = -1
    for a in range(11):
        if state[a] != MOVING:
            continue
        for b in range(1, 11):
            # A pair of moving bodies is looked at once, from its lower number.
            if b == a or state[b] == GONE or (state[b] == MOVING and b < a):
                continue
            if a == 0:
                reach = physics[BALL_RADIUS] + physics[PIN_RADIUS]
            elif state[b] == STANDING:
                reach = physics[PIN_RADIUS] + jitter[19 + a]
            else:
                reach = 2.0 * physics[PIN_RADIUS]
            dx = x[b] - x[a]
            dy = y[b] - y[a]
            # A cheap bound first: most pairs are too far apart to meet within one step.
            far = reach + step * (abs(u[b] - u[a]) + abs(w[b] - w[a]))
            if dx * dx + dy * dy > far * far:
                continue
            wait = time_to_touch(dx, dy, u[b] - u[a], w[b] - w[a], reach)
            if wait < step:
                step = wait
                first = a
                second = b
    return step, first, second


@kernel
def _meet(
    first: int,
    second: int,
    x: FloatArray,
    y: FloatArray,
    u: FloatArray,
    w: FloatArray,
    state: NDArray[np.int64],
    physics: FloatArray,
    event: FloatArray,
) -> None:
    """One impact: velocities after it, whether the second body topples, and the row of events filled."""
    mass_a = physics[BALL_MASS] if first == 0 else physics[PIN_MASS]
    restitution = physics[RESTITUTION_BALL] if first == 0 else physics[RESTITUTION_PIN]
    after = impact(
        x[first], y[first], u[first], w[first], mass_a,
        x[second], y[second], u[second], w[second], physics[PIN_MASS], restitution,
    )  # fmt: skip
    topples = 1.0
    if first > 0 and state[second] == STANDING:
        speed = math.sqrt(after[2] * after[2] + after[3] * after[3])
        if speed < physics[TOPPLE_SPEED]:
            # Too slow to tip it: the pin rocks and stays, and the deck takes the momentum.
            topples = 0.0
            after = impact(
                x[first], y[first], u[first], w[first], mass_a,
                x[second], y[second], 0.0, 0.0, 1e9, restitution,
            )  # fmt: skip
    event[1], event[2] = first, second
    event[3], event[4], event[5], event[6] = u[first], w[first], u[second], w[second]
    event[7], event[8], event[9], event[10] = after
    event[11] = topples
    u[first] = after[0]
    w[first] = after[1]
    if topples == 1.0:
        state[second] = MOVING
        u[second] = after[2]
        w[second] = after[3]


@kernel
def _still_busy(
    x: FloatArray,
    y: FloatArray,
    u: FloatArray,
    w: FloatArray,
    state: NDArray[np.int64],
    physics: FloatArray,
) -> bool:
    """Take away what has left the deck, bounce pins from the kickbacks; whether anything still moves."""
    wall = physics[WALL_X] - physics[PIN_RADIUS]
    busy = False
    for body in range(11):
        if state[body] != MOVING:
            continue
        if y[body] > physics[PIT_Y] or (body == 0 and abs(x[0]) > physics[EDGE_X]):
            state[body] = GONE
            continue
        if body > 0 and abs(x[body]) > wall and u[body] * x[body] > 0.0:
            u[body] = -physics[WALL_RESTITUTION] * u[body]
        if body > 0 and y[body] < -0.6:
            state[body] = GONE
            continue
        if abs(u[body]) + abs(w[body]) > 0.02:
            busy = True
    return busy


@kernel
def _drag(u: FloatArray, w: FloatArray, state: NDArray[np.int64], step: float, physics: FloatArray) -> None:
    """Moving pins lose speed to the deck."""
    lost = physics[PIN_DRAG] * physics[GRAVITY] * step
    for pin in range(1, 11):
        if state[pin] != MOVING:
            continue
        speed = math.sqrt(u[pin] * u[pin] + w[pin] * w[pin])
        keep = 1.0 - lost / speed if speed > lost else 0.0
        u[pin] *= keep
        w[pin] *= keep


@kernel
def _drive(
    u: FloatArray,
    w: FloatArray,
    state: NDArray[np.int64],
    step: float,
    physics: FloatArray,
    roll_x: float,
    roll_y: float,
) -> tuple[float, float]:
    """The ball's own roll drives it on after impacts slowed it: Coulomb friction on the slip of its foot."""
    if state[0] != MOVING:
        return roll_x, roll_y
    slip_x = u[0] - roll_x
    slip_y = w[0] - roll_y
    slip = math.sqrt(slip_x * slip_x + slip_y * slip_y)
    if slip < 1e-9:
        return roll_x, roll_y
    gained = physics[DECK_FRICTION] * physics[GRAVITY] * step
    # Slip dies at (1 + 1/k) mu g (reference problem, k = (RG/R)^2); never past rolling.
    share = min(1.0, gained * (1.0 + 1.0 / physics[BALL_INERTIA]) / slip)
    rate = share / (1.0 + 1.0 / physics[BALL_INERTIA])
    u[0] -= rate * slip_x
    w[0] -= rate * slip_y
    spin = rate / physics[BALL_INERTIA]
    return roll_x + spin * slip_x, roll_y + spin * slip_y


@kernel
def roll_racks(
    standing: int,
    start_x: float,
    start_y: float,
    vx: float,
    vy: float,
    spots: FloatArray,
    physics: FloatArray,
    jitter: FloatArray,
) -> NDArray[np.int64]:
    """Pins left (masks) for each row of jitter (n, 30)."""
    nothing = np.zeros((0, 12))
    left = np.zeros(jitter.shape[0], dtype=np.int64)
    for sample in range(jitter.shape[0]):
        left[sample] = roll_rack(standing, start_x, start_y, vx, vy, spots, physics, jitter[sample], nothing)
    return left
