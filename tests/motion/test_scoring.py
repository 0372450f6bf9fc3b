"""Scores against published rules, worked games and the published count of all possible games."""

from collections import Counter
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.frames import Throw, frames_from_throws, throw_from_pins
from motion.leaves import FULL_RACK, mask_of
from motion.notation import parse_game
from motion.scoring import score_current_frame, score_game, score_traditional

MIXED = "X 7/ 9- X -8 8/ -6 X X X81"

# Worked games: facts 6a, each from the rules by an independent scorer (DERIVED).
WORKED = {
    "XXXXXXXXXXXX": 300,
    "XXXXXXXXXXX9": 299,
    "XXXXXXXXXXX-": 290,
    "9/ XXXXXXXXX XXX"[:14] + "X": 279,
    "XXXXXXXXX 9-": 267,
    "XXXXXXXXX --": 240,
    "X9/X9/X9/X9/X9/X": 200,
    "9/X9/X9/X9/X9/X9/": 200,
    "9/9/9/9/9/9/9/9/9/9/9": 190,
    "9/9/9/9/9/9/9/9/9/9/X": 191,
    "5/5/5/5/5/5/5/5/5/5/5": 150,
    "X9-X9-X9-X9-X9-": 140,
    "9-9-9-9-9-9-9-9-9-9-": 90,
    "X------------------": 10,
    MIXED: 167,
}
