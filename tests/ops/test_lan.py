"""script/server --lan, reached as a phone reaches it: over TLS, by a name that is not this machine's own."""

import http.client
import re
import socket
import ssl
import uuid
from collections.abc import Iterator
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from script import network
from tests.conftest import PASSWORD
from tests.ops.running import RunningServer
from tests.ops.seed import seed, state

NAME = "bowl.example"


class Phone:
    """Knows NAME by a resolver of its own, trusts one authority, and keeps cookies as a browser does."""

    def __init__(self, port: int, authority: Path | None) -> None:
        self.port = port
        self.context = ssl.create_default_context(cafile=str(authority) if authority else None)
        self.cookies: dict[str, str] = {}

    def request(
        self, method: str, path: str, body: str = "", name: str = NAME, **headers: str
    ) -> tuple[http.client.HTTPResponse, bytes]:
        connection = http.client.HTTPSConnection(name, self.port, context=self.context, timeout=30)
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=30)
        connection.sock = self.context.wrap_socket(plain, server_hostname=name)
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if self.cookies:
            sent["Cookie"] = "; ".join(f"{key}={value}" for key, value in self.cookies.items())
        try:
            connection.request(method, path, body or None, sent)
            answer = connection.getresponse()
            content = answer.read()
        finally:
            connection.close()
        for line in answer.headers.get_all("Set-Cookie") or []:
            self.cookies.update({key: found.value for key, found in SimpleCookie(line).items()})
        return answer, content

    def submit(self, path: str, body: str) -> tuple[http.client.HTTPResponse, bytes]:
        """Post a form as the page it came from would."""
        return self.request(
            "POST",
            path,
            f"csrfmiddlewaretoken={self.cookies['csrftoken']}&{body}",
            Content_Type="application/x-www-form-urlencoded",
            Origin=f"https://{NAME}:{self.port}",
            Referer=f"https://{NAME}:{self.port}{path}",
        )


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    data = tmp_path_factory.mktemp("lan") / "data"
    with RunningServer(data, "--no-demo", "--lan", "--name", NAME) as running:
        yield running


@pytest.fixture
def phone(server: RunningServer) -> Phone:
    return Phone(server.port, server.data / "certificates" / "authority.crt")


def test_it_prints_the_name_and_every_address(server: RunningServer) -> None:
    assert server.url == f"https://{NAME}:{server.port}"
    printed = "\n".join(server.output)
    for address in network.addresses():
        assert f"https://{address}:{server.port}/" in printed


def test_a_phone_without_the_authority_is_warned(server: RunningServer) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        Phone(server.port, None).request("GET", "/healthz")


def test_a_phone_with_the_authority_is_not(phone: Phone) -> None:
    answer, _ = phone.request("GET", "/healthz")
    assert answer.status == 200


def test_a_name_nobody_gave_is_refused(server: RunningServer, phone: Phone) -> None:
    phone.context.check_hostname = False
    answer, content = phone.request("GET", "/sign-in/", name="elsewhere.example")
    assert answer.status == 400
    assert b"Traceback" not in content


def test_the_page_of_trust_shows_the_printed_fingerprint_and_gives_that_certificate(
    server: RunningServer, phone: Phone
) -> None:
    printed = re.search(r"(?:[0-9A-F]{2}:){31}[0-9A-F]{2}", "\n".join(server.output))
    assert printed
    answer, page = phone.request("GET", "/trust/")
    assert answer.status == 200
    assert printed.group().encode() in page
    answer, certificate = phone.request("GET", "/trust/burnline-authority.crt")
    assert answer.headers["Content-Type"] == "application/x-x509-ca-cert"
    found = x509.load_der_x509_certificate(certificate).fingerprint(hashes.SHA256())
    assert found.hex(":").upper() == printed.group()


def test_no_key_is_served(phone: Phone) -> None:
    for path in ("/trust/authority.key", "/static/authority.key", "/trust/../certificates/server.key"):
        answer, content = phone.request("GET", path)
        assert answer.status == 404
        assert b"PRIVATE" not in content


def test_cookies_travel_only_over_tls(phone: Phone) -> None:
    answer, _ = phone.request("GET", "/sign-in/")
    assert answer.status == 200
    lines = answer.headers.get_all("Set-Cookie") or []
    assert lines
    assert [line for line in lines if "; Secure" not in line] == []


def test_somebody_signs_in_and_logs_a_shot_by_that_name(server: RunningServer, phone: Phone) -> None:
    ids = seed(server.data)
    phone.request("GET", "/sign-in/")
    answer, content = phone.submit(
        "/sign-in/", urlencode({"username": ids["username"], "password": PASSWORD})
    )
    assert answer.status == 302, content
    shot = str(uuid.uuid4())
    fields = {"uuid": shot, "game_number": 1, "frame_number": 1, "throw_number": 1}
    fields |= {"outcome": "clear", "ball": ids["ball"]}
    answer, content = phone.submit(f"/entries/{ids['entry']}/shots/", urlencode(fields))
    assert answer.status == 302, content
    assert state(server.data)["shots"] == [shot]


def test_a_form_from_another_site_is_refused(server: RunningServer, phone: Phone) -> None:
    phone.request("GET", "/sign-in/")
    answer, _ = phone.request(
        "POST",
        "/sign-in/",
        f"csrfmiddlewaretoken={phone.cookies['csrftoken']}&username=bo&password=x",
        Content_Type="application/x-www-form-urlencoded",
        Origin="https://elsewhere.example",
    )
    assert answer.status == 403
