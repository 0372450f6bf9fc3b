"""Pins as a bitmask, and what the trade calls the pins left standing.

Pin n is bit n - 1, so a full rack is 0b11_1111_1111. Pins are numbered as on every score sheet: 1 at the
front, 7 to 10 from left to right at the back.
"""

from collections.abc import Iterable

from motion.errors import MotionError

FULL_RACK = 0b11_1111_1111
PINS = tuple(range(1, 11))

# Left-right neighbours swap; 1 and 5 stand on the centre line.
_MIRROR = {1: 1, 2: 3, 3: 2, 4: 6, 5: 5, 6: 4, 7: 10, 8: 9, 9: 8, 10: 7}

# The pins one step behind-left and behind-right of each pin.
_BEHIND = {1: (2, 3), 2: (4, 5), 3: (5, 6), 4: (7, 8), 5: (8, 9), 6: (9, 10)}
# Side by side in one row, and one straight behind the other (a double wood).
_SIDE_BY_SIDE = ((2, 3), (4, 5), (5, 6), (7, 8), (8, 9), (9, 10))
_DOUBLE_WOODS = ((1, 5), (2, 8), (3, 9))


def pin_bit(pin: int) -> int:
    """The bit of pin 1 to 10; raises MotionError for any other number."""
    if isinstance(pin, bool) or not isinstance(pin, int) or not 1 <= pin <= 10:
        raise MotionError("pin", pin, "a pin number from 1 to 10")
    return 1 << (pin - 1)


def check_mask(mask: int, field: str = "pins") -> int:
    """The mask itself when it is a set of pins (0 to 1023); raises MotionError otherwise."""
    if isinstance(mask, bool) or not isinstance(mask, int) or not 0 <= mask <= FULL_RACK:
        raise MotionError(field, mask, "a set of pins 1 to 10 (mask 0 to 1023)")
    return mask


def mask_of(pins: Iterable[int], field: str = "pins") -> int:
    """The mask of a collection of pin numbers; raises MotionError for a pin not in 1 to 10 or named twice."""
    mask = 0
    for pin in pins:
        bit = pin_bit(pin)
        if mask & bit:
            raise MotionError(field, pin, "each pin named once")
        mask |= bit
    return mask


def pins_of(mask: int) -> tuple[int, ...]:
    """The pin numbers in a mask, ascending; raises MotionError for a mask outside 0 to 1023."""
    check_mask(mask)
    return tuple(pin for pin in PINS if mask & pin_bit(pin))


def pin_count(mask: int) -> int:
    """How many pins are in a mask; raises MotionError for a mask outside 0 to 1023."""
    return check_mask(mask).bit_count()


def mirror(mask: int) -> int:
    """The same leave seen by the other hand (7 and 10 swap, 2 and 3 swap, ...)."""
    return mask_of(_MIRROR[pin] for pin in pins_of(mask))


def _neighbours() -> dict[int, int]:
    table = dict.fromkeys(PINS, 0)
    behind = [(front, back) for front, backs in _BEHIND.items() for back in backs]
    for a, b in (*behind, *_SIDE_BY_SIDE, *_DOUBLE_WOODS):
        table[a] |= pin_bit(b)
        table[b] |= pin_bit(a)
    return table


_NEIGHBOURS = _neighbours()


def _has_gap(mask: int) -> bool:
    """True when the standing pins fall into two or more groups that do not touch."""
    group = mask & -mask
    while True:
        grown = group
        for pin in pins_of(group):
            grown |= _NEIGHBOURS[pin] & mask
        if grown == group:
            return group != mask
        group = grown


def _pair_without_its_front_pin(mask: int) -> bool:
    """True when two pins stand side by side and the pin immediately ahead of both is down."""
    return any(
        not mask & pin_bit(front) and mask & pin_bit(left) and mask & pin_bit(right)
        for front, (left, right) in _BEHIND.items()
    )


def is_split(mask: int) -> bool:
    """True when the pins left by a first ball are a split.

    The head pin is down and a pin is down between two or more standing pins (7-9, 3-10), or immediately
    ahead of two or more standing pins (5-6). Status MEMORY for the rule's text; the wording "two or more
    non-adjacent groups" and the side-by-side pairs are FOUND-2 (Wikipedia "Split (bowling)" and a published
    list of named splits). The rule book in force decides.
    """
    check_mask(mask, "leave")
    if mask & 1 or mask.bit_count() < 2:
        return False
    return _has_gap(mask) or _pair_without_its_front_pin(mask)


def is_washout(mask: int) -> bool:
    """True when the head pin stands and the leave has a gap (1-2-10, 1-2-4-10, 1-3-7, 1-3-6-7)."""
    check_mask(mask, "leave")
    return bool(mask & 1) and _has_gap(mask)


def dashed(mask: int) -> str:
    """A leave in figures, as written on a score sheet ("3-6-10"); empty for no pins."""
    return "-".join(str(pin) for pin in pins_of(mask))


_DOUBLE_WOOD_MASKS = frozenset(mask_of(pair) for pair in _DOUBLE_WOODS)
_BUCKETS = frozenset((mask_of((2, 4, 5, 8)), mask_of((3, 5, 6, 9))))
_BABY_SPLITS = frozenset((mask_of((2, 7)), mask_of((3, 10))))


def leave_name(mask: int) -> str:
    """The trade's ordinary name of a leave: "strike", "10 pin", "3-9 double wood", "1-2-10 washout", ..."""
    check_mask(mask, "leave")
    figures = dashed(mask)
    if mask == 0:
        return "strike"
    if mask == FULL_RACK:
        return "full rack"
    if mask.bit_count() == 1:
        return f"{figures} pin"
    if mask in _DOUBLE_WOOD_MASKS:
        return f"{figures} double wood"
    if mask in _BUCKETS:
        return f"{figures} bucket"
    if mask in _BABY_SPLITS:
        return f"{figures} baby split"
    if is_split(mask):
        return f"{figures} split"
    if is_washout(mask):
        return f"{figures} washout"
    return figures


def is_corner_pin(mask: int) -> bool:
    """True when only the 7 pin or only the 10 pin stands."""
    return mask in (pin_bit(7), pin_bit(10))
