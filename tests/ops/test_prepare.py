"""What happens to the data folder before anything starts."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.ops.running import ROOT, clean_environment


def run(data: Path, *command: str) -> str:
    variables = clean_environment(BURNLINE_DATA=str(data), DJANGO_SETTINGS_MODULE="config.settings")
    result = subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=variables, capture_output=True, text=True
    )
    assert result.returncode == 0, result.stderr
    return result.stdout


def prepare(data: Path, *options: str) -> str:
    return run(data, "-m", "script.prepare", *options)


def ask(data: Path, sql: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(data / "burnline.sqlite3")) as connection, connection:
        return connection.execute(sql).fetchall()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = tmp_path_factory.mktemp("demo") / "data"
    assert "Loading the demo team" in prepare(data, "--demo")
    return data


def test_the_demo_is_loaded_on_the_first_start_only(demo: Path) -> None:
    shots = ask(demo, "SELECT count(*) FROM logbook_shot")
    assert shots[0][0]
    assert "demo" not in prepare(demo, "--demo")
    assert ask(demo, "SELECT count(*) FROM logbook_shot") == shots


def test_who_can_sign_in_to_the_demo_is_left_for_the_server_to_print(demo: Path) -> None:
    for (username,) in ask(demo, "SELECT username FROM arsenal_person"):
        assert str(username) in (demo / "demo-signins.txt").read_text()


def test_a_first_start_cut_short_after_the_demo_was_in_goes_on(demo: Path) -> None:
    teams = ask(demo, "SELECT count(*) FROM arsenal_team")
    (demo / "demo-owed").touch()
    prepare(demo, "--demo")
    assert not (demo / "demo-owed").exists()
    assert ask(demo, "SELECT count(*) FROM arsenal_team") == teams


def test_without_the_demo_it_says_how_the_first_coach_gets_in(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert f'BURNLINE_DATA="{data}"' in prepare(data)
    assert not (data / "demo-signins.txt").exists()
    # Asked for later, the demo does not come into a database that is in use.
    assert "first_coach" in prepare(data, "--demo")
    run(data, "manage.py", "first_coach", "ada", "Longwick Otters")
    assert "first_coach" not in prepare(data)


def test_the_database_is_copied_before_its_tables_change(tmp_path: Path) -> None:
    data = tmp_path / "data"
    prepare(data)
    assert not (data / "backups").exists()
    run(data, "manage.py", "migrate", "sessions", "zero", "--verbosity", "0")
    assert "Copied the database" in prepare(data)
    (copy,) = (data / "backups").iterdir()
    with closing(sqlite3.connect(copy)) as connection:
        tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    assert "arsenal_ball" in tables
    assert "django_session" not in tables
    assert ask(data, "SELECT count(*) FROM django_session") == [(0,)]
