"""The one exception of the scripts: its text is the sentence that the person at the keyboard reads."""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


class Trouble(Exception):
    """Something the person can put right; the text says what and how."""


def say(text: str) -> None:
    print(text, flush=True)


def complain(trouble: Trouble) -> int:
    print(trouble, file=sys.stderr, flush=True)
    return 1
