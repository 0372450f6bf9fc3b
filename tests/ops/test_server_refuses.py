"""What keeps script/server from starting is said in one sentence, and the exit code tells."""

import os
import socket
import subprocess
from pathlib import Path

import pytest

from script.folder import lock_data_folder
from tests.ops.running import ROOT, clean_environment, run_server


def sentence(result: subprocess.CompletedProcess[str]) -> str:
    assert result.returncode != 0
    assert "Traceback" not in result.stdout + result.stderr
    assert len(result.stderr.strip().splitlines()) == 1, result.stderr
    return result.stderr


def test_a_port_in_use(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        said = sentence(run_server("--port", str(port), "--data", str(tmp_path / "data")))
    assert f"Port {port} is already in use" in said
    assert "--port" in said


def test_a_data_folder_that_is_a_file(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.write_text("mine")
    assert "is a file" in sentence(run_server("--data", str(file)))
    assert file.read_text() == "mine"


@pytest.mark.parametrize("folder", ["/proc/burnline", "/dev/null/burnline"])
def test_a_data_folder_that_nobody_can_write(folder: str) -> None:
    said = sentence(run_server("--data", folder))
    assert f"The data folder {folder} cannot be written" in said
    assert "--data" in said


def test_a_second_server_on_the_same_data_folder(tmp_path: Path) -> None:
    with lock_data_folder(tmp_path):
        said = sentence(run_server("--port", "0", "--data", str(tmp_path)))
    assert f"already runs on the data folder {tmp_path} (process {os.getpid()})" in said


def test_a_file_in_the_data_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "server.lock").mkdir()
    said = sentence(run_server("--port", "0", "--data", str(tmp_path)))
    assert f"The file {tmp_path / 'server.lock'} cannot be written" in said


@pytest.mark.parametrize("value", ["https://bowl.example", "bowl.example:8000", "bücher", "a b", "::1", ""])
def test_a_name_that_is_none(tmp_path: Path, value: str) -> None:
    result = run_server("--lan", f"--name={value}", "--data", str(tmp_path))
    assert result.returncode == 2
    assert f"{value!r} is no name of this machine; give a host name such as bowl.example" in result.stderr


def test_a_name_without_the_network(tmp_path: Path) -> None:
    result = run_server("--name", "bowl.example", "--data", str(tmp_path))
    assert result.returncode == 2
    assert "--name goes with --lan" in result.stderr


@pytest.mark.parametrize("value", ["65536", "-1", "eighty", "8000.5", ""])
def test_a_port_that_is_none(value: str) -> None:
    result = run_server(f"--port={value}")
    assert result.returncode == 2
    assert "a whole number from 0 to 65535" in result.stderr


@pytest.mark.parametrize("script", ["server", "test"])
@pytest.mark.parametrize("version", ["2.7", "3.6", "3.10"])
def test_a_python_too_old(tmp_path: Path, script: str, version: str) -> None:
    old = tmp_path / "python3"
    old.write_text(f"#!/bin/sh\necho {version}\n")
    old.chmod(0o755)
    result = subprocess.run(
        ["/bin/sh", ROOT / "script" / script],
        capture_output=True,
        text=True,
        # Nothing else is on the path but what a shell script needs.
        env={**clean_environment(), "BURNLINE_PYTHON": "", "PATH": f"{tmp_path}:{_bare_path(tmp_path)}"},
    )
    said = sentence(result)
    assert "needs Python 3.11 or newer" in said
    assert f"only Python {version}" in said


def test_no_python_at_all(tmp_path: Path) -> None:
    result = subprocess.run(
        ["/bin/sh", ROOT / "script" / "server"],
        capture_output=True,
        text=True,
        env={"PATH": _bare_path(tmp_path)},
    )
    assert "none was found here" in sentence(result)


def _bare_path(folder: Path) -> str:
    bare = folder / "bin"
    bare.mkdir()
    (bare / "dirname").symlink_to("/usr/bin/dirname")
    return str(bare)
