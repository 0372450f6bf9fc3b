"""Ball and up to ten pins in plan, impact by impact. Lengths in metres, times in seconds.

x points to the right, y down the lane, the origin is the head pin's spot. Body 0 is the ball, body n is pin
n. The ball and a standing pin are discs. A struck pin tips over its base: in plan it is a rod with round ends
that grows out of its disc, base ahead, and sweeps what still stands. Between moving bodies only the discs
count. The equations are in docs/pins.md.
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
    # Lying down: how far the base end and the head end reach from the middle beyond the disc [m], rate of
    # tipping per speed given [rad/m] and of its own weight [rad/s], inertia upright and lying over mass [m2].
    BASE_REACH,
    HEAD_REACH,
    TIP_PER_SPEED,
    TIP_BY_WEIGHT,
    UPRIGHT_INERTIA,
    LYING_INERTIA,
) = range(21)
PHYSICS_SIZE = 21

# Columns of one sample's jitter: pin spots x, pin spots y, spin of each pin once struck [rad/s].
JITTER_SIZE = 30
# Columns of a traced impact: see roll_rack.
EVENT_SIZE = 14
# Columns of a pin's state as a rod: direction of its base end, spin, tipping rate, angle tipped so far.
HEADING, SPIN, TIP_RATE, TIPPED = 0, 1, 2, 3

_LONGEST_STEP_S = 0.004
_SHORTEST_STEP_S = 5e-5
_TOUCH_M = 1e-4
_END_S = 1.6
_MOST_STEPS = 4000


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
def rod_gap(
    dx: float, dy: float, heading: float, base: float, head: float, both_radii: float
) -> tuple[float, float, float, float]:
    """Gap between a rod and a disc at (dx, dy) from its middle, how far along the axis, and the normal."""
    along_x = math.cos(heading)
    along_y = math.sin(heading)
    place = dx * along_x + dy * along_y
    place = min(max(place, -head), base)
    nx = dx - place * along_x
    ny = dy - place * along_y
    length = math.sqrt(nx * nx + ny * ny)
    if length < 1e-9:
        # Dead on the axis, which only a rod that grew over a disc can be: any normal will do.
        return -both_radii, place, -along_y, along_x
    return length - both_radii, place, nx / length, ny / length


@kernel
def rod_impact(
    u: float,
    w: float,
    spin: float,
    inertia: float,
    arm: float,
    nx: float,
    ny: float,
    share: float,
    restitution: float,
) -> tuple[float, float, float, float, float]:
    """A rod's velocity and spin and a resting disc's velocity after a frictionless impact along (nx, ny).

    arm is the turning arm of that line about the rod's middle, inertia the rod's over its mass, share the
    rod's mass over the disc's (0 for a disc that does not give).
    """
    closing = u * nx + w * ny + spin * arm
    impulse = (1.0 + restitution) * closing / (1.0 + share + arm * arm / inertia)
    return (
        u - impulse * nx,
        w - impulse * ny,
        spin - impulse * arm / inertia,
        share * impulse * nx,
        share * impulse * ny,
    )


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
    """Pins left standing (mask) after one ball. events (n, 14) is filled with the first n impacts.

    Row: time, body a, body b, velocities before (ax, ay, bx, by), after (ax, ay, bx, by), 1 if b toppled,
    and twice the spin energy of a before and after. Rows not used keep what they held.
    """
    x = np.zeros(11)
    y = np.zeros(11)
    u = np.zeros(11)
    w = np.zeros(11)
    rod = np.zeros((11, 4))
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
    unlogged = np.zeros(EVENT_SIZE)
    clock = 0.0
    logged = 0
    # The count ends it if impacts pile up without time passing (inelastic collapse of several pins).
    for _ in range(_MOST_STEPS):
        if clock > _END_S:
            break
        step, first, second = _next_meeting(x, y, u, w, rod, state, physics)
        for body in range(11):
            if state[body] == MOVING:
                x[body] += u[body] * step
                y[body] += w[body] * step
                rod[body, HEADING] += rod[body, SPIN] * step
                rod[body, TIPPED] = min(rod[body, TIPPED] + rod[body, TIP_RATE] * step, 0.5 * math.pi)
        clock += step
        _drag(u, w, rod, state, step, physics)
        roll_x, roll_y = _drive(u, w, state, step, physics, roll_x, roll_y)
        if first >= 0:
            event = events[logged] if logged < events.shape[0] else unlogged
            event[0] = clock
            _meet(first, second, x, y, u, w, rod, state, physics, jitter, event)
            logged += 1
        if not _still_busy(x, y, u, w, state, physics):
            break
        # Where nothing stands the rest is only worth following for a trace.
        if first >= 0 and logged >= events.shape[0] and _left(state) == 0:
            break
    return _left(state)


@kernel
def _left(state: NDArray[np.int64]) -> int:
    """Mask of the pins that stand."""
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
    rod: FloatArray,
    state: NDArray[np.int64],
    physics: FloatArray,
) -> tuple[float, int, int]:
    """Time to the next impact and its two bodies; a shorter time and -1, -1 where none is sure to come."""
    step = _LONGEST_STEP_S
    first = -1
    second = -1
    longest = physics[HEAD_REACH]
    for a in range(11):
        if state[a] != MOVING:
            continue
        lying = math.sin(rod[a, TIPPED]) if longest > 0.0 else 0.0
        for b in range(1, 11):
            # A pair of moving bodies is looked at once, from its lower number.
            if b == a or state[b] == GONE or (state[b] == MOVING and b < a):
                continue
            swept = a > 0 and state[b] == STANDING and longest > 0.0
            touch = physics[PIN_RADIUS] + (physics[BALL_RADIUS] if a == 0 else physics[PIN_RADIUS])
            dx = x[b] - x[a]
            dy = y[b] - y[a]
            # A cheap bound first: most pairs are too far apart to meet within one step.
            far = touch + step * (abs(u[b] - u[a]) + abs(w[b] - w[a]))
            if swept:
                far += longest
            if dx * dx + dy * dy > far * far:
                continue
            if not swept:
                wait = time_to_touch(dx, dy, u[b] - u[a], w[b] - w[a], touch)
                if wait < step:
                    step = wait
                    first = a
                    second = b
                continue
            base = physics[BASE_REACH] * lying
            head = longest * lying
            gap, place, nx, ny = rod_gap(dx, dy, rod[a, HEADING], base, head, touch)
            if gap <= _TOUCH_M:
                arm = place * (math.cos(rod[a, HEADING]) * ny - math.sin(rod[a, HEADING]) * nx)
                if u[a] * nx + w[a] * ny + rod[a, SPIN] * arm > 1e-6:
                    step = 0.0
                    first = a
                    second = b
                continue
            # Nothing of the rod moves faster than this, so the gap cannot close sooner (but see the floor).
            turning = abs(rod[a, SPIN])
            if rod[a, TIPPED] < 0.5 * math.pi:
                turning += rod[a, TIP_RATE]
            speed = math.sqrt(u[a] * u[a] + w[a] * w[a]) + longest * turning
            wait = max(gap / (speed + 1e-9), _SHORTEST_STEP_S)
            if wait < step:
                step = wait
                first = -1
                second = -1
    return step, first, second


@kernel
def _meet(
    first: int,
    second: int,
    x: FloatArray,
    y: FloatArray,
    u: FloatArray,
    w: FloatArray,
    rod: FloatArray,
    state: NDArray[np.int64],
    physics: FloatArray,
    jitter: FloatArray,
    event: FloatArray,
) -> None:
    """One impact: velocities after it, whether the second body topples, and the row of events filled."""
    event[1], event[2] = first, second
    event[3], event[4], event[5], event[6] = u[first], w[first], u[second], w[second]
    event[12] = event[13] = 0.0
    mass_a = physics[BALL_MASS] if first == 0 else physics[PIN_MASS]
    restitution = physics[RESTITUTION_BALL] if first == 0 else physics[RESTITUTION_PIN]
    stood = state[second] == STANDING
    toppling = physics[TOPPLE_SPEED]
    topples = 1.0
    if first > 0 and stood and physics[HEAD_REACH] > 0.0:
        lying = math.sin(rod[first, TIPPED])
        heading = rod[first, HEADING]
        _, place, nx, ny = rod_gap(
            x[second] - x[first], y[second] - y[first], heading,
            physics[BASE_REACH] * lying, physics[HEAD_REACH] * lying, 2.0 * physics[PIN_RADIUS],
        )  # fmt: skip
        arm = place * (math.cos(heading) * ny - math.sin(heading) * nx)
        upright = physics[UPRIGHT_INERTIA]
        inertia = upright + (physics[LYING_INERTIA] - upright) * lying * lying
        spin = rod[first, SPIN]
        hit = rod_impact(u[first], w[first], spin, inertia, arm, nx, ny, 1.0, restitution)
        if math.sqrt(hit[3] * hit[3] + hit[4] * hit[4]) < toppling:
            topples = 0.0
            hit = rod_impact(u[first], w[first], spin, inertia, arm, nx, ny, 0.0, restitution)
        rod[first, SPIN] = hit[2]
        event[12] = physics[PIN_MASS] * inertia * spin * spin
        event[13] = physics[PIN_MASS] * inertia * hit[2] * hit[2]
        after = (hit[0], hit[1], hit[3], hit[4])
    else:
        after = impact(
            x[first], y[first], u[first], w[first], mass_a,
            x[second], y[second], u[second], w[second], physics[PIN_MASS], restitution,
        )  # fmt: skip
        if stood and math.sqrt(after[2] * after[2] + after[3] * after[3]) < toppling:
            # Too slow to tip it: the pin rocks and stays, and the deck takes the momentum.
            topples = 0.0
            after = impact(
                x[first], y[first], u[first], w[first], mass_a,
                x[second], y[second], 0.0, 0.0, 1e9, restitution,
            )  # fmt: skip
    event[7], event[8], event[9], event[10] = after
    event[11] = topples
    u[first] = after[0]
    w[first] = after[1]
    if topples == 1.0:
        u[second] = after[2]
        w[second] = after[3]
        if stood:
            state[second] = MOVING
            speed = math.sqrt(after[2] * after[2] + after[3] * after[3])
            rod[second, HEADING] = math.atan2(after[3], after[2])
            rod[second, SPIN] = jitter[19 + second]
            rod[second, TIP_RATE] = physics[TIP_PER_SPEED] * speed + physics[TIP_BY_WEIGHT]


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
def _drag(
    u: FloatArray,
    w: FloatArray,
    rod: FloatArray,
    state: NDArray[np.int64],
    step: float,
    physics: FloatArray,
) -> None:
    """Moving pins lose speed to the deck, and the same share of their spin."""
    lost = physics[PIN_DRAG] * physics[GRAVITY] * step
    for pin in range(1, 11):
        if state[pin] != MOVING:
            continue
        speed = math.sqrt(u[pin] * u[pin] + w[pin] * w[pin])
        keep = 1.0 - lost / speed if speed > lost else 0.0
        u[pin] *= keep
        w[pin] *= keep
        rod[pin, SPIN] *= keep


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
    nothing = np.zeros((0, EVENT_SIZE))
    left = np.zeros(jitter.shape[0], dtype=np.int64)
    for sample in range(jitter.shape[0]):
        left[sample] = roll_rack(standing, start_x, start_y, vx, vy, spots, physics, jitter[sample], nothing)
    return left
