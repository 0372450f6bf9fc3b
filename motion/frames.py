"""What was thrown: one frame's balls, checked against what a rack of ten allows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from motion.errors import MotionError
from motion.leaves import FULL_RACK, check_mask, dashed, is_split, mask_of, pin_count

Style = Literal["traditional", "current frame"]


@dataclass(frozen=True, slots=True)
class Frame:
    """The balls of one frame.

    throws: pins counted for each ball. fouls: indexes of balls that were fouls (they count 0, the pins are
    set again). splits: indexes of balls that left a split.
    """

    throws: tuple[int, ...]
    fouls: tuple[int, ...] = ()
    splits: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Throw:
    """One ball by its pins: the masks standing before it and left after it."""

    standing: int
    left: int
    foul: bool = False


FrameLike = Frame | Sequence[int]


def as_frame(frame: FrameLike) -> Frame:
    """A Frame from a Frame or from a plain sequence of counts."""
    return frame if isinstance(frame, Frame) else Frame(tuple(frame))


def check_game(frames: Iterable[FrameLike], style: Style = "traditional") -> tuple[Frame, ...]:
    """All frames of a game, possibly unfinished, checked; raises MotionError naming the frame that is wrong.

    Only the last frame may be unfinished.
    """
    game = tuple(as_frame(frame) for frame in frames)
    if len(game) > 10:
        raise MotionError("frame 11", "an eleventh frame", "a game has 10 frames")
    for number, frame in enumerate(game, start=1):
        _check_frame(frame, number, style)
        if number < len(game) and not is_frame_complete(frame, number, style):
            raise MotionError(
                f"frame {number}", list(frame.throws), "a finished frame before the next begins"
            )
    return game


def is_frame_complete(frame: Frame, number: int, style: Style = "traditional") -> bool:
    """True when a valid frame has had all its balls."""
    throws = frame.throws
    if not throws:
        return False
    if number == 10 and style == "traditional":
        return len(throws) == (3 if throws[0] == 10 or sum(throws[:2]) == 10 else 2)
    return throws[0] == 10 or len(throws) == 2


def pins_standing(frame: Frame, number: int, style: Style = "traditional") -> int:
    """How many pins the next ball of an unfinished frame finds; 0 when the frame is complete."""
    if is_frame_complete(frame, number, style):
        return 0
    return _standing_for(frame.throws)


def finds_new_rack(throws_before: tuple[int, ...]) -> bool:
    """True when the next ball of a frame is the first at its rack (not the second after a miss or a foul)."""
    return not throws_before or (_standing_for(throws_before) == 10 and throws_before[-1] != 0)


def _standing_for(throws: tuple[int, ...]) -> int:
    """Pins set for the next ball: a rack that has been cleared is set again (tenth frame only)."""
    standing = 10
    for pins in throws:
        standing = standing - pins or 10
    return standing


def _check_frame(frame: Frame, number: int, style: Style) -> None:
    field = f"frame {number}"
    most = 3 if number == 10 and style == "traditional" else 2
    for index, pins in enumerate(frame.throws):
        before = frame.throws[:index]
        if index == most or (before and is_frame_complete(Frame(before), number, style)):
            raise MotionError(field, list(frame.throws), _balls_allowed(number, style))
        standing = _standing_for(before)
        if isinstance(pins, bool) or not isinstance(pins, int) or not 0 <= pins <= standing:
            raise MotionError(f"{field}, ball {index + 1}", pins, f"0 to {standing} pins, as many as stand")
        if index in frame.fouls and pins:
            raise MotionError(f"{field}, ball {index + 1}", pins, "0 pins, because the ball was a foul")
    for name, indexes in (("foul", frame.fouls), ("split", frame.splits)):
        for index in indexes:
            if not 0 <= index < len(frame.throws):
                raise MotionError(field, f"{name} on ball {index + 1}", "a mark on a ball that was thrown")
    for index in frame.splits:
        if not finds_new_rack(frame.throws[:index]) or not 1 <= frame.throws[index] <= 8:
            value = f"split on ball {index + 1}"
            raise MotionError(field, value, "a split only on the first ball at a rack, with 1 to 8 pins down")


def _balls_allowed(number: int, style: Style) -> str:
    if number < 10:
        return "one ball for a strike, otherwise two"
    if style == "current frame":
        return "one ball for a strike, otherwise two, in the tenth frame too"
    return "two balls, or three after a strike or a spare"


def throw_from_pins(
    *, standing: int, down: Iterable[int] | None = None, left: Iterable[int] | None = None, foul: bool = False
) -> Throw:
    """A Throw from the pins standing before it (mask) and the pin numbers knocked down, left, or both.

    Raises MotionError for a pin that was not standing, a pin both down and standing, or one in neither.
    """
    check_mask(standing, "pins standing")
    if down is None and left is None:
        raise MotionError("pins", None, "the pins knocked down or the pins left standing")
    down_mask = mask_of(down, "pins down") if down is not None else None
    left_mask = mask_of(left, "pins left") if left is not None else None
    for name, mask in (("pins down", down_mask), ("pins left", left_mask)):
        if mask is not None and mask & ~standing:
            raise MotionError(name, dashed(mask & ~standing), f"only pins that stood: {dashed(standing)}")
    if left_mask is None:
        left_mask = standing & ~(down_mask or 0)
    if down_mask is not None:
        if both := down_mask & left_mask:
            raise MotionError("pins", dashed(both), "each pin either down or standing, not both")
        if neither := standing & ~(down_mask | left_mask):
            raise MotionError("pins", dashed(neither), "each pin that stood is either down or standing")
    return Throw(standing=standing, left=left_mask, foul=foul)


def frames_from_throws(throws: Iterable[Throw], style: Style = "traditional") -> tuple[Frame, ...]:
    """The frames of a game from its balls in order, with fouls and splits marked.

    Raises MotionError when a ball finds other pins than the ball before left, leaves pins that did not
    stand, or comes after the tenth frame.
    """
    frames: list[Frame] = []
    current = Frame(())
    expected = FULL_RACK
    for throw in throws:
        number = len(frames) + 1
        if number > 10:
            raise MotionError("frame 11", "an eleventh frame", "a game has 10 frames")
        field = f"frame {number}, ball {len(current.throws) + 1}"
        _check_throw(throw, expected, field)
        current = _with_throw(current, throw)
        if is_frame_complete(current, number, style):
            frames.append(current)
            current, expected = Frame(()), FULL_RACK
        else:
            # After a foul the same pins are set again: what the ball knocked down does not count.
            expected = throw.standing if throw.foul else throw.left or FULL_RACK
    if current.throws:
        frames.append(current)
    return tuple(frames)


def _check_throw(throw: Throw, expected: int, field: str) -> None:
    check_mask(throw.standing, f"{field}, pins standing")
    check_mask(throw.left, f"{field}, pins left")
    if throw.standing != expected:
        raise MotionError(
            f"{field}, pins standing", dashed(throw.standing), f"the pins set: {dashed(expected)}"
        )
    if extra := throw.left & ~throw.standing:
        raise MotionError(
            f"{field}, pins left", dashed(extra), f"only pins that stood: {dashed(throw.standing)}"
        )


def _with_throw(frame: Frame, throw: Throw) -> Frame:
    index = len(frame.throws)
    pins = 0 if throw.foul else pin_count(throw.standing & ~throw.left)
    split = finds_new_rack(frame.throws) and not throw.foul and is_split(throw.left)
    return Frame(
        (*frame.throws, pins),
        (*frame.fouls, index) if throw.foul else frame.fouls,
        (*frame.splits, index) if split else frame.splits,
    )
