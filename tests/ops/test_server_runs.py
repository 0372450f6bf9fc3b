"""script/server as people use it: real processes, stopped and killed in every way."""

import http.client
import json
import os
import signal
import stat
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.ops.running import RunningServer, process_ids, run_server, wait_until_gone


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    with RunningServer(tmp_path_factory.mktemp("server") / "data", "--no-demo") as running:
        yield running


def get(port: int, path: str, seconds: float = 30) -> tuple[int, bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=seconds)
    try:
        connection.request("GET", path, headers={"Host": "localhost"})
        answer = connection.getresponse()
        return answer.status, answer.read()
    finally:
        connection.close()


def health(port: int) -> dict[str, object]:
    status, body = get(port, "/healthz")
    assert status == 200
    found: dict[str, object] = json.loads(body)
    return found


def wait_for_worker(port: int, since: float) -> None:
    """Wait until the worker has shown life after `since`."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        seen = health(port)["worker_seen_seconds_ago"]
        if isinstance(seen, float) and seen < time.monotonic() - since:
            return
        time.sleep(0.2)
    raise AssertionError("the worker did not come back")


def test_it_prints_an_address_where_database_and_worker_answer(server: RunningServer) -> None:
    assert server.url == f"http://localhost:{server.port}"
    found = health(server.port)
    assert (found["status"], found["database"]) == ("ok", "ok")
    assert isinstance(found["worker_seen_seconds_ago"], float)


def test_one_web_server_one_worker_and_one_scheduler_run(server: RunningServer) -> None:
    assert len({server.main_pid(name) for name in ("web", "worker", "scheduler")}) == 3


def test_only_the_owner_can_read_what_is_kept(server: RunningServer) -> None:
    kept = [server.data, *(server.data / name for name in ("secret-key", "uploads", "broker", "logs"))]
    assert [path for path in kept if stat.S_IMODE(path.stat().st_mode) & 0o077] == []


def test_a_second_server_names_the_one_that_holds_the_folder(server: RunningServer) -> None:
    result = run_server("--port", "0", "--data", str(server.data))
    assert result.returncode == 1
    assert f"(process {server.process.pid})" in result.stderr


def test_it_listens_on_this_machine_alone(server: RunningServer) -> None:
    listening = Path("/proc/net/tcp").read_text().splitlines()[1:]
    bound = [line.split()[1] for line in listening if line.split()[3] == "0A"]
    assert [at for at in bound if at.endswith(f":{server.port:04X}")] == [f"0100007F:{server.port:04X}"]


def test_styles_are_served_compressed_and_kept_by_the_browser(server: RunningServer) -> None:
    manifest = json.loads((server.data / "static" / "staticfiles.json").read_text())
    status, _ = get(server.port, f"/static/{manifest['paths']['css/base.css']}")
    assert status == 200


@pytest.mark.parametrize("name", ["worker", "scheduler"])
def test_a_killed_background_process_is_started_again(server: RunningServer, name: str) -> None:
    before = server.main_pid(name)
    killed = process_ids(before) | {before}
    at = time.monotonic()
    os.kill(before, signal.SIGKILL)
    assert server.wait_for_line(rf"The {name} process ended \((signal 9)\); starting it again") == "signal 9"
    wait_for_worker(server.port, at)
    assert server.main_pid(name) != before
    assert wait_until_gone(killed) == set()


def test_requests_wait_while_a_killed_web_server_comes_back(server: RunningServer) -> None:
    before = server.main_pid("web")
    killed = process_ids(before) | {before}
    os.kill(before, signal.SIGKILL)
    # A child of it that has a moment left may still take a connection and drop it.
    assert wait_until_gone(killed) == set()
    # The supervisor keeps the listening socket, so this is answered late rather than refused.
    assert health(server.port)["status"] == "ok"
    assert server.main_pid("web") != before


@pytest.mark.parametrize("sign", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_told_to_stop_it_leaves_no_process_behind_and_starts_again_on_the_same_data(
    tmp_path: Path, sign: signal.Signals
) -> None:
    with RunningServer(tmp_path / "data", "--no-demo") as running:
        key = (tmp_path / "data" / "secret-key").read_text()
        everyone = running.pids()
        assert len(everyone) >= 5
        assert running.stop(sign) == 0
        assert wait_until_gone(everyone, 1) == set()
    if sign == signal.SIGINT:
        with RunningServer(tmp_path / "data", "--no-demo"):
            assert (tmp_path / "data" / "secret-key").read_text() == key


def test_killed_itself_it_takes_the_others_along_and_frees_the_folder(tmp_path: Path) -> None:
    running = RunningServer(tmp_path / "data", "--no-demo")
    everyone = running.pids()
    os.kill(running.process.pid, signal.SIGKILL)
    running.process.wait(10)
    assert wait_until_gone(everyone, 30) == set()
    with RunningServer(tmp_path / "data", "--no-demo"):
        pass


def test_settings_that_are_wrong_stop_the_start_with_the_reason(tmp_path: Path) -> None:
    result = run_server("--port", "0", "--data", str(tmp_path), BURNLINE_WORKER_PROCESSES="many")
    assert result.returncode == 1
    assert "Traceback" not in result.stderr
    assert "BURNLINE_WORKER_PROCESSES='many' must be a whole number from 1 to 64." in result.stderr
