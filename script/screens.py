"""script/screenshots: walks the demo as its people do and takes a picture of every kind of page.

Pages are found by following links, one of each route, so that a new page needs no entry here. The
pictures are as large as the screen, not the page, and kept small by a palette.
"""

import argparse
import contextlib
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from script import environment, services
from script.trouble import ROOT, Trouble, complain, say

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

SIZES = {"phone": (360, 740), "desktop": (1280, 800)}
# A player's pages come first; what a player does not reach is taken as the coach sees it.
PEOPLE = ("tamsin", "hedda")
# Routes whose answer is no page of its own.
NO_PAGE = {"pattern-csv", "api-schema", "healthz", "authority-certificate"}
ADVICE_SECONDS = 300
CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
]


def main() -> int:
    options = read_options()
    try:
        environment.run_inside(environment.TEST)
        with contextlib.ExitStack() as stack:
            url = options.url or stack.enter_context(server_of_its_own())
            options.folder.mkdir(parents=True, exist_ok=True)
            Walk(url.rstrip("/"), options.folder, may_write=not options.url).run()
    except (Trouble, services.Missing) as trouble:
        return complain(Trouble(str(trouble)))
    except KeyboardInterrupt:
        return 130
    return 0


def read_options() -> argparse.Namespace:
    options = argparse.ArgumentParser(
        prog="script/screenshots", description="Take a picture of every page of the demo, at two sizes."
    )
    options.add_argument("--url", help="a running demo; without it one is started on a new folder")
    options.add_argument("--folder", type=Path, default=ROOT / "docs" / "screens", help="docs/screens")
    return options.parse_args()


@contextlib.contextmanager
def server_of_its_own(*arguments: str) -> Iterator[str]:
    """The address of a new server, with the demo unless told otherwise, gone with its data when done."""
    with tempfile.TemporaryDirectory(prefix="burnline-screens-") as folder:
        command = [str(ROOT / "script" / "server"), "--port", "0", "--data", folder, *arguments]
        # Compiled kernels are kept between runs; compiling them would hold the first advice up.
        variables = {"NUMBA_CACHE_DIR": str(ROOT / ".cache" / "numba"), **os.environ}
        server = subprocess.Popen(
            command, env=variables, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        try:
            yield ready_address(server)
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(timeout=60)


def ready_address(server: subprocess.Popen[str]) -> str:
    heard = []
    for line in server.stdout or ():
        heard.append(line)
        if found := re.search(r"Burnline is ready: (\S+)", line):
            return found.group(1)
    raise Trouble("The demo did not start:\n" + "".join(heard))


class Walk:
    """One walk through the demo; `seen` maps each route to where it was found."""

    def __init__(self, url: str, folder: Path, *, may_write: bool) -> None:
        self.url = url
        self.may_write = may_write
        self.folder = folder
        self.seen: dict[str, str] = {}
        self.weight = 0
        self.failed: list[str] = []

    def run(self) -> None:
        from playwright.sync_api import sync_playwright

        with (
            tempfile.TemporaryDirectory(prefix="burnline-routes-") as routes,
            sync_playwright() as playwright,
        ):
            prepare_routes(routes)
            browser = playwright.chromium.launch(executable_path=services.chromium(), args=CHROMIUM_ARGUMENTS)
            self.picture_signed_out(browser)
            for person in PEOPLE:
                self.walk_as(browser, person)
            if self.may_write:
                self.picture_what_entries_make(browser)
                self.picture_trust(browser)
            browser.close()
        say(f"{2 * len(self.seen)} pictures of {len(self.seen)} pages, {self.weight / 1e6:.1f} MB")
        if self.failed:
            raise Trouble(f"No page came from {', '.join(sorted(set(self.failed)))}.")

    def picture_signed_out(self, browser: "Browser") -> None:
        coach = self.signed_in(browser, PEOPLE[-1], "desktop")
        page = coach.new_page()
        page.goto("/team/")
        form = page.locator('form[action$="/invitations/new/"]')
        found = None
        if form.count():
            form.locator("button").last.click()
            page.wait_for_load_state()
            found = re.search(r"/join/[\w-]+/", page.content())
        coach.close()
        for size in SIZES:
            context = self.context(browser, size)
            page = context.new_page()
            for name, path in (("sign-in", "/sign-in/"), ("join", found.group() if found else "")):
                if path:
                    self.picture(page, name, path, size)
            context.close()

    def walk_as(self, browser: "Browser", person: str) -> None:
        desktop = self.signed_in(browser, person, "desktop")
        page = desktop.new_page()
        if PEOPLE[0] == person:
            wait_for_advice(page)
        # Each person walks one page of every route, so as to find what only they are offered.
        walked: set[str] = set()
        new: dict[str, str] = {}
        waiting, known = ["/"], {"/"}
        while waiting:
            path = waiting.pop(0)
            name = route_of(path)
            if name is None or name in walked or name in NO_PAGE:
                continue
            if name in self.seen:
                answered = self.go(page, path)
            elif answered := self.picture(page, name, path, "desktop"):
                new[name] = path
            if not answered:
                continue
            walked.add(name)
            fresh = [link for link in links_of(page, person.title()) if link not in known]
            known.update(fresh)
            waiting += fresh
        desktop.close()
        phone = self.signed_in(browser, person, "phone")
        page = phone.new_page()
        for name, path in new.items():
            self.picture(page, name, path, "phone")
        phone.close()

    def picture_what_entries_make(self, browser: "Browser") -> None:
        """Pages that exist only after somebody enters something: a practice window, a shot to correct."""
        desktop = self.signed_in(browser, PEOPLE[0], "desktop")
        page = desktop.new_page()
        if "practice-new" in self.seen:
            page.goto(self.seen["practice-new"])
            page.locator("main form[method=post] button").last.click()
            page.wait_for_load_state()
            self.picture_both(browser, page, "practice", urlsplit(page.url).path)
        if "lane-side" in self.seen:
            page.goto(self.seen["lane-side"])
            page.get_by_role("button", name="Strike", exact=True).first.click()
            page.wait_for_timeout(1500)
            page.goto(self.seen["lane-side"])
            for link in links_of(page, ""):
                if route_of(link) == "shot-edit":
                    self.picture_both(browser, page, "shot-edit", link)
                    break
        desktop.close()

    def picture_trust(self, browser: "Browser") -> None:
        """The page that only a server for the network has. That one knows nobody, for the network sees it."""
        with server_of_its_own("--lan", "--no-demo") as address:
            here = f"https://localhost:{urlsplit(address).port}"
            for size in SIZES:
                context = self.context(browser, size, here)
                self.picture(context.new_page(), "trust", "/trust/", size)
                context.close()

    def picture_both(self, browser: "Browser", page: "Page", name: str, path: str) -> None:
        if route_of(path) != name:
            return
        self.picture(page, name, path, "desktop")
        phone = self.signed_in(browser, PEOPLE[0], "phone")
        self.picture(phone.new_page(), name, path, "phone")
        phone.close()

    def context(self, browser: "Browser", size: str, url: str = "") -> "BrowserContext":
        width, height = SIZES[size]
        return browser.new_context(
            viewport={"width": width, "height": height},
            base_url=url or self.url,
            ignore_https_errors=True,
            reduced_motion="reduce",
            color_scheme="light",
            locale="en-GB",
        )

    def signed_in(self, browser: "Browser", person: str, size: str) -> "BrowserContext":
        from sessions.demo.scenario import DEMO_PASSWORD

        context = self.context(browser, size)
        page = context.new_page()
        page.goto("/sign-in/")
        page.fill("input[name=username]", person)
        page.fill("input[name=password]", DEMO_PASSWORD)
        page.locator("main button[type=submit]").click()
        page.wait_for_load_state()
        if route_of(urlsplit(page.url).path) == "sign-in":
            raise Trouble(f"{person} cannot sign in at {self.url}; is it the demo?")
        page.close()
        return context

    def picture(self, page: "Page", name: str, path: str, size: str) -> bool:
        """Take one, unless the address answers with no page."""
        from script.small_png import small_png

        if not self.go(page, path):
            return False
        # Fragments that a page asks for once it is there.
        page.wait_for_timeout(400)
        content = small_png(page.screenshot(full_page=False))
        (self.folder / f"{name}-{size}.png").write_bytes(content)
        self.weight += len(content)
        self.seen[name] = path
        return True

    def go(self, page: "Page", path: str) -> bool:
        """Open an address; whether a page answered."""
        answer = page.goto(path)
        if answer is not None and answer.status >= 500:
            self.failed.append(f"{path} ({answer.status})")
        kind = answer.headers.get("content-type", "") if answer else ""
        return answer is not None and answer.status == 200 and "html" in kind


def prepare_routes(folder: str) -> None:
    """Django, for the names of the routes alone: it needs no data of its own."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    os.environ["BURNLINE_DATA"] = folder
    django.setup()


def route_of(path: str) -> str | None:
    from django.urls import Resolver404, resolve

    try:
        return resolve(path).url_name
    except Resolver404:
        return None


def links_of(page: "Page", name: str) -> list[str]:
    """Addresses the page leads to, those beside the person's own name first."""
    links: list[str] = page.evaluate(
        """name => {
            const links = Array.from(document.querySelectorAll("a[href]"))
                .filter(a => a.origin === location.origin && !a.download);
            const own = a => (a.closest("li, tr, article") || a).textContent.includes(name);
            return [...links.filter(own), ...links.filter(a => !own(a))].map(a => a.pathname);
        }""",
        name,
    )
    return links


def wait_for_advice(page: "Page") -> None:
    """The demo owes advice when it is new; pictures show it answered."""
    end = time.monotonic() + ADVICE_SECONDS
    while time.monotonic() < end:
        page.goto("/")
        if not re.search(r">\s*(Waiting|Working)\s*<", page.content()):
            return
        page.wait_for_timeout(3000)
    say(f"Some advice is still owed after {ADVICE_SECONDS} s; the pictures show it so.")


if __name__ == "__main__":
    sys.exit(main())
