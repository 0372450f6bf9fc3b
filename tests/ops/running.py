"""A real server for tests: script/server with its processes, on a data folder and port of its own."""

import os
import queue
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
READY_SECONDS = 150


def clean_environment(**more: str) -> dict[str, str]:
    """What a person's shell has: nothing of this test run but the compiled kernels and the packages."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("BURNLINE_")}
    kept.pop("DJANGO_SETTINGS_MODULE", None)
    return {**kept, "BURNLINE_VENV": sys.prefix, "BURNLINE_PYTHON": sys.executable, **more}


def run_server(*arguments: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """A start that is expected to end by itself."""
    return subprocess.run(
        [ROOT / "script" / "server", *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        env=clean_environment(**variables),
        stdin=subprocess.DEVNULL,
    )


def process_ids(parent: int) -> set[int]:
    """Every living descendant of a process, from the parent that each process names (Linux)."""
    parents: dict[int, int] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            text = stat.read_text()
        except OSError:
            continue  # it ended meanwhile
        state, ppid = text.rpartition(")")[2].split()[:2]
        if state != "Z":
            parents[int(stat.parent.name)] = int(ppid)
    found: set[int] = set()
    edge = {parent}
    while edge:
        edge = {pid for pid, ppid in parents.items() if ppid in edge} - found
        found |= edge
    return found


def command_of(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
    except OSError:
        return ""


def parent_of(pid: int) -> int:
    """The parent's id; 0 if the process has ended or waits to be reaped."""
    try:
        state, parent = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[:2]
    except OSError:
        return 0
    return 0 if state == "Z" else int(parent)


def alive(pids: set[int]) -> set[int]:
    return {pid for pid in pids if command_of(pid)}


def wait_until_gone(pids: set[int], seconds: float = 20) -> set[int]:
    """The processes still there after waiting for all to end."""
    end = time.monotonic() + seconds
    while alive(pids) and time.monotonic() < end:
        time.sleep(0.1)
    return alive(pids)


class RunningServer:
    def __init__(self, data: Path, *arguments: str, **variables: str) -> None:
        self.data = data
        self.output: list[str] = []
        self._lines: queue.Queue[str | None] = queue.Queue()
        self.process = subprocess.Popen(
            [ROOT / "script" / "server", "--port", "0", "--data", str(data), *arguments],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=clean_environment(**variables),
            start_new_session=True,
        )
        threading.Thread(target=self._read, daemon=True).start()
        self.url = ""
        self.url = self.wait_for_line(r"Burnline is ready: (\S+)/", READY_SECONDS)
        self.wait_for_line(r"(Stop with Ctrl-C)", 5)

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self._lines.put(line.rstrip("\n"))
        self._lines.put(None)

    def wait_for_line(self, pattern: str, seconds: float = 60) -> str:
        """The first group of the next line of output that matches."""
        end = time.monotonic() + seconds
        while True:
            try:
                line = self._lines.get(timeout=max(end - time.monotonic(), 0.01))
            except queue.Empty:
                self.kill()
                raise AssertionError(f"no line {pattern!r} within {seconds} s in {self.output}") from None
            if line is None:
                raise AssertionError(f"the server ended without a line {pattern!r}: {self.output}")
            self.output.append(line)
            if found := re.search(pattern, line):
                return found.group(1)

    @property
    def port(self) -> int:
        return int(self.url.rsplit(":", 1)[1])

    def pids(self, of: str = "") -> set[int]:
        return {pid for pid in process_ids(self.process.pid) if of in command_of(pid)}

    def main_pid(self, name: str) -> int:
        """The process that script/server itself started for `name`, not those it started in turn."""
        words = {"web": "gunicorn", "worker": "config worker", "scheduler": "config beat"}[name]
        end = time.monotonic() + READY_SECONDS
        while time.monotonic() < end:
            mine = [pid for pid in self.pids(words) if parent_of(pid) == self.process.pid]
            if len(mine) == 1:
                return mine[0]
            time.sleep(0.1)  # it was killed a moment ago and is on its way back
        raise AssertionError(f"no process {name!r} of script/server in {READY_SECONDS} s")

    def stop(self, sign: signal.Signals = signal.SIGINT) -> int:
        self.process.send_signal(sign)
        return self.process.wait(60)

    def kill(self) -> None:
        everyone = self.pids()
        self.process.kill()
        self.process.wait(10)
        for pid in wait_until_gone(everyone):
            os.kill(pid, signal.SIGKILL)

    def log(self, name: str) -> str:
        return (self.data / "logs" / f"{name}.log").read_text()

    def __enter__(self) -> "RunningServer":
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            try:
                self.stop()
            except subprocess.TimeoutExpired:
                self.kill()
