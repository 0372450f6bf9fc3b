"""Somebody with a phone: logs shots on a real server and waits for the advice."""

import contextlib
import http.client
import re
import time
from collections.abc import Callable
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from tests.conftest import PASSWORD
from tests.ops.seed import state

# Kernels may have to be compiled first, and a lease to run out.
ADVICE_SECONDS = 240


class Bowler:
    """A phone's browser: signs in, posts shots, and tries again with the same uuid when no answer came."""

    def __init__(self, port: int, ids: dict[str, Any]) -> None:
        self.port = port
        self.ids = ids
        self.cookies: dict[str, str] = {}
        # The phone's end of the request that is on its way, once all of it was sent.
        self.sent_from = 0

    def sign_in(self) -> None:
        self.request("GET", "/sign-in/")
        status = self.post("/sign-in/", {"username": self.ids["username"], "password": PASSWORD})
        assert status == 302

    def log(self, frame: int, shot: str, throw: int = 1) -> int:
        fields = {
            "uuid": shot,
            "game_number": 1,
            "frame_number": frame,
            "throw_number": throw,
            "outcome": "clear",
            "ball": self.ids["ball"],
            "laydown_board": 22,
            "target_board": 14,
        }
        return self.post(f"/entries/{self.ids['entry']}/shots/", fields)

    def log_surely(self, frame: int, shot: str) -> None:
        end = time.monotonic() + 60
        while time.monotonic() < end:
            with contextlib.suppress(OSError, http.client.HTTPException):
                assert self.log(frame, shot) == 302
                return
            time.sleep(0.1)
        raise AssertionError("the shot could not be logged within a minute")

    def post(self, path: str, fields: dict[str, Any]) -> int:
        body = urlencode({**fields, "csrfmiddlewaretoken": self.cookies["csrftoken"]})
        return self.request("POST", path, body)

    def request(self, method: str, path: str, body: str | None = None) -> int:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        headers = {
            "Host": f"localhost:{self.port}",
            "Cookie": "; ".join(f"{key}={value}" for key, value in self.cookies.items()),
            "Content-Type": "application/x-www-form-urlencoded",
        }
        try:
            self.sent_from = 0
            connection.request(method, path, body, headers)
            self.sent_from = connection.sock.getsockname()[1]
            answer = connection.getresponse()
            content = answer.read().decode()
        finally:
            connection.close()
        for line in answer.headers.get_all("Set-Cookie") or []:
            self.cookies.update({key: found.value for key, found in SimpleCookie(line).items()})
        assert answer.status < 400, re.sub(r"<[^>]+>|\s+", " ", content)[-2000:]
        return answer.status


def wait_for(
    data: Path, wanted: Callable[[dict[str, Any]], bool], seconds: float, **variables: str
) -> dict[str, Any]:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = state(data, **variables)
        if wanted(found):
            return found
    raise AssertionError(f"not within {seconds} s: {found}")


def all_answered(found: dict[str, Any]) -> bool:
    return bool(found["owed"]) and all(row["done"] == row["wanted"] for row in found["owed"])
