"""Shots in words, and what was entered last with what was taken back: an undo keeps the record, here seen."""

from dataclasses import dataclass

from django.db.models import QuerySet

from motion.leaves import FULL_RACK, dashed, leave_name
from sessions.models import Shot

SHOWN = 8


@dataclass(frozen=True)
class RecentShot:
    """One entry of the record, in words."""

    shot: Shot

    @property
    def place(self) -> str:
        number = self.shot.frame_number
        return f"frame {number}" if self.shot.game_id else f"practice {self.shot.throw_number}"

    @property
    def outcome(self) -> str:
        shot = self.shot
        if shot.foul:
            return "foul"
        if shot.pins_left == 0 and shot.pins_before != FULL_RACK:
            return "spare" if shot.game_id else "cleared"
        if shot.pins_left == shot.pins_before:
            return "no pin"
        if shot.pins_before != FULL_RACK:
            return f"{dashed(shot.pins_left)} left"
        return leave_name(shot.pins_left)

    @property
    def told(self) -> str:
        return f"{self.place}: {self.outcome}"

    @property
    def fate(self) -> str:
        """Why it counts no more; empty while it counts."""
        if self.shot.undone_at is None:
            return ""
        if hasattr(self.shot, "replaced_by"):
            return "corrected"
        return "a line instead" if self.shot.set_aside_by_id else "undone"


def told(shot: Shot) -> str:
    """What was logged, in a few words: "frame 3: 10 pin"."""
    return RecentShot(shot).told


def recent_shots(shots: "QuerySet[Shot]", most: int | None = SHOWN) -> list[RecentShot]:
    """The newest entries first, counted or not; all of them where `most` is None."""
    rows = shots.select_related("ball__bowler", "lane", "game", "replaced_by")
    return [RecentShot(shot) for shot in rows.order_by("-created_at", "-pk")[:most]]
