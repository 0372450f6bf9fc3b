"""The generator calls the whole site, which ends a request by closing the connection the test still uses."""

import pytest
from django.db.backends.base.base import BaseDatabaseWrapper


@pytest.fixture(autouse=True)
def connection_outlives_a_request(monkeypatch: pytest.MonkeyPatch) -> None:
    """Django's own test client sees to this for its requests alone."""
    monkeypatch.setattr(BaseDatabaseWrapper, "close_if_unusable_or_obsolete", lambda self: None)
