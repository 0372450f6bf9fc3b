"""The signing key of an installation that was given none: made once, kept in the data folder."""

import os
import secrets
from pathlib import Path


def read_or_make_secret_key(path: Path) -> str:
    """The key in `path`, made on first use.

    Web server, worker and scheduler start together. The key is written whole under a name of its own and
    then linked to its place, which only one of them can do; the others read what that one wrote.
    """
    if not path.exists():
        draft = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}")
        descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with os.fdopen(descriptor, "w", encoding="ascii") as file:
                file.write(secrets.token_urlsafe(64))
                file.flush()
                os.fsync(file.fileno())
            try:
                os.link(draft, path)
            except FileExistsError:
                pass  # another process was first
        finally:
            draft.unlink()
    return path.read_text(encoding="ascii").strip()
