"""Settings that are allowed but wrong, as system checks with a hint."""

import os
import stat
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register

from config.lifeline import PARENT_VARIABLE

LOOPBACK = {"localhost", "127.0.0.1", "[::1]"}
# Read by script/server and script/test, before there are settings.
SCRIPT_VARIABLES = {PARENT_VARIABLE, "BURNLINE_VENV", "BURNLINE_PYTHON"}


@register(Tags.security)
def check_settings(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    return [*_check_hosts(), *_check_key(), *_check_names(), *_check_folder()]


def _check_hosts() -> list[CheckMessage]:
    found: list[CheckMessage] = []
    if "*" in settings.ALLOWED_HOSTS:
        found.append(
            Warning(
                "BURNLINE_HOSTS allows every host name.",
                hint="List the names people type, separated by commas.",
                id="burnline.W001",
            )
        )
    if settings.DEBUG and set(settings.ALLOWED_HOSTS) - LOOPBACK:
        found.append(
            Error(
                "BURNLINE_DEBUG is on while other machines may connect.",
                hint="Debug pages show settings and source; unset BURNLINE_DEBUG.",
                id="burnline.E001",
            )
        )
    return found


def _check_key() -> list[CheckMessage]:
    if len(settings.SECRET_KEY) >= 50:
        return []
    return [
        Error(
            f"BURNLINE_SECRET_KEY has {len(settings.SECRET_KEY)} characters; it needs at least 50.",
            hint="Unset it to have one made in the data folder.",
            id="burnline.E002",
        )
    ]


def _check_names() -> list[CheckMessage]:
    known = settings.ENVIRONMENT_NAMES | SCRIPT_VARIABLES
    return [
        Warning(
            f"{name} is set, but no setting has that name.",
            hint=f"Settings are: {', '.join(sorted(settings.ENVIRONMENT_NAMES))}.",
            id="burnline.W002",
        )
        for name in sorted(os.environ)
        if name.startswith("BURNLINE_") and not name.startswith("BURNLINE_TEST_") and name not in known
    ]


def _check_folder() -> list[CheckMessage]:
    mode = stat.S_IMODE((settings.DATA_DIR / "secret-key").stat().st_mode) if _has_key_file() else 0
    if not mode & 0o077:
        return []
    return [
        Warning(
            f"Others on this machine can read the secret key (mode {mode:o}).",
            hint=f"chmod 600 {settings.DATA_DIR / 'secret-key'}",
            id="burnline.W003",
        )
    ]


def _has_key_file() -> bool:
    return (settings.DATA_DIR / "secret-key").exists()
