"""How script/test counts, what it says of what is missing, and its last line."""

import contextlib
import subprocess
import sys
from pathlib import Path

import pytest

from script import services
from script.check import Run, Tally, report, start
from script.trouble import Trouble
from tests.ops.running import ROOT, clean_environment

ONE_OF_EACH = """
import pytest

def test_good():
    assert True

def test_bad():
    assert False

@pytest.mark.skip(reason="for the count")
def test_skipped():
    pass

@pytest.fixture
def broken():
    raise RuntimeError

def test_error(broken):
    pass

@pytest.mark.long
def test_long():
    pass
"""


@pytest.fixture
def module(tmp_path: Path) -> Path:
    # Beside a configuration of its own, so that it knows nothing of Django.
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = long\n")
    path = tmp_path / "test_counting.py"
    path.write_text(ONE_OF_EACH)
    return path


def counted(module: Path, everything: bool) -> Tally:
    run = Run(everything, ["-p", "no:django", "-c", str(module.parent / "pytest.ini")], module.parent)
    run.tests("counting", "not browser", [str(module)])
    return run.tally


def test_errors_count_as_failed_and_long_tests_wait_for_all(module: Path) -> None:
    tally = counted(module, everything=False)
    assert (tally.passed, tally.failed, tally.skipped) == (1, 2, 1)
    assert tally.line() == "1 passed, 2 failed, 1 skipped"
    assert counted(module, everything=True).passed == 2


def test_a_module_that_cannot_be_read_counts_as_failed(module: Path) -> None:
    module.write_text("import nothing_of_this_name")
    assert counted(module, everything=False).failed == 1


def test_runs_are_added_up(module: Path) -> None:
    module.write_text("def test_good(): pass")
    run = Run(False, ["-p", "no:django", "-c", str(module.parent / "pytest.ini")], module.parent)
    for _ in range(2):
        run.tests("counting", "not browser", [str(module)])
    assert run.tally.line() == "2 passed, 0 failed"


def test_a_run_without_any_test_is_a_failure_unless_tests_were_chosen(tmp_path: Path) -> None:
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    run = Run(True, [], tmp_path)
    run.tests("nothing", "long", ["-p", "no:django", "-c", str(tmp_path / "pytest.ini"), str(tmp_path)])
    assert run.tally.failed == 1
    run = Run(False, ["-k", "nothing"], tmp_path)
    run.tests("nothing", "long", ["-p", "no:django", "-c", str(tmp_path / "pytest.ini"), str(tmp_path)])
    assert run.tally.failed == 0


@pytest.mark.parametrize(("everything", "code"), [(False, 0), (True, 1)])
def test_a_stage_with_only_long_tests_is_put_off_in_the_short_mode_and_said_so(
    module: Path, capsys: pytest.CaptureFixture[str], everything: bool, code: int
) -> None:
    own = ["-p", "no:django", "-c", str(module.parent / "pytest.ini"), str(module)]
    module.write_text("import pytest\n\n@pytest.mark.long\ndef test_long(): pass\n")
    run = Run(everything, [], module.parent, Tally(passed=3))
    run.tests("Elsewhere", "not browser" if not everything else "browser", own)
    assert report(run.tally) == code
    said = "Not run here: Elsewhere: nothing short here, script/test --all runs it."
    assert (said in capsys.readouterr().out) is not everything


def test_all_leaves_nothing_out_and_nothing_at_all_is_no_success(tmp_path: Path) -> None:
    run = Run(True, [], tmp_path, Tally(passed=5, skipped=1))
    run.look_for_gaps()
    assert run.tally.broken == ["1 skipped (--all leaves nothing out)"]
    run = Run(False, [], tmp_path, Tally(passed=5, skipped=1))
    run.look_for_gaps()
    assert run.tally.broken == []
    run = Run(False, ["-k", "nothing"], tmp_path)
    run.look_for_gaps()
    assert report(run.tally) == 1


def test_a_service_that_does_not_start_is_a_failure_and_the_rest_goes_on(tmp_path: Path) -> None:
    def ill() -> None:
        raise Trouble("It was started for the tests and did not answer.")

    run = Run(False, [], tmp_path)
    with contextlib.ExitStack() as stack:
        assert start(run, stack, ill, "the tests on Elsewhere") is None  # type: ignore[arg-type]
    assert run.tally.failed == 1


def test_the_settings_of_an_installation_are_no_part_of_the_tests(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BURNLINE_DATABASE_URL", "postgresql://real")
    monkeypatch.setenv("BURNLINE_TEST_REDIS_URL", "redis://tests")
    found = Run(False, [], tmp_path).variables
    assert "BURNLINE_DATABASE_URL" not in found
    assert found["BURNLINE_TEST_REDIS_URL"] == "redis://tests"


def missing_service() -> services.Service:
    def service() -> None:
        raise services.Missing("it is not installed")

    return service  # type: ignore[return-value]


@pytest.mark.parametrize(("everything", "code"), [(False, 0), (True, 1)])
def test_what_is_missing_is_said_and_is_a_failure_only_where_all_was_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], everything: bool, code: int
) -> None:
    run = Run(everything, [], tmp_path)
    run.tally.passed = 7
    with contextlib.ExitStack() as stack:
        assert start(run, stack, missing_service(), "the tests on Elsewhere") is None
    assert report(run.tally) == code
    said = capsys.readouterr().out.strip().splitlines()
    assert said[0] == "Not run here: the tests on Elsewhere: it is not installed."
    assert said[-1] == f"7 passed, {code} failed"


def test_the_whole_script_ends_with_the_count(tmp_path: Path) -> None:
    """With a PATH that holds no service."""
    result = subprocess.run(
        [sys.executable, ROOT / "script" / "check.py", "--no-checks", "tests/ops/test_secret_key.py"],
        env=clean_environment(PATH=str(tmp_path)),
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert result.returncode == 0, result.stdout + result.stderr
    # Debian keeps PostgreSQL off the PATH; where it is installed, the two tests run on it as well.
    assert result.stdout.strip().splitlines()[-1] in ("2 passed, 0 failed", "4 passed, 0 failed")
    assert "Not run here: the tests of the worker over Redis: no redis-server is installed" in result.stdout
    assert "Not run here: the browser tests: no Chromium is installed." in result.stdout
