"""The whole main job as a new team does it on a phone, with the real server, worker and scheduler."""

import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.walk import Walker
from tests.ops.running import ROOT, RunningServer, clean_environment

pytestmark = pytest.mark.browser
ADVICE_MS = 150_000
PASSWORD = "gulls-over-the-quay-9"
# Oil in units by band, from the right edge to the left, at 2, 20 and 38 ft.
BANDS = (
    (8, 6, 3),
    (10, 8, 4),
    (14, 10, 5),
    (18, 13, 6),
    (20, 14, 7),
    (18, 13, 6),
    (14, 10, 5),
    (10, 8, 4),
    (8, 6, 3),
)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningServer]:
    with RunningServer(tmp_path_factory.mktemp("walk") / "data", "--no-demo") as running:
        yield running


def first_coach(data: Path) -> str:
    """The password that `manage.py first_coach` prints."""
    made = subprocess.run(
        [sys.executable, "manage.py", "first_coach", "mara", "Quay Street Gulls"],
        cwd=ROOT,
        env=clean_environment(BURNLINE_DATA=str(data)),
        capture_output=True,
        text=True,
        check=True,
    )
    found = re.search(r"with (\S+),", made.stdout)
    assert found, made.stdout
    return found.group(1)


def invite_and_join(coach: Walker, browser: Browser, url: str) -> Walker:
    coach.open("/team/")
    coach.fill(role="player", note="Tove")
    coach.press("Make a link")
    link = coach.page.get_by_label("Link to send").input_value()
    player = Walker(browser, url, "player")
    player.open(link)
    player.fill(first_name="Tove", username="tove", password1=PASSWORD, password2=PASSWORD)
    player.press("Make an account and join")
    # The link worked once: to a stranger it is now as if it had never been.
    stranger = browser.new_page()
    answer = stranger.goto(link)
    assert answer is not None and answer.status == 404
    stranger.close()
    return player


def make_bag(player: Walker) -> str:
    """The player's card, strike and spare release, three balls with layout and surface; returns its path."""
    player.open("/bags/new/")
    player.fill(name="Tove Arneby", hand="right", pap_over_in="5", pap_up_in="0.5")
    player.press("Save")
    bag = player.path
    for kind, speed, revs, rotation in (("strike", 17.3, 340, 48), ("spare", 18.4, 200, 15)):
        player.open(f"{bag}releases/new/")
        player.fill(kind=kind, speed_mph=speed, rev_rate_rpm=revs, axis_rotation_deg=rotation)
        player.press("Save")
    balls = (
        ("Slate Gull", "reactive_solid", "2.50", "0.050", "strong", "1000"),
        ("Middle Pier", "reactive_hybrid", "2.53", "0.044", "benchmark", "2000"),
        ("Chalk Egg", "plastic", "2.69", "0.010", "spare", ""),
    )
    for name, cover, rg, differential, role, grit in balls:
        player.open(f"{bag}balls/new/")
        player.fill(name=name, cover=cover, weight_lb="15", rg_in=rg, differential_in=differential, role=role)
        player.press("Save")
        ball = player.path
        if not grit:
            continue
        player.open(f"{ball}layout/")
        player.fill(pin_to_pap_in="4.5", drilling_angle_deg="60", val_angle_deg="40")
        player.press("Save")
        player.open(f"{ball}surface/new/")
        player.fill(grits="99999", minutes="4")
        player.press("Save")
        assert "99999" in player.text() and re.search(r"99999.*(allowed|to 5000)", player.text())
        assert player.page.locator("[name=minutes]").input_value() == "4"
        player.fill(grits=grit)
        player.press("Save")
        assert f"Sanded: {grit}" in player.text()
    return bag


def type_sheet(coach: Walker) -> None:
    coach.open("/patterns/new/")
    coach.fill(name="Ferry Flat", length_ft="40", distance__0="2", distance__1="20", distance__2="38")
    for row, values in enumerate(BANDS):
        coach.fill(**{f"cell__{row}__{column}": value for column, value in enumerate(values)})
    coach.fill(cell__4__1="lots")
    coach.press("Save pattern")
    wrong = coach.page.locator("[name=cell-4-1]")
    assert wrong.get_attribute("aria-invalid") == "true" and wrong.input_value() == "lots"
    assert coach.page.locator("[name=cell-8-2]").input_value() == "3"
    coach.fill(cell__4__1="14")
    coach.press("Save pattern")
    assert re.search(r"Total volume\s+2\d\.\d+ mL", coach.text())


def make_event(coach: Walker) -> str:
    """House, event with its rules, an open block on the dressed lanes. Returns the block's path."""
    coach.open("/houses/new/")
    coach.fill(name="Quay Bowl", lanes="8")
    coach.press("Save")
    house = coach.path
    today = datetime.now(UTC).date()
    coach.open("/events/new/")
    coach.fill(name="Quay Open", house__label="Quay Bowl", starts_on=str(today), ends_on=str(today))
    coach.press("Save")
    assert "Unset means before the event only" in coach.text()
    assert "Ask the tournament director" in re.sub(r"\s+", " ", coach.text())
    event = coach.path
    coach.open(f"{event}blocks/new/")
    begins = (datetime.now(UTC) - timedelta(minutes=10)).strftime("%Y-%m-%dT%H:%M")
    coach.fill(name="Squad A", games_planned="3", starts_at=begins, pattern_version__label="Ferry Flat v1")
    coach.press("Save")
    block = coach.path
    coach.open(house)
    coach.page.get_by_label("Before which block").select_option(index=1)
    for lane in ("1", "2", "3", "4"):
        coach.page.locator(f'main [name="lanes"][value="{lane}"]').check()
    coach.press("Save")
    assert "Ferry Flat" in coach.text()
    coach.open(f"{block}enter/")
    coach.fill(bowler__label="Tove Arneby")
    coach.press("Enter")
    coach.fill(lane="1", move_pairs="1", first_lane="1", last_lane="8")
    coach.press("Plan all games")
    assert "on 1–2" in coach.text() and "on 3–4" in coach.text()
    return block


class Taps:
    """Counts what a thumb does."""

    def __init__(self, page: Page) -> None:
        self.page, self.count = page, 0
        page.wait_for_timeout(700)  # taps right after a change are ignored on purpose

    def touch(self, role: str, name: str) -> None:
        self.page.get_by_role(role, name=name).first.tap()  # type: ignore[arg-type]
        self.count += 1

    def pin(self, number: int) -> None:
        self.page.locator(f".pin:has(input[value='{number}'])").tap()
        self.count += 1


def log_first_frames(player: Walker) -> None:
    page = player.page
    said = page.locator(".said")
    strike = Taps(page)
    strike.touch("button", "Strike")
    expect(said).to_contain_text("strike")
    assert strike.count <= 4
    leave = Taps(page)
    for pin in (6, 10):
        leave.pin(pin)
    leave.touch("button", "Log pins left")
    expect(said).to_contain_text("6-10")
    assert leave.count <= 4
    spare = Taps(page)
    spare.touch("button", "Spare")
    expect(said).to_contain_text("spare")
    assert spare.count <= 4
    player.look("lane side")


def kept_shots(player: Walker) -> tuple[int, int]:
    """How many shots are in the record, and how many of them were undone."""
    answer = player.context.request.get("/api/shots/").json()
    shots = answer["results"] if isinstance(answer, dict) else answer
    return len(shots), sum(shot["undone_at"] is not None for shot in shots)


def computed_at(page: Page) -> str:
    found = re.search(r"Computed (\d\d:\d\d:\d\d)", page.inner_text(".advice-here"))
    return found.group(1) if found else ""


def test_a_new_team_gets_from_an_empty_server_to_advice(browser: Browser, server: RunningServer) -> None:
    coach = Walker(browser, server.url, "coach")
    coach.sign_in("mara", first_coach(server.data))
    assert "First steps" in coach.text()
    player = invite_and_join(coach, browser, server.url)
    make_bag(player)
    type_sheet(coach)
    block = make_event(coach)

    player.open(block)
    with player.page.expect_navigation():
        player.page.get_by_role("link", name="Lane side").first.click()
    page = player.page
    advice = page.locator(".advice-here")
    log_first_frames(player)

    # Advice comes by itself to the page that is open.
    expect(advice).to_contain_text("Up to date", timeout=ADVICE_MS)
    expect(advice).to_contain_text("Lane 1")
    expect(advice).to_contain_text("Lane 2")
    before = computed_at(page)
    # Nobody has said a line yet: it says what it needs instead of guessing.
    expect(advice).to_contain_text("Not enough known")
    page.get_by_text("Why, how sure, and the lanes").click()
    player.look("advice")

    # A shot with its line makes that advice old, says so, and new advice follows.
    page.get_by_text("change", exact=True).first.click()
    player.fill(laydown_board="14", target_board="11")
    page.locator(".chip", has_text="light").first.click()
    Taps(page).touch("button", "Strike")
    expect(advice).to_contain_text(re.compile("Waiting|Working|Stale"))
    page.wait_for_function(
        """before => { const said = document.querySelector(".advice-here").innerText;
        return said.includes("Up to date") && !said.includes(before); }""",
        arg=before or "Computed never",
        timeout=ADVICE_MS,
    )
    assert computed_at(page) > before
    expect(advice).to_contain_text(re.compile("Stay|Move|Change ball"))
    page.get_by_text("Why, how sure, and the lanes").click()
    player.look("new advice")
    coach.open("/")
    assert "Game 1 on 1–2" in coach.text() and re.search("Stay|Move|Change ball", coach.text())

    # Undo keeps the record; the next game is typed as a line; scores are computed.
    Taps(page).touch("button", "Undo")
    expect(page.locator(".strip li").nth(2).locator(".marks")).not_to_contain_text("X")
    player.open(re.sub(r"/lane-side/$", "/games/2/line/", player.path))
    player.fill(notation="X 9/ 81 X X 7/ 9- X 8/ X9/")
    page.locator('main select[name$="ball"]').first.select_option(label="Middle Pier")
    player.press("Save the game")
    # The pair it crosses to is answered without being asked.
    expect(advice).to_contain_text("Lane 5", timeout=ADVICE_MS)
    expect(advice).to_contain_text("Up to date", timeout=ADVICE_MS)
    player.look("next pair")
    player.open(f"{block}review/")
    assert "3 shots" in player.text() and kept_shots(player) == (4, 1)
    for folded in page.locator(".review-game summary:not(.paths summary)").all():
        folded.click()
    player.look("review unfolded")
    # By hand, by the rules: 20, 38, 47, 74, 94, 113, 122, 142, 162, 182.
    assert re.search(r"\b182\b", player.text())
    for walker in (coach, player):
        assert walker.problems == []
