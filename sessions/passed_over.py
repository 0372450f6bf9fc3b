"""Games that were begun, left with open frames, and passed over for a later one."""

from collections.abc import Sequence
from dataclasses import dataclass

from motion.frames import Frame, is_frame_complete
from sessions.counted import bowled, counted_line, frames_of, with_what_was_bowled
from sessions.models import BlockEntry
from sessions.progress import is_over


@dataclass(frozen=True)
class PassedOver:
    """A game that waits for its frames; one typed as a line goes on as a line."""

    number: int
    frame_number: int  # the first frame with a throw still to log
    has_line: bool


def passed_over(entry: BlockEntry, before: int) -> list[PassedOver]:
    """The unfinished games with a number less than `before`, in order."""
    games = with_what_was_bowled(bowled(entry.games.filter(number__lt=before)).order_by("number"))
    found = []
    for game in games:
        frames = frames_of(game)
        if not is_over(frames):
            found.append(PassedOver(game.number, _open_frame(frames), counted_line(game) is not None))
    return found


def _open_frame(frames: Sequence[Frame]) -> int:
    last = len(frames)
    return last + 1 if is_frame_complete(frames[-1], last) else last
