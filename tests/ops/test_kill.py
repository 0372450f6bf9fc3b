"""Processes killed at the worst moment: no shot missing, none doubled, and the advice comes."""

import contextlib
import http.client
import os
import signal
import sqlite3
import threading
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ops.bowler import ADVICE_SECONDS, Bowler, all_answered, wait_for
from tests.ops.running import RunningServer, process_ids, wait_until_gone
from tests.ops.seed import is_held, seed, state

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    with RunningServer(tmp_path_factory.mktemp("kill") / "data", "--no-demo") as running:
        yield running


@pytest.fixture(scope="module")
def bowler(server: RunningServer) -> Bowler:
    bowler = Bowler(server.port, seed(server.data))
    bowler.sign_in()
    return bowler


def test_a_worker_killed_in_mid_task_costs_neither_shot_nor_advice(
    server: RunningServer, bowler: Bowler
) -> None:
    shot = str(uuid.uuid4())
    bowler.log_surely(1, shot)
    end = time.monotonic() + 60
    while not is_held(server.data):
        assert time.monotonic() < end, "no worker took the advice up"
        time.sleep(0.01)
    os.kill(server.main_pid("worker"), signal.SIGKILL)
    server.wait_for_line(r"(The worker process ended)")
    found = wait_for(server.data, all_answered, ADVICE_SECONDS)
    assert found["shots"] == [shot]
    answered = [(answer["owed"], answer["lane"], answer["answers"]) for answer in found["answers"]]
    assert len(answered) == len(set(answered)) >= 2
    # The killed attempt was counted, and the row does not say that anything failed.
    assert [row["failure"] for row in found["owed"]] == [""] * len(found["owed"])


def has_read(port: int, sender: int) -> bool:
    """Whether the server has taken everything that came from a phone's port out of its socket (Linux)."""
    for line in Path("/proc/net/tcp").read_text().splitlines()[1:]:
        _, here, there, state, queues = line.split()[:5]
        if (int(here.split(":")[1], 16), int(there.split(":")[1], 16)) == (port, sender):
            return state == "01" and int(queues.split(":")[1], 16) == 0
    return False


def wait_until_open(bowler: Bowler) -> None:
    """Until a request was sent whole and read by the web server, which then has it in hand."""
    end = time.monotonic() + 20
    while not (bowler.sent_from and has_read(bowler.port, bowler.sent_from)):
        assert time.monotonic() < end, "no request was taken up"
        time.sleep(0.01)


class OneRequest(threading.Thread):
    """A shot sent once; `ended` is the status it was answered with, or what went wrong."""

    def __init__(self, bowler: Bowler, frame: int, shot: str) -> None:
        super().__init__()
        self.bowler, self.frame, self.shot = bowler, frame, shot
        self.ended: int | Exception | None = None

    def run(self) -> None:
        try:
            self.ended = self.bowler.log(self.frame, self.shot)
        except (OSError, http.client.HTTPException) as error:
            self.ended = error


@contextlib.contextmanager
def write_lock(data: Path) -> Iterator[None]:
    """Nobody else writes for the time of the block: a request that logs a shot waits for its transaction."""
    connection = sqlite3.connect(data / "burnline.sqlite3", timeout=20, isolation_level=None)
    with contextlib.closing(connection):
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("ROLLBACK")


def test_a_web_server_killed_in_mid_request_loses_and_doubles_no_shot(
    server: RunningServer, bowler: Bowler
) -> None:
    before = state(server.data)["shots"]
    shots = [str(uuid.uuid4()) for _ in range(3)]
    for number, shot in enumerate(shots):
        frame = len(before) + number + 1
        with write_lock(server.data):
            sending = OneRequest(bowler, frame, shot)
            sending.start()
            wait_until_open(bowler)
            web = server.main_pid("web")
            everyone = process_ids(web) | {web}
            os.kill(web, signal.SIGKILL)
            assert wait_until_gone(everyone) == set()
        sending.join(30)
        # The request was open, and no answer came: the phone knows nothing.
        assert isinstance(sending.ended, Exception), sending.ended
        assert state(server.data)["shots"] == sorted([*before, *shots[:number]])
        bowler.log_surely(frame, shot)
        assert bowler.log(frame, shot) == 302
        assert state(server.data)["shots"] == sorted([*before, *shots[: number + 1]])
    wait_for(server.data, all_answered, ADVICE_SECONDS)


def test_the_measure_of_an_open_request_notices_one_that_was_answered(
    server: RunningServer, bowler: Bowler
) -> None:
    frame = len(state(server.data)["shots"]) + 1
    sending = OneRequest(bowler, frame, str(uuid.uuid4()))
    sending.start()
    sending.join(30)
    assert sending.ended == 302
    assert not has_read(bowler.port, bowler.sent_from)


def test_everything_killed_at_once_goes_on_at_the_next_start(tmp_path: Path) -> None:
    data = tmp_path / "data"
    running = RunningServer(data, "--no-demo")
    bowler = Bowler(running.port, seed(data))
    bowler.sign_in()
    shot = str(uuid.uuid4())
    bowler.log_surely(1, shot)
    running.kill()
    assert state(data)["shots"] == [shot]
    with RunningServer(data, "--no-demo") as again:
        found = wait_for(data, all_answered, ADVICE_SECONDS)
        assert found["shots"] == [shot]
        bowler.port = again.port
        assert bowler.log(1, shot) == 302  # the phone never heard that it was stored, and sends it again
        assert state(data)["shots"] == [shot]
