"""The health page, the headers every page carries, and the page of trust where there is nothing to trust."""

from datetime import timedelta

import pytest
from django.db import DatabaseError
from django.test import Client
from django.utils import timezone

from config import health
from config.security import CONTENT_SECURITY_POLICY
from sessions.models import Heartbeat


@pytest.mark.django_db
def test_it_says_that_the_worker_was_never_seen(client: Client) -> None:
    answer = client.get("/healthz")
    assert answer.status_code == 200
    assert answer.json() == {"status": "ok", "database": "ok", "worker_seen_seconds_ago": None}
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.django_db
def test_it_says_how_long_ago_the_worker_was_seen(client: Client) -> None:
    Heartbeat.objects.create(name="worker", beat_at=timezone.now() - timedelta(seconds=90))
    assert 90 <= client.get("/healthz").json()["worker_seen_seconds_ago"] < 120


@pytest.mark.django_db
def test_a_database_that_does_not_answer_is_said_without_its_reason(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(name: str) -> None:
        raise DatabaseError("connection to server at db.example as ada failed")

    monkeypatch.setattr(health, "time_since_beat", fail)
    answer = client.get("/healthz")
    assert answer.status_code == 503
    assert answer.json() == {"status": "failing", "database": "no answer"}


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["post", "put", "delete", "patch"])
def test_it_only_reads(client: Client, method: str) -> None:
    assert getattr(client, method)("/healthz").status_code == 405


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/healthz", "/sign-in/", "/no-such-page/"])
def test_every_page_forbids_what_does_not_come_from_here(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer["Content-Security-Policy"] == CONTENT_SECURITY_POLICY
    assert "unsafe" not in CONTENT_SECURITY_POLICY
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"


@pytest.mark.django_db
@pytest.mark.parametrize("path", ["/trust/", "/trust/burnline-authority.crt"])
def test_without_a_certificate_of_its_own_there_is_nothing_to_trust(client: Client, path: str) -> None:
    assert client.get(path).status_code == 404
