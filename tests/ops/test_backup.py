"""What the README and docker-compose.yml say of backing up and restoring, done as they say it."""

import os
import shutil
import subprocess
import uuid
from pathlib import Path

import psycopg
import pytest

from tests.ops.bowler import Bowler
from tests.ops.running import ROOT, RunningServer
from tests.ops.seed import seed, state
from tests.ops.test_other_services import new_database  # noqa: F401  (a fixture)

pytestmark = pytest.mark.long


def test_a_copied_data_folder_brings_back_the_day_it_was_copied(tmp_path: Path) -> None:
    data, copy = tmp_path / "data", tmp_path / "copy"
    shots = [str(uuid.uuid4()) for _ in range(2)]
    with RunningServer(data, "--no-demo") as running:
        bowler = Bowler(running.port, seed(data))
        bowler.sign_in()
        bowler.log_surely(1, shots[0])
    shutil.copytree(data, copy)
    with RunningServer(data, "--no-demo") as running:
        bowler.port = running.port
        bowler.log_surely(2, shots[1])
    # The folder is lost, and the copy takes its place.
    shutil.rmtree(data)
    copy.rename(data)
    with RunningServer(data, "--no-demo") as running:
        assert state(data)["shots"] == [shots[0]]
        # The key came along, so who was signed in still is, and goes on.
        bowler.port = running.port
        bowler.log_surely(2, shots[1])
        assert state(data)["shots"] == sorted(shots)


def commands_of_restore() -> list[list[str]]:
    """The PostgreSQL commands of the restore in docker-compose.yml, as they run inside the container."""
    text = (ROOT / "docker-compose.yml").read_text()
    lines = text[text.index("#   restore") : text.index("# BURNLINE_HOSTS")].replace("#", "").splitlines()
    found = [line.split("exec -T postgres ")[1] for line in lines if "exec -T postgres " in line]
    return [command.split("<")[0].split("&&")[0].split() for command in found]


@pytest.mark.postgres
def test_a_dump_is_restored_by_the_commands_that_are_written_down(tmp_path: Path, new_database: str) -> None:  # noqa: F811
    name = new_database.rpartition("/")[2]
    data, dump = tmp_path / "data", tmp_path / "burnline.sql"
    given = {"BURNLINE_DATABASE_URL": new_database}
    shots = [str(uuid.uuid4()) for _ in range(2)]
    with RunningServer(data, "--no-demo", **given) as running:
        bowler = Bowler(running.port, seed(data, **given))
        bowler.sign_in()
        bowler.log_surely(1, shots[0])
        with dump.open("wb") as target:
            run(new_database, ["pg_dump", "-U", "burnline", name], stdout=target)
        bowler.log_surely(2, shots[1])
    commands = commands_of_restore()
    assert [command[0] for command in commands] == ["dropdb", "createdb", "psql"]
    for command in commands:
        mine = [
            name if word == "burnline" and i > command.index("-U") + 1 else word
            for i, word in enumerate(command)
        ]
        with dump.open("rb") as source:
            run(new_database, mine, stdin=source)
    assert state(data, **given)["shots"] == [shots[0]]
    with RunningServer(data, "--no-demo", **given) as running:
        bowler.port = running.port
        bowler.log_surely(2, shots[1])
    assert state(data, **given)["shots"] == sorted(shots)


def run(url: str, command: list[str], **streams: object) -> None:
    """One of PostgreSQL's programs against the test's server instead of the container's own."""
    parts = psycopg.conninfo.conninfo_to_dict(url)
    server = {
        "PGHOST": str(parts["host"]),
        "PGPORT": str(parts["port"]),
        "PGPASSWORD": str(parts["password"]),
    }
    subprocess.run(command, env={**os.environ, **server}, check=True, **streams)  # type: ignore[call-overload]
