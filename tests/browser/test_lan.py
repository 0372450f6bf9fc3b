"""A phone's browser reaches the server by a name in the building, over TLS, and logs a shot."""

import base64
import hashlib
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import Playwright, expect

from tests.browser.conftest import ARGUMENTS, PHONE, chromium_path
from tests.conftest import PASSWORD
from tests.ops.running import RunningServer
from tests.ops.seed import seed, state

pytestmark = pytest.mark.browser
NAME = "bowl.example"


def key_of(certificate: Path) -> str:
    """The digest by which Chromium can be told to trust this one certificate, as a phone is told by hand."""
    key = x509.load_pem_x509_certificate(certificate.read_bytes()).public_key()
    spki = key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(spki).digest()).decode()


def test_a_browser_signs_in_and_logs_a_shot_over_tls(playwright: Playwright, tmp_path: Path) -> None:
    with RunningServer(tmp_path / "data", "--no-demo", "--lan", "--name", NAME) as server:
        ids = seed(server.data)
        trusted = key_of(server.data / "certificates" / "server.crt")
        browser = playwright.chromium.launch(
            executable_path=chromium_path(),
            args=[
                *ARGUMENTS,
                f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
                f"--ignore-certificate-errors-spki-list={trusted}",
            ],
        )
        try:
            page = browser.new_page(viewport=PHONE, base_url=f"https://{NAME}:{server.port}")
            page.goto("/sign-in/")
            assert page.evaluate("window.isSecureContext")
            page.get_by_label("Username").fill(ids["username"])
            page.get_by_label("Password").fill(PASSWORD)
            page.locator("main button[type=submit]").click()
            page.goto(f"/entries/{ids['entry']}/lane-side/")
            page.get_by_role("button", name="Strike").click()
            expect(page.locator(".said")).to_contain_text("strike")
        finally:
            browser.close()
        assert len(state(server.data)["shots"]) == 1
