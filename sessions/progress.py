"""Where a game stands: which throw comes next, what it finds, and whether a run of shots can be."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from motion.frames import Frame, Throw, finds_new_rack, frames_from_throws, is_frame_complete
from motion.leaves import FULL_RACK, dashed
from sessions.models import Shot


@dataclass(frozen=True)
class Place:
    """The place of one throw in a game and the pins it finds (bit n - 1 for pin n)."""

    frame_number: int
    throw_number: int
    standing: int
    new_rack: bool

    def __str__(self) -> str:
        return f"frame {self.frame_number}, throw {self.throw_number}"


def throws_of(shots: Sequence[Shot]) -> list[Throw]:
    return [Throw(standing=shot.pins_before, left=shot.pins_left, foul=shot.foul) for shot in shots]


def next_place(shots: Sequence[Shot]) -> Place | None:
    """The next throw after these counted shots of one game, in order; None when the tenth frame is done."""
    frames = frames_from_throws(throws_of(shots))
    if not frames:
        return Place(1, 1, FULL_RACK, new_rack=True)
    number, frame = len(frames), frames[-1]
    if is_frame_complete(frame, number):
        return None if number == 10 else Place(number + 1, 1, FULL_RACK, new_rack=True)
    return Place(number, len(frame.throws) + 1, found_after(shots[-1]), finds_new_rack(frame.throws))


def found_after(shot: Shot) -> int:
    """The pins the next ball finds: after a foul the same ones, after a cleared rack a new one."""
    return shot.pins_before if shot.foul else shot.pins_left or FULL_RACK


def check_sequence(shots: Sequence[Shot]) -> None:
    """Refuse a run in which a shot finds other pins, or another place, than the one before it leaves."""
    for index, shot in enumerate(shots):
        place = next_place(shots[:index])
        if place is None:
            raise ValidationError(
                {"frame_number": f"Frame {shot.frame_number} is too many: a game has 10 frames."}
            )
        if (place.frame_number, place.throw_number) != (shot.frame_number, shot.throw_number):
            message = f"{_where(shot)} is already logged, but {place} would be next. Undo later shots first."
            raise ValidationError({"pins_left": message})
        if place.standing != shot.pins_before:
            message = (
                f"{_where(shot)} is already logged with pins {dashed(shot.pins_before)} standing, but now it "
                f"would find {dashed(place.standing)}. Undo the later shots first."
            )
            raise ValidationError({"pins_left": message})


def _where(shot: Shot) -> str:
    return f"Frame {shot.frame_number}, throw {shot.throw_number}"


def is_over(frames: Sequence[Frame]) -> bool:
    return len(frames) == 10 and is_frame_complete(frames[-1], 10)
