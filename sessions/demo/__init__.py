"""The demo team: an invented scenario (scenario.py) and the shots that a simulator bowled for it (shots.json)."""
