"""The demo team: an invented scenario and the shots that a simulator bowled for it."""
