"""Keeps the processes of an installation running, and ends them all when it ends."""

import contextlib
import json
import os
import select
import signal
import ssl
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Any

from script.trouble import ROOT, Trouble, say

READY_SECONDS = 120
STOP_SECONDS = 20
STEADY_SECONDS = 60
LONGEST_PAUSE_SECONDS = 30
# A worker whose tasks all keep to their limit shows life well within this.
SILENT_SECONDS = 240
LOG_BYTES = 5_000_000


@dataclass
class Child:
    name: str
    command: list[str]
    environment: dict[str, str]
    log: Path
    pass_fds: tuple[int, ...] = ()
    process: subprocess.Popen[bytes] | None = None
    started_at: float = 0.0
    start_at: float = 0.0
    failures: int = 0

    def start(self) -> None:
        self._roll_log()
        descriptor = os.open(self.log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        try:
            self.process = subprocess.Popen(
                self.command,
                cwd=ROOT,
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=descriptor,
                stderr=descriptor,
                pass_fds=self.pass_fds,
                # Ctrl-C reaches the supervisor alone, which then stops the others in order.
                start_new_session=True,
            )
        finally:
            os.close(descriptor)
        self.started_at = time.monotonic()

    def running(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def signal(self, sign: signal.Signals) -> None:
        if self.process and self.process.poll() is None:
            self.process.send_signal(sign)

    def kill(self) -> None:
        """End the process and what it started, at once."""
        if self.process:
            # The group keeps its number as long as it has members.
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()

    def ending(self) -> str:
        code = self.process.returncode if self.process else 0
        return f"signal {-code}" if code < 0 else f"exit code {code}"

    def last_words(self) -> str:
        lines = self.log.read_text(encoding="utf-8", errors="replace").strip().splitlines()
        return lines[-1] if lines else "nothing"

    def pause_after_failure(self) -> float:
        """Seconds to wait before the next start: none at first, longer each time it fails again soon."""
        if time.monotonic() - self.started_at > STEADY_SECONDS:
            self.failures = 0
        pause = min(2.0**self.failures - 1, LONGEST_PAUSE_SECONDS)
        self.failures += 1
        return pause

    def _roll_log(self) -> None:
        if self.log.exists() and self.log.stat().st_size > LOG_BYTES:
            self.log.replace(self.log.with_suffix(".log.old"))


@dataclass
class Health:
    """Asks the web server how it is, as a client on this machine would."""

    port: int
    ca_certificate: Path | None = None

    def ask(self) -> dict[str, Any] | None:
        scheme, context = "http", None
        if self.ca_certificate:
            scheme, context = "https", ssl.create_default_context(cafile=str(self.ca_certificate))
        handlers: list[urllib.request.BaseHandler] = [urllib.request.ProxyHandler({})]
        if context:
            handlers.append(urllib.request.HTTPSHandler(context=context))
        opener = urllib.request.build_opener(*handlers)
        try:
            with opener.open(f"{scheme}://127.0.0.1:{self.port}/healthz", timeout=5) as answer:
                found: dict[str, Any] = json.load(answer)
        except (OSError, ValueError, urllib.error.URLError):
            return None
        return found


@dataclass
class Supervisor:
    children: list[Child]
    health: Health
    stopping: bool = False
    wake: int = -1

    def run(self, ready_text: str) -> None:
        """Start everything, say `ready_text` when all answer, and stay until told to stop."""
        with self._signals():
            try:
                for child in self.children:
                    child.start()
                if self._wait_until_ready():
                    say(ready_text)
                    self._stay()
            finally:
                self._stop()

    @contextlib.contextmanager
    def _signals(self) -> Iterator[None]:
        """Signals, a child's end among them, wake the supervisor through a pipe."""
        self.wake, written = os.pipe()
        for end in (self.wake, written):
            os.set_blocking(end, False)
        handlers = dict.fromkeys((signal.SIGINT, signal.SIGTERM, signal.SIGHUP), self._told_to_stop)
        handlers[signal.SIGCHLD] = lambda number, frame: None
        previous = {sign: signal.signal(sign, handler) for sign, handler in handlers.items()}
        signal.set_wakeup_fd(written, warn_on_full_buffer=False)
        try:
            yield
        finally:
            signal.set_wakeup_fd(-1)
            for sign, handler in previous.items():
                signal.signal(sign, handler)
            os.close(self.wake)
            os.close(written)

    def _told_to_stop(self, number: int, frame: FrameType | None) -> None:
        if self.stopping:  # asked twice: do not wait for anyone
            for child in self.children:
                child.signal(signal.SIGKILL)
        self.stopping = True

    def _pause(self, seconds: float) -> None:
        if select.select([self.wake], [], [], seconds)[0]:
            with contextlib.suppress(BlockingIOError):
                os.read(self.wake, 4096)

    def _wait_until_ready(self) -> bool:
        began = time.monotonic()
        while not self.stopping:
            for child in self.children:
                if not child.running():
                    raise Trouble(
                        f"The {child.name} process ended while starting ({child.ending()}); "
                        f"its log {child.log} ends with: {child.last_words()}"
                    )
            answer = self.health.ask()
            seen = answer.get("worker_seen_seconds_ago") if answer else None
            # Life shown before this start is not this worker's.
            if seen is not None and seen < time.monotonic() - began:
                return True
            if time.monotonic() - began > READY_SECONDS:
                silent = "worker does" if answer else "web server does"
                raise Trouble(
                    f"The {silent} not answer after {READY_SECONDS} seconds; see the logs in "
                    f"{self.children[0].log.parent}."
                )
            self._pause(0.3)
        return False

    def _stay(self) -> None:
        next_look = time.monotonic() + 15
        while not self.stopping:
            self._pause(1)
            self._restart_ended()
            if time.monotonic() >= next_look:
                self._look_for_silence()
                next_look = time.monotonic() + 15

    def _restart_ended(self) -> None:
        now = time.monotonic()
        for child in self.children:
            if self.stopping or child.running():
                continue
            if not child.start_at:
                child.kill()  # what it left behind
                pause = child.pause_after_failure()
                child.start_at = now + pause
                when = f"in {pause:.0f} s" if pause else "now"
                say(f"The {child.name} process ended ({child.ending()}); starting it again {when}.")
            if now >= child.start_at:
                child.start_at = 0.0
                child.start()

    def _look_for_silence(self) -> None:
        """A process may be there and still do nothing."""
        answer = self.health.ask()
        seen = answer.get("worker_seen_seconds_ago") if answer else None
        youngest = time.monotonic() - max(child.started_at for child in self.children)
        if seen is not None and seen > SILENT_SECONDS and youngest > SILENT_SECONDS:
            say(f"The worker has shown no life for {seen:.0f} s; starting worker and scheduler again.")
            for child in self.children:
                if child.name in ("worker", "scheduler"):
                    child.kill()

    def _stop(self) -> None:
        self.stopping = True
        say("Stopping ...")
        for child in reversed(self.children):
            child.signal(signal.SIGTERM)
        end = time.monotonic() + STOP_SECONDS
        while any(child.running() for child in self.children) and time.monotonic() < end:
            self._pause(0.2)
        for child in self.children:
            child.kill()
        say("Stopped.")
