"""The project's own Python environment, made and filled when needed. Uses the standard library alone."""

import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from script.trouble import ROOT, Trouble, say

RUN, TEST = "requirements.txt", "requirements-dev.txt"
# What each set of packages holds besides its own.
INCLUDES = {RUN: [RUN], TEST: [TEST, RUN]}


def environment_folder() -> Path:
    return Path(os.environ.get("BURNLINE_VENV") or ROOT / ".venv").absolute()


def run_inside(requirements: str) -> None:
    """Return when this process already runs in the environment; else make it ready and start again in it."""
    folder = environment_folder()
    python = ensure(folder, requirements)
    if Path(sys.prefix).resolve() != folder.resolve():
        sys.stdout.flush()
        os.execv(python, [str(python), *sys.argv])


def ensure(folder: Path, requirements: str) -> Path:
    """The environment's Python, after the packages of `requirements` were installed if they changed."""
    python = folder / "bin" / "python"
    with _lock(folder):
        if not _works(python):
            _make(folder)
        stamp = _stamp_file(folder, requirements)
        if stamp.exists() and stamp.read_text() == _digest(requirements):
            return python
        _install(python, requirements)
        for name in INCLUDES[requirements]:
            _stamp_file(folder, name).write_text(_digest(name))
    return python


def _stamp_file(folder: Path, requirements: str) -> Path:
    return folder / f"installed-{requirements}.sha256"


def _digest(requirements: str) -> str:
    return hashlib.sha256((ROOT / requirements).read_bytes()).hexdigest()


@contextmanager
def _lock(folder: Path) -> Iterator[None]:
    """Two starts at once must not fill the same environment."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with folder.with_name(f"{folder.name}.lock").open("w") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            yield
    except OSError as error:
        raise Trouble(
            f"The environment {folder} cannot be made: {error.strerror or error}; "
            "set BURNLINE_VENV to a folder that can be written."
        ) from error


def _works(python: Path) -> bool:
    if not python.exists():
        return False
    return subprocess.run([python, "-c", "import pip"], capture_output=True).returncode == 0


def _make(folder: Path) -> None:
    if folder.exists():
        if any(folder.iterdir()) and not (folder / "pyvenv.cfg").exists():
            raise Trouble(f"{folder} is no Python environment; move it away, or set BURNLINE_VENV.")
        shutil.rmtree(folder)
    say(f"Making a Python environment in {folder} ...")
    made = subprocess.run([sys.executable, "-m", "venv", folder], capture_output=True, text=True)
    if made.returncode != 0:
        shutil.rmtree(folder, ignore_errors=True)
        raise Trouble(
            f"{sys.executable} cannot make an environment (its venv or ensurepip part is missing); "
            "on Debian and Ubuntu install python3-venv, then run this again."
        )


def _install(python: Path, requirements: str) -> None:
    say(f"Installing the packages of {requirements} (about a minute, only when they changed) ...")
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-input"]
    command += ["--require-hashes", "-r", str(ROOT / requirements)]
    installed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    if installed.returncode != 0:
        reasons = [line for line in installed.stderr.splitlines() if line.startswith("ERROR")]
        raise Trouble(
            f"The packages of {requirements} could not be installed; check the network connection and run "
            f"this again. pip says: {' '.join(reasons) or installed.stderr.strip()}"
        )
