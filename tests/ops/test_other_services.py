"""The same processes on PostgreSQL and over Redis, as the containers run them."""

import contextlib
import os
import secrets
import signal
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from tests.ops.bowler import ADVICE_SECONDS, Bowler, all_answered, wait_for
from tests.ops.running import RunningServer, process_ids, wait_until_gone
from tests.ops.seed import seed, state
from tests.ops.test_kill import OneRequest

pytestmark = pytest.mark.long


def needed(variable: str) -> str:
    value = os.environ.get(variable, "")
    assert value, f"{variable} must name a server; script/test sets it"
    return value


@pytest.fixture
def new_database() -> Iterator[str]:
    """The URL of a database of this test's own."""
    server = needed("BURNLINE_TEST_POSTGRES_URL")
    name = f"burnline_{secrets.token_hex(6)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
        yield f"{server.rpartition('/')[0]}/{name}"
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


def bowl_and_kill_the_worker(data: Path, **variables: str) -> None:
    """A shot is answered, and another one while the worker is killed."""
    with RunningServer(data, "--no-demo", **variables) as server:
        bowler = Bowler(server.port, seed(data, **variables))
        bowler.sign_in()
        shots = [str(uuid.uuid4()) for _ in range(2)]
        bowler.log_surely(1, shots[0])
        wait_for(data, all_answered, ADVICE_SECONDS, **variables)
        bowler.log_surely(2, shots[1])
        os.kill(server.main_pid("worker"), signal.SIGKILL)
        server.wait_for_line(r"(The worker process ended)")
        found = wait_for(data, all_answered, ADVICE_SECONDS, **variables)
        assert found["shots"] == sorted(shots)


@pytest.mark.redis
def test_over_redis(tmp_path: Path) -> None:
    bowl_and_kill_the_worker(tmp_path / "data", BURNLINE_BROKER_URL=needed("BURNLINE_TEST_REDIS_URL"))


@pytest.mark.postgres
@pytest.mark.redis
def test_on_postgresql_and_over_redis(tmp_path: Path, new_database: str) -> None:
    bowl_and_kill_the_worker(
        tmp_path / "data",
        BURNLINE_DATABASE_URL=new_database,
        BURNLINE_BROKER_URL=needed("BURNLINE_TEST_REDIS_URL"),
    )
    assert not (tmp_path / "data" / "burnline.sqlite3").exists()


@pytest.mark.postgres
def test_on_postgresql_and_over_files(tmp_path: Path, new_database: str) -> None:
    bowl_and_kill_the_worker(tmp_path / "data", BURNLINE_DATABASE_URL=new_database)


@contextlib.contextmanager
def held_row(url: str) -> Iterator[None]:
    """Somebody else holds the rows of owed advice meanwhile; a shot is stored before they are."""
    with psycopg.connect(url) as connection:
        assert connection.execute("SELECT count(*) FROM logbook_owedadvice").fetchone() != (0,)
        connection.execute("SELECT 1 FROM logbook_owedadvice FOR UPDATE")
        yield
        connection.rollback()


def waiting(url: str) -> int:
    """How many transactions stand still behind a lock, with something written already."""
    with psycopg.connect(url) as connection:
        rows = connection.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
            "AND wait_event_type = 'Lock' AND backend_xid IS NOT NULL"
        )
        return int(rows.fetchone()[0])  # type: ignore[index]


@pytest.mark.postgres
def test_a_web_server_killed_in_mid_transaction_stores_nothing_of_it(
    tmp_path: Path, new_database: str
) -> None:
    data, given = tmp_path / "data", {"BURNLINE_DATABASE_URL": new_database}
    first, second = (str(uuid.uuid4()) for _ in range(2))
    with RunningServer(data, "--no-demo", **given) as server:
        bowler = Bowler(server.port, seed(data, **given))
        bowler.sign_in()
        bowler.log_surely(1, first)
        wait_for(data, all_answered, ADVICE_SECONDS, **given)
        web = server.main_pid("web")
        with held_row(new_database):
            sending = OneRequest(bowler, 2, second)
            sending.start()
            end = time.monotonic() + 20
            while not waiting(new_database):
                assert time.monotonic() < end, f"the request does not wait: {sending.ended}"
                time.sleep(0.02)
            everyone = process_ids(web) | {web}
            os.kill(web, signal.SIGKILL)
            assert wait_until_gone(everyone) == set()
        sending.join(30)
        assert isinstance(sending.ended, Exception), sending.ended
        assert state(data, **given)["shots"] == [first]
        bowler.log_surely(2, second)
        assert bowler.log(2, second) == 302
        found = wait_for(data, all_answered, ADVICE_SECONDS, **given)
        assert found["shots"] == sorted([first, second])
