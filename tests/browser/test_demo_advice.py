"""The demo as a newcomer meets it: a game logged on the half-bowled block brings advice to the open page."""

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from sessions.demo.scenario import DEMO_PASSWORD
from tests.browser.walk import Walker
from tests.ops.running import RunningServer

pytestmark = pytest.mark.browser
ADVICE_MS = 150_000


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    with RunningServer(tmp_path_factory.mktemp("demo") / "data") as running:
        yield running


def test_a_game_typed_on_one_page_brings_advice_to_another_that_is_open(
    browser: Browser, demo: RunningServer
) -> None:
    tamsin = Walker(browser, demo.url, "demo")
    tamsin.sign_in("tamsin", DEMO_PASSWORD)
    with tamsin.page.expect_navigation():
        tamsin.page.get_by_role("link", name="Tamsin Orrel").first.click()
    advice = tamsin.page.locator(".advice-here")
    expect(advice).to_contain_text("Up to date", timeout=ADVICE_MS)
    before = advice.inner_text()
    computed = re.search(r"Computed \d\d:\d\d:\d\d", before)
    assert computed, before

    other = tamsin.context.new_page()
    other.goto(re.sub(r"/lane-side/$", "/games/4/line/", tamsin.path))
    other.locator('main [name="notation"]').fill("9/ X 8/ X 7/ 9- X X 8/ X9/")
    other.locator('main select[name$="ball"]').first.select_option(label="Fen Candle")
    other.locator('main [name$="laydown_board"]').first.fill("16")
    other.locator('main [name$="target_board"]').first.fill("13")
    with other.expect_navigation():
        other.get_by_role("button", name="Save the game").click()

    # The first page was never reloaded: it says that its advice is old, and then shows the new one.
    tamsin.page.bring_to_front()
    expect(advice).not_to_contain_text(computed.group(), timeout=ADVICE_MS)
    expect(advice).to_contain_text("Up to date", timeout=ADVICE_MS)
    expect(advice).to_contain_text(re.compile("Stay|Move|Change ball"))
    assert tamsin.problems == []
