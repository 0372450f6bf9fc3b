"""script/test: the checks, then the tests, then one line that counts them and says what could not be run."""

import argparse
import contextlib
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from script import environment, services
from script.trouble import ROOT, Trouble, complain, say

CHECKED = ["motion", "arsenal", "patterns", "sessions", "config", "script"]
CHECKS = {
    "lint": ["ruff", "check", "."],
    "format": ["ruff", "format", "--check", "."],
    "types": ["mypy", *CHECKED],
    "imports": ["lint-imports"],
    "migrations": ["python", "manage.py", "makemigrations", "--check", "--dry-run"],
    "settings": ["python", "manage.py", "check", "--fail-level", "WARNING"],
}
PROCESS_TESTS = "tests/ops"
# Tests in these folders know no database, or bring their own.
SAME_ON_ANY_DATABASE = ["tests/motion", PROCESS_TESTS]
NO_TESTS = 5  # pytest's exit code when nothing was selected
# Variables that the tests read themselves, or start script/server with.
OF_TESTS = ("BURNLINE_TEST_", "BURNLINE_VENV", "BURNLINE_PYTHON")


@dataclass
class Tally:
    passed: int = 0
    failed: int = 0
    skipped: int = 0
    broken: list[str] = field(default_factory=list)
    not_run: list[str] = field(default_factory=list)

    def fail(self, what: str) -> None:
        self.failed += 1
        self.broken.append(what)

    def line(self) -> str:
        text = f"{self.passed} passed, {self.failed} failed"
        return f"{text}, {self.skipped} skipped" if self.skipped else text


@dataclass
class Run:
    """How one script/test goes: what was asked for, what it has found."""

    everything: bool
    extra: list[str]
    folder: Path
    tally: Tally = field(default_factory=Tally)

    @property
    def variables(self) -> dict[str, str]:
        cache = ROOT / ".cache" / "numba"
        # Settings of the person's own installation are no part of a test.
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith("BURNLINE_") or name.startswith(OF_TESTS)
        }
        return {
            **kept,
            "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
            "BURNLINE_DATA": str(self.folder / "data"),
            "NUMBA_CACHE_DIR": os.environ.get("NUMBA_CACHE_DIR", str(cache)),
        }

    def checks(self) -> None:
        for name, command in CHECKS.items():
            result = subprocess.run(
                command, cwd=ROOT, env=self.variables, capture_output=True, text=True, errors="replace"
            )
            say(f"{name}: {'ok' if result.returncode == 0 else 'failed'}")
            if result.returncode != 0:
                say(result.stdout + result.stderr)
                self.tally.fail(f"the check of {name}")

    def tests(self, title: str, marks: str, more: list[str], **variables: str) -> None:
        """One pytest run over what `marks` selects; its counts are added up."""
        say(f"\n== {title}")
        report = self.folder / "report.xml"
        report.unlink(missing_ok=True)
        if not self.everything:
            marks = f"({marks}) and not long"
        command = [sys.executable, "-m", "pytest", "-q", "-m", marks, f"--junitxml={report}"]
        environment_now = {**self.variables, **variables}
        result = subprocess.run(command + more + self.extra, cwd=ROOT, env=environment_now)
        before = self.tally.failed
        if report.exists():
            self._add(report)
        nothing = result.returncode == NO_TESTS and not self._is_fault_to_find_none(title)
        if result.returncode != 0 and not nothing and self.tally.failed == before:
            self.tally.fail(f"{title}: pytest ended with code {result.returncode}")

    def _is_fault_to_find_none(self, title: str) -> bool:
        """Extra arguments may well select nothing, and a stage may hold only what takes long."""
        if self.extra:
            return False
        if not self.everything:
            self.tally.not_run.append(f"{title}: nothing short here, script/test --all runs it")
        return self.everything

    def _add(self, report: Path) -> None:
        # The file was written a moment ago by pytest itself.
        for suite in ElementTree.parse(report).getroot().iter("testsuite"):  # noqa: S314
            counts = {key: int(suite.get(key, "0")) for key in ("tests", "failures", "errors", "skipped")}
            failed = counts["failures"] + counts["errors"]
            self.tally.failed += failed
            self.tally.skipped += counts["skipped"]
            self.tally.passed += max(counts["tests"] - failed - counts["skipped"], 0)

    def missing(self, what: str, reason: str) -> None:
        self.tally.not_run.append(f"{what}: {reason}")
        if self.everything:
            self.tally.fail(f"{what} (asked for by --all, but {reason})")

    def look_for_gaps(self) -> None:
        """What no single run can tell: whether any test was run at all, and whether all were."""
        if not self.tally.passed and not self.tally.failed:
            self.tally.fail("no test was run; nothing matches what was asked for")
        if self.everything and self.tally.skipped:
            self.tally.fail(f"{self.tally.skipped} skipped (--all leaves nothing out)")


def main() -> int:
    options = argparse.ArgumentParser(
        prog="script/test",
        description="Run the checks and the tests. What is not known here goes to pytest (-k, a path, ...).",
    )
    options.add_argument(
        "--all",
        action="store_true",
        help="also what takes long, on both databases and both brokers, and in the browser; what is missing "
        "here counts as failed",
    )
    options.add_argument("--no-checks", action="store_true", help="only the tests")
    known, extra = options.parse_known_args()
    try:
        environment.run_inside(environment.TEST)
        with tempfile.TemporaryDirectory(prefix="burnline-test-") as folder:
            run = Run(known.all, extra, Path(folder))
            if not known.no_checks:
                run.checks()
            run_tests(run)
            run.look_for_gaps()
    except Trouble as trouble:
        return complain(trouble)
    except KeyboardInterrupt:
        return 130
    return report(run.tally)


def run_tests(run: Run) -> None:
    spread = ["-n", "2", "--dist", "loadfile"]  # a file shares its server, and its order
    run.tests("SQLite and the file broker", "not browser and not postgres and not redis", spread)
    with contextlib.ExitStack() as stack:
        postgres = start(run, stack, services.postgres, "the tests on PostgreSQL")
        redis = start(run, stack, services.redis, "the tests of the worker over Redis")
        if postgres:
            same = [f"--ignore={folder}" for folder in SAME_ON_ANY_DATABASE]
            run.tests(
                "PostgreSQL", "not browser and not redis", [*spread, *same], BURNLINE_DATABASE_URL=postgres
            )
        if redis:
            run.tests("Redis", "redis and not postgres", [], BURNLINE_TEST_REDIS_URL=redis)
        if postgres and redis:
            run.tests(
                "Processes on PostgreSQL and Redis",
                "postgres",
                [PROCESS_TESTS],
                BURNLINE_TEST_POSTGRES_URL=postgres,
                BURNLINE_TEST_REDIS_URL=redis,
            )
    try:
        path = services.chromium()
    except services.Missing as missing:
        run.missing("the browser tests", str(missing))
    else:
        run.tests("Browser", "browser", [], BURNLINE_TEST_CHROMIUM=path)


def start(run: Run, stack: contextlib.ExitStack, service: services.Service, what: str) -> str | None:
    """The URL of the service until the stack closes; None where it is missing or ill, which is then noted."""
    try:
        return stack.enter_context(service())
    except services.Missing as missing:
        run.missing(what, str(missing))
    except Trouble as trouble:
        run.tally.fail(f"{what} ({trouble})")
    return None


def report(tally: Tally) -> int:
    say("")
    for line in tally.not_run:
        say(f"Not run here: {line}.")
    for line in tally.broken:
        say(f"Failed: {line}.")
    say(tally.line())
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
