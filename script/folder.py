"""The data folder and the port: taken before anything is started, each refusal in one sentence."""

import errno
import fcntl
import os
import socket
import tempfile
from pathlib import Path
from typing import IO

from script.trouble import Trouble


def open_data_folder(folder: Path) -> None:
    """Make the folder if needed and make sure that it can be written."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except FileExistsError as error:
        raise Trouble(f"The data folder {folder} is a file; choose a folder with --data.") from error
    except OSError as error:
        raise Trouble(
            f"The data folder {folder} cannot be written ({error.strerror}); choose another with --data."
        ) from error


def lock_data_folder(folder: Path) -> IO[str]:
    """Hold the folder for this server until the file is closed or the process ends, however it ends."""
    path = folder / "server.lock"
    try:
        file = path.open("a+")
    except OSError as error:
        raise Trouble(
            f"The file {path} cannot be written ({error.strerror}); "
            "give it to the account that runs Burnline, or choose another folder with --data."
        ) from error
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        file.seek(0)
        holder = file.read().strip() or "unknown"
        file.close()
        raise Trouble(
            f"Burnline already runs on the data folder {folder} (process {holder}); "
            "stop that one, or choose another folder with --data."
        ) from error
    file.truncate(0)
    file.write(f"{os.getpid()}\n")
    file.flush()
    return file


def listen(address: str, port: int) -> socket.socket:
    """A listening socket. It outlives the web server, so that a restart of that one turns nobody away."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        listener.listen(256)
    except OSError as error:
        listener.close()
        if error.errno == errno.EADDRINUSE:
            raise Trouble(f"Port {port} is already in use; choose another with --port.") from error
        raise Trouble(
            f"Port {port} cannot be opened ({error.strerror}); choose another with --port."
        ) from error
    return listener
