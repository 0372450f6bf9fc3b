"""Every write of the logbook, one function each: the rules are enforced here, whoever calls."""

from sessions.facts import ShotFacts
from sessions.record_event import (
    WindowRule,
    enter_bowler,
    open_practice,
    plan_crossing,
    put_away,
    save_block,
    save_entry,
    save_event,
    set_block_state,
)
from sessions.record_game import StretchFacts, TypedLine, log_line, set_pair, undo_line
from sessions.record_house import dress_lane, dress_lanes, leave_undressed, save_house, undo_dressing
from sessions.record_shot import (
    Logged,
    edit_shot,
    log_practice_shot,
    log_shot,
    open_game,
    undo_shot,
)

__all__ = [
    "Logged",
    "ShotFacts",
    "StretchFacts",
    "TypedLine",
    "WindowRule",
    "dress_lane",
    "dress_lanes",
    "edit_shot",
    "enter_bowler",
    "leave_undressed",
    "log_line",
    "log_practice_shot",
    "log_shot",
    "open_game",
    "open_practice",
    "plan_crossing",
    "put_away",
    "save_block",
    "save_entry",
    "save_event",
    "save_house",
    "set_block_state",
    "set_pair",
    "undo_dressing",
    "undo_line",
    "undo_shot",
]
