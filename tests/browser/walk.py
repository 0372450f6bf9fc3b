"""A person with a browser: opens pages, fills fields by their names, saves, and looks at what they show."""

import os
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page

from tests.browser.conftest import PHONE, overflow, small_targets, watch


def nameless(page: Page) -> list[str]:
    """Fields and buttons in sight that say to nobody what they are."""
    found: list[str] = page.evaluate(
        """() => Array.from(document.querySelectorAll("button, a[href], input, select, textarea"))
        .filter(e => e.checkVisibility() && e.type !== "hidden")
        .filter(e => !(e.innerText || "").trim() && !e.getAttribute("aria-label")
                     && !e.getAttribute("aria-labelledby")
                     && !Array.from(e.labels || []).some(label => label.textContent.trim()))
        .map(e => e.outerHTML.slice(0, 120))"""
    )
    return found


class Walker:
    """One person's own browser at phone size; keeps a picture of every step where a folder is named."""

    def __init__(self, browser: Browser, base_url: str, name: str) -> None:
        self.context = browser.new_context(viewport=PHONE, base_url=base_url, has_touch=True, is_mobile=True)
        self.page: Page = self.context.new_page()
        self.page.set_default_timeout(30_000)
        self.problems = watch(self.page)
        self.name = name
        self._steps = 0

    def open(self, path: str) -> None:
        self.page.goto(path)
        self.look(path)

    def fill(self, **fields: Any) -> None:
        """Text into fields, a choice into selects; `name__label` chooses by what is read."""
        for name, value in fields.items():
            by_label = name.endswith("__label")
            field = self.page.locator(
                f'main [name="{name.removesuffix("__label").replace("__", "-")}"]'
            ).first
            if field.evaluate("e => e.tagName") == "SELECT":
                field.select_option(label=value) if by_label else field.select_option(value)
            else:
                field.fill(str(value))

    def press(self, button: str) -> None:
        """Touch a button and wait for the page that follows."""
        with self.page.expect_navigation():
            self.page.get_by_role("button", name=button, exact=True).first.click()
        self.look(button)

    def text(self) -> str:
        return self.page.inner_text("main")

    @property
    def path(self) -> str:
        return re.sub(r"^https?://[^/]+", "", self.page.url).split("?")[0]

    def look(self, what: str) -> None:
        """What must hold on every page, and a picture for whoever looks."""
        assert overflow(self.page) <= 0, f"{what}: wider than the phone"
        assert small_targets(self.page) == [], f"{what}: too small for a thumb"
        assert nameless(self.page) == [], f"{what}: without a name for a screen reader"
        folder = os.environ.get("BURNLINE_SCREENSHOTS")
        if folder:
            self._steps += 1
            slug = re.sub(r"[^a-z]+", "-", what.lower()).strip("-")[:40]
            Path(folder).mkdir(parents=True, exist_ok=True)
            picture = Path(folder) / f"{self.name}-{self._steps:02d}-{slug}.png"
            # To hide the caret it would put a style into the page, which the page's own policy refuses.
            self.page.screenshot(path=picture, full_page=True, caret="initial")
            # A bar that sticks to the edge covers something only in what the screen really shows.
            self.page.screenshot(path=picture.with_suffix(".screen.png"), caret="initial")

    def sign_in(self, username: str, password: str) -> None:
        self.open("/sign-in/")
        self.fill(username=username, password=password)
        self.press("Sign in")
