"""Patterns as a person meets them: on a phone, with slips, a lost net, a crash and a double tap."""

import re

import pytest
from playwright.sync_api import Page, expect

from patterns.models import Pattern, PatternVersion
from patterns.sheet_types import MAX_DISTANCES, MAX_PASSES, MAX_ROWS
from tests.browser.conftest import DESK, PHONE, OpenAs, overflow, small_targets
from tests.conftest import Cast

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

OIL = ["6", "8", "14", "22", "26", "22", "14", "8", "6"]


def fill_sheet(page: Page, name: str = "Willow Bend") -> None:
    page.goto("/patterns/new/")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Length, ft").fill("40")
    page.get_by_label("Distance 1, feet").fill("8")
    for i, oil in enumerate(OIL):
        page.locator(f"#cell-{i}-0").fill(oil)


def drafts(page: Page) -> list[str]:
    keys: list[str] = page.evaluate("Object.keys(localStorage).filter(k => k.startsWith('burnline-draft:'))")
    return keys


def save(page: Page) -> None:
    page.get_by_role("button", name="Save pattern").click()


def test_a_sheet_is_entered_on_a_phone_and_a_slip_is_marked_in_its_cell(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo, PHONE)
    fill_sheet(page)
    assert overflow(page) == 0 and small_targets(page) == []
    page.locator("#cell-3-0").fill("2Z")
    save(page)
    expect(page.get_by_text("Boards 13R-17R at 8 ft: “2Z” is not a number")).to_be_visible()
    expect(page.locator("#cell-3-0")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#cell-4-0")).to_have_value("26")
    page.locator("#cell-3-0").fill("22,5")
    save(page)
    expect(page.get_by_role("heading", name="Willow Bend")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("Oil to 40 feet"))).to_be_visible()
    assert overflow(page) == 0
    assert PatternVersion.objects.get().oil[0][12] == 22.5
    assert drafts(page) == []


def test_typing_survives_a_crash_of_the_browser_page(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo)
    fill_sheet(page)
    expect(page.get_by_text("Kept on this device, not saved yet.")).to_be_visible()
    again = page.context.new_page()
    page.close()
    again.goto("/patterns/new/")
    again.get_by_role("button", name="Bring it back").click()
    expect(again.get_by_label("Name")).to_have_value("Willow Bend")
    expect(again.locator("#cell-4-0")).to_have_value("26")
    save(again)
    expect(again.get_by_role("heading", name="Willow Bend")).to_be_visible()
    assert drafts(again) == []
    assert Pattern.objects.count() == 1


def test_a_save_on_a_lost_net_loses_nothing_and_doubles_nothing(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo)
    fill_sheet(page)
    page.context.set_offline(True)
    save(page)
    page.wait_for_timeout(300)
    assert Pattern.objects.count() == 0
    page.context.set_offline(False)
    page.goto("/patterns/new/")
    page.get_by_role("button", name="Bring it back").click()
    expect(page.locator("#cell-0-0")).to_have_value("6")
    # The answer gets lost this time: the server saves, the phone never hears of it.
    page.route("**/patterns/new/", lambda route: (route.fetch(max_redirects=0), route.abort()))
    save(page)
    page.wait_for_timeout(300)
    page.unroute("**/patterns/new/")
    page.goto("/patterns/new/")
    page.get_by_role("button", name="Bring it back").click()
    save(page)
    expect(page.get_by_role("heading", name="Willow Bend")).to_be_visible()
    assert Pattern.objects.count() == 1 and PatternVersion.objects.count() == 1
    assert drafts(page) == []


def test_a_double_tap_on_save_makes_one_pattern(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo)
    fill_sheet(page)
    page.get_by_role("button", name="Save pattern").dblclick()
    expect(page.get_by_role("heading", name="Willow Bend")).to_be_visible()
    assert Pattern.objects.count() == 1 and PatternVersion.objects.count() == 1


def paste(page: Page, cell: str, text: str) -> None:
    page.locator(cell).evaluate(
        """(input, text) => { input.focus(); const data = new DataTransfer(); data.setData("text", text);
        input.dispatchEvent(new ClipboardEvent("paste",
            {clipboardData: data, bubbles: true, cancelable: true})); }""",
        text,
    )


def test_a_block_of_cells_is_pasted_into_the_grid(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo, DESK)
    fill_sheet(page)
    paste(page, "#cell-2-0", "1\t2\n3,5\t4\n")
    expect(page.locator("#cell-3-0")).to_have_value("3,5")
    expect(page.locator("#cell-2-1")).to_have_value("2")
    paste(page, "#cell-8-2", "1\t2\n3\t4")
    expect(page.get_by_label("Paste from a spreadsheet", exact=True)).to_have_value("1\t2\n3\t4")
    expect(page.get_by_text("The block is larger than the table")).to_be_visible()
    expect(page.locator("#cell-8-2")).to_have_value("")


def test_a_whole_sheet_is_pasted_and_fills_the_table(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo, DESK)
    page.goto("/patterns/new/")
    page.get_by_label("Length, ft").fill("42")
    page.get_by_text("Paste from a spreadsheet or take a CSV file").click()
    lines = [[distance, *(str(b) for b in range(1, 40))] for distance in ("0", "20")]
    page.get_by_label("Paste from a spreadsheet", exact=True).fill("\n".join("\t".join(c) for c in lines))
    page.get_by_role("button", name="Fill the table").click()
    expect(page.locator("#cell-38-1")).to_have_value("39")
    expect(page.locator("#distance-1")).to_have_value("20")
    page.get_by_role("button", name="Join equal boards").click()
    expect(page.locator("#label-38")).to_have_value("1L")


def test_arrow_keys_walk_the_grid(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo, DESK)
    page.goto("/patterns/new/")
    page.locator("#cell-0-1").focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator("#cell-2-1")).to_be_focused()
    page.keyboard.press("ArrowUp")
    expect(page.locator("#cell-1-1")).to_be_focused()


def test_the_kind_of_entry_chosen_shows_its_fields_and_keeps_the_others(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo)
    fill_sheet(page)
    page.get_by_label("Length, volume and ratio").check()
    expect(page.locator("#cell-0-0")).to_be_hidden()
    page.get_by_label("Volume, mL").fill("25")
    page.get_by_label("Ratio, middle to outside").fill("3")
    assert small_targets(page) == []
    page.get_by_role("radio", name="Oil by board").check()
    expect(page.locator("#cell-0-0")).to_have_value("6")
    page.get_by_label("List of passes").check()
    assert small_targets(page) == [] and overflow(page) == 0


def largest_sheet(page: Page) -> None:
    """A sheet of every row, distance and pass that is allowed, put into the page as if it had been typed."""
    page.goto("/patterns/new/")
    page.get_by_label("Name").fill("All of it")
    page.get_by_label("Length, ft").fill("60")
    page.evaluate(
        """([rows, columns, passes]) => {
            const sheet = document.getElementById("sheet");
            const set = (name, value) => {
                let input = sheet.querySelector(`[name="${name}"]`);
                if (!input) {
                    input = document.createElement("input");
                    input.name = name;
                    sheet.querySelector(".oil-grid").after(input);
                }
                input.value = value;
            };
            set("row-count", rows); set("column-count", columns); set("pass-count", passes);
            for (let j = 0; j < columns; j += 1) set(`distance-${j}`, j * 3);
            for (let i = 0; i < rows; i += 1) {
                set(`label-${i}`, i < 39 ? i + 1 : "");
                for (let j = 0; j < columns; j += 1) set(`cell-${i}-${j}`, i < 39 ? i + j / 100 : "");
            }
            const fields = ["boards", "loads", "volume_ul", "from_ft", "to_ft", "direction"];
            for (let i = 0; i < passes; i += 1) fields.forEach(name => set(`pass-${i}-${name}`, "1"));
        }""",
        [MAX_ROWS, MAX_DISTANCES, MAX_PASSES],
    )


def test_the_largest_sheet_there_may_be_is_checked_and_saved(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo, DESK)
    largest_sheet(page)
    page.get_by_role("button", name="Check without saving").click()
    expect(page.get_by_text("Nothing wrong so far; not saved yet.")).to_be_visible()
    expect(page.locator(f"#cell-38-{MAX_DISTANCES - 1}")).to_have_value("38.19")
    save(page)
    expect(page.get_by_role("heading", name="All of it")).to_be_visible()
    assert len(PatternVersion.objects.get().distances_ft) == MAX_DISTANCES


@pytest.mark.parametrize(
    ("status", "body"),
    [
        (400, "<!doctype html><h1>Bad request</h1>"),
        (500, "<!doctype html><h1>Something went wrong here</h1>"),
        (200, "<!doctype html><h1>Sign in</h1>"),
        (None, ""),
    ],
)
def test_no_error_page_takes_the_place_of_what_was_typed(
    open_as: OpenAs, cast: Cast, status: int | None, body: str
) -> None:
    page = open_as(cast.bo, DESK)
    fill_sheet(page)
    if status is None:
        # That htmx reports the lost request on the console is meant here.
        page.evaluate("console.error = () => {}")
        page.route("**/patterns/parse/", lambda route: route.abort())
    else:
        page.route(
            "**/patterns/parse/",
            lambda route: route.fulfill(status=status, body=body, content_type="text/html"),
        )
    page.get_by_role("button", name="Add a distance").click()
    expect(page.get_by_text("What you typed still stands here")).to_be_visible()
    expect(page.locator("#cell-4-0")).to_have_value("26")
    # The copy on the device is the whole sheet too.
    page.wait_for_timeout(400)
    kept = page.evaluate("Object.values(localStorage).join()")
    assert '["cell-4-0","26"]' in kept
    page.unroute("**/patterns/parse/")
    page.get_by_role("button", name="Add a distance").click()
    expect(page.get_by_label("Distance 4, feet")).to_be_visible()
    expect(page.locator("#cell-4-0")).to_have_value("26")


def test_cross_sections_change_without_loading_the_page_anew(open_as: OpenAs, cast: Cast) -> None:
    page = open_as(cast.bo)
    fill_sheet(page)
    save(page)
    expect(page.get_by_role("heading", name="Willow Bend")).to_be_visible()
    page.evaluate("window.stayed = true")
    page.get_by_label("Another distance in feet").fill("12.5")
    page.get_by_label("Another distance in feet").blur()
    expect(page.get_by_text("At 12.5 ft, units of oil")).to_be_visible()
    assert page.evaluate("window.stayed") is True
