"""Stored answers as the engine gives them, for tests of what pages show."""

from typing import Any

from sessions import jobs
from sessions.models import Advice, BlockEntry, Lane, OwedAdvice
from tests.sessions.block import OpenBlock

OUTLOOK = {
    "pocket": 0.4,
    "strike": 0.3,
    "split_or_washout": 0.06,
    "expected_frame": 18.0,
    "worst_tenth": 9.0,
    "mean_offset_boards": 1.2,
    "sd_offset_boards": 1.5,
    "entry_angle_deg": 4.9,
    "breakpoint_board": 8.0,
    "breakpoint_ft": 42.0,
}


def a_result(lane: Lane, hand: str = "right", **changes: Any) -> dict[str, Any]:
    """What motion.advice_types.LaneAdvice.as_dict() looks like: move two and one inside."""
    result: dict[str, Any] = {
        "lane_id": str(lane.number),
        "status": "advised",
        "action": "move",
        "hand": hand,
        "headline": "Move",
        "reasons": [
            "Your track has lost about a third of its oil.",
            "The change finds the pocket more often.",
        ],
        "would_change": "Two light hits in a row would change this.",
        "missing": [],
        "ball_id": None,
        "ball_name": "Grey Kettle",
        "release_name": "strike",
        "line": {"laydown_board": 24.0, "target_board": 15.0, "target_ft": 15.0, "laydown_ft": 0.5},
        "feet_board": 30.5,
        "feet_move_boards": 2.0,
        "target_move_boards": 1.0,
        "breakpoint_board": 8.2,
        "breakpoint_ft": 42.4,
        "pocket_now": 0.41,
        "pocket_advised": 0.58,
        "pocket_gain_low": 0.05,
        "pocket_gain_high": 0.27,
        "lasts_games": 1.2,
        "alternatives": [],
        "picture": None,
        "surface": None,
        "now": OUTLOOK,
        "advised": OUTLOOK,
    }
    return result | changes


INPUTS: dict[str, Any] = {
    "pattern": "Heather",
    "pattern_version": 1,
    "pattern_entry": "table",
    "length_ft": 41.0,
    "dressing": "x",
    "balls_on_lane": 12,
    "assumed_lines": 0,
    "assumed_releases": 0,
    "field_games": 1.5,
    "evidence": 9,
    "last_shot_at": "2026-06-06T10:20:00+00:00",
}


def answered(
    opened: OpenBlock, entry: BlockEntry | None = None, action: str = "move", **changes: Any
) -> OwedAdvice:
    """Advice owed to an entry on lanes 7 and 8, and answered."""
    entry = entry or opened.bo
    left, right = opened.lanes[7], opened.lanes[8]
    jobs.owe_anew(entry, left, right)
    owed = OwedAdvice.objects.get(entry=entry, left_lane=left)
    held = jobs.claim(owed.pk)
    assert held is not None
    rows = [
        Advice(
            lane=lane,
            action=action,
            result=a_result(lane, entry.bowler.hand, **changes),
            inputs=INPUTS,
            seconds=1.0,
        )
        for lane in (left, right)
    ]
    assert jobs.finish(held, rows)
    owed.refresh_from_db()
    return owed
