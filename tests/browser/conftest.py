"""Chromium against a live server: phones and desks, signed in, with what the page complained of kept."""

import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page
from pytest_django.live_server_helper import LiveServer

from arsenal.models import Person
from script import services
from script.services import Missing

# The browser's own loop runs in the test's thread; the tests wait for it before they ask the database.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 800}
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path() -> str:
    named = os.environ.get("BURNLINE_CHROMIUM")
    return named or services.chromium()


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    try:
        return {"executable_path": chromium_path(), "args": ARGUMENTS}
    except Missing as missing:
        pytest.skip(str(missing))


def watch(page: Page) -> list[str]:
    """Errors of script and of the content policy, as they come. A refused request is no error of the page."""
    problems: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            problems.append(message.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: problems.append(str(error)))
    return problems


OpenAs = Callable[..., Page]


@pytest.fixture
def open_as(browser: Browser, live_server: LiveServer) -> Iterator[OpenAs]:
    """open_as(person, size=PHONE): a page of a fresh browser, signed in. The test fails if it complained."""
    contexts: list[BrowserContext] = []
    complaints: list[list[str]] = []

    def opened(person: Person | None, size: dict[str, int] = PHONE) -> Page:
        context = browser.new_context(
            viewport=size, base_url=live_server.url, has_touch=size is PHONE, is_mobile=size is PHONE
        )
        contexts.append(context)
        if person is not None:
            client = Client()
            client.force_login(person)
            cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies(
                [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}]
            )
        page = context.new_page()
        complaints.append(watch(page))
        context.on("page", lambda other: complaints.append(watch(other)))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert [words for one in complaints for words in one] == []


def overflow(page: Page) -> int:
    """Pixels by which the page is wider than the screen."""
    script = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    return int(page.evaluate(script))


def small_targets(page: Page) -> list[str]:
    """Buttons and fields in sight that a thumb would miss: less than 44 px high or wide."""
    found: list[str] = page.evaluate(
        """() => Array.from(document.querySelectorAll("main button, main .button, main select, main input"))
        .filter(e => e.checkVisibility() && !["hidden", "checkbox", "radio"].includes(e.type)
                     && !e.classList.contains("unseen"))
        .map(e => [e, e.getBoundingClientRect()])
        .filter(([e, box]) => box.height < 44 || box.width < 44)
        .map(([e, box]) => `${e.outerHTML.slice(0, 80)} ${box.width}x${box.height}`)"""
    )
    return found
