"""A server's database from outside: filled with the tests' cast and an open block, and read.

Runs as a process of its own (`python -m tests.ops.seed fill` or `state`), because the tests' own settings
point at another database.
"""

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.ops.running import ROOT, clean_environment


def seed(data: Path, **variables: str) -> dict[str, Any]:
    return _run(data, "fill", variables)


def state(data: Path, **variables: str) -> dict[str, Any]:
    """Shots by id, advice owed and answered, as they are in the database."""
    return _run(data, "state", variables)


def is_held(data: Path) -> bool:
    """Whether a worker is at some advice; asked often, so read straight from the file."""
    connection = sqlite3.connect(f"file:{data / 'burnline.sqlite3'}?mode=ro", uri=True, timeout=20)
    with contextlib.closing(connection):
        held = connection.execute("SELECT count(*) FROM logbook_owedadvice WHERE lease_token IS NOT NULL")
        return bool(held.fetchone()[0])


def _run(data: Path, command: str, variables: dict[str, str]) -> dict[str, Any]:
    result = subprocess.run(
        [sys.executable, "-m", "tests.ops.seed", command],
        cwd=ROOT,
        env=clean_environment(BURNLINE_DATA=str(data), DJANGO_SETTINGS_MODULE="config.settings", **variables),
        capture_output=True,
        text=True,
    )
    assert result.returncode == 0, result.stderr
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def fill() -> dict[str, Any]:
    from tests.conftest import make_cast
    from tests.sessions.block import open_block

    opened = open_block(make_cast())
    return {
        "entry": str(opened.bo.uuid),
        "ball": str(opened.cast.bo_ball.uuid),
        "username": opened.cast.bo.username,
    }


def stored() -> dict[str, Any]:
    from sessions.models import Advice, OwedAdvice, Shot

    return {
        "shots": sorted(str(uuid) for uuid in Shot.objects.values_list("uuid", flat=True)),
        "owed": list(OwedAdvice.objects.values("pk", "wanted", "done", "attempts", "failure")),
        "answers": list(Advice.objects.values("owed", "lane", "answers", "action")),
    }


if __name__ == "__main__":
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    print(json.dumps(fill() if sys.argv[1] == "fill" else stored()))
