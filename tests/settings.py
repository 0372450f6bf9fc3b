"""The project's settings with what tests need otherwise: a data folder of their own and quick passwords."""

import os
from pathlib import Path

_CACHE = Path(__file__).resolve().parent.parent / ".cache"
os.environ.setdefault("BURNLINE_DATA", str(_CACHE / "test-data"))
# Compiled kernels outlive a run; compiling them costs far more than the tests do.
os.environ.setdefault("NUMBA_CACHE_DIR", str(_CACHE / "numba"))

from config.settings import *  # noqa: E402, F403

ALLOWED_HOSTS = ["*"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Named static files need a collected manifest, which a test run has not.
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Messages sent by a test reach no worker; tests of real workers start one with settings of its own.
CELERY_BROKER_URL = "memory://"
CELERY_BROKER_TRANSPORT = "memory"
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, object] = {}
