"""Processes killed at the worst moment: no shot missing, none doubled, and the advice comes."""

import contextlib
import os
import signal
import threading
import time
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ops.bowler import ADVICE_SECONDS, Bowler, all_answered, wait_for
from tests.ops.running import RunningServer
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


def test_a_web_server_killed_in_mid_request_loses_and_doubles_no_shot(
    server: RunningServer, bowler: Bowler
) -> None:
    before = state(server.data)["shots"]
    shots = [str(uuid.uuid4()) for _ in range(8)]

    def log_them() -> None:
        for frame, shot in enumerate(shots, start=len(before) + 1):
            bowler.log_surely(frame, shot)

    logging = threading.Thread(target=log_them)
    logging.start()
    for _ in range(3):
        time.sleep(0.4)
        with contextlib.suppress(ValueError):  # it is just being started
            os.kill(server.main_pid("web"), signal.SIGKILL)
    logging.join(120)
    assert not logging.is_alive()
    assert state(server.data)["shots"] == sorted([*before, *shots])
    wait_for(server.data, all_answered, ADVICE_SECONDS)


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
