"""Beside the lane on a phone of 360 px: how many taps a shot takes, and what a slip of the thumb does."""

import pytest
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from motion.leaves import pins_of
from sessions.models import Shot
from tests.browser.conftest import DESK, PHONE, OpenAs, overflow, small_targets
from tests.conftest import Cast
from tests.sessions.conftest import Scene, make_scene

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def bowling(transactional_db: None, cast: Cast) -> Scene:
    return make_scene(cast)


class Thumb:
    """Counts what it does."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, selector: str) -> None:
        self.page.locator(selector).first.click()
        self.taps += 1

    def pin(self, number: int) -> None:
        self.tap(f".pin:has(input[value='{number}'])")

    def expect_next(self, text: str) -> None:
        expect(self.page.locator(".place .where")).to_have_text(text)
        # Taps right after a change are ignored on purpose.
        self.page.wait_for_timeout(650)


@pytest.fixture
def phone(open_as: OpenAs, bowling: Scene) -> Thumb:
    page = open_as(bowling.cast.bo, PHONE)
    page.goto(f"/entries/{bowling.entry.uuid}/lane-side/")
    return Thumb(page)


def taps_for(thumb: Thumb, *taps: str) -> int:
    before = thumb.taps
    for selector in taps:
        thumb.tap(selector)
    return thumb.taps - before


def lefts() -> list[tuple[int, ...]]:
    return [pins_of(shot.pins_left) for shot in Shot.objects.filter(undone_at=None).order_by("pk")]


def test_a_strike_is_one_tap_and_a_leave_of_three_pins_with_another_ball_is_four_and_one(
    phone: Thumb, bowling: Scene
) -> None:
    assert taps_for(phone, ".all-down") == 1
    phone.expect_next("Game 1, frame 2")
    expect(phone.page.locator("[role=status]").first).to_contain_text("Logged frame 1: strike, Grey Kettle.")
    expect(phone.page.locator(".lane-now")).to_have_text("Lane 6")
    before = phone.taps
    for pin in (3, 6, 10):
        phone.pin(pin)
    expect(phone.page.locator(".log-left")).to_have_text("Log pins left: 3-6-10")
    expect(phone.page.locator(".all-down")).to_be_disabled()
    phone.tap(".log-left")
    assert phone.taps - before == 4
    phone.expect_next("Game 1, frame 2.2")
    assert phone.page.locator(".pin:not(.gone)").count() == 3
    assert taps_for(phone, ".chip:has-text('Plain Pebble')", ".all-down") == 2
    phone.expect_next("Game 1, frame 3")
    assert lefts() == [(), (3, 6, 10), ()]
    assert Shot.objects.latest("pk").ball == bowling.spare_ball


def test_one_stroke_marks_a_whole_row(phone: Thumb, bowling: Scene) -> None:
    phone.page.locator(".deck").scroll_into_view_if_needed()
    boxes = [phone.page.locator(f".pin:has(input[value='{pin}'])").bounding_box() for pin in (7, 8, 9, 10)]
    points = [(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2) for box in boxes if box]
    phone.page.mouse.move(*points[0])
    phone.page.mouse.down()
    for point in points[1:]:
        phone.page.mouse.move(*point, steps=4)
    phone.page.mouse.up()
    expect(phone.page.locator(".log-left")).to_have_text("Log pins left: 7-8-9-10")
    phone.tap(".log-left")
    phone.expect_next("Game 1, frame 1.2")
    assert lefts() == [(7, 8, 9, 10)]


def test_pins_answer_to_the_keyboard_too(phone: Thumb) -> None:
    phone.page.locator("input[value='10'][name=left]").focus()
    phone.page.keyboard.press("Space")
    expect(phone.page.locator(".log-left")).to_have_text("Log pins left: 10")
    phone.page.keyboard.press("Space")
    expect(phone.page.locator(".log-left")).to_be_disabled()


def test_a_double_tap_is_one_shot_and_undo_takes_it_back(phone: Thumb) -> None:
    phone.page.evaluate("() => { const b = document.querySelector('.all-down'); b.click(); b.click(); }")
    phone.expect_next("Game 1, frame 2")
    assert Shot.objects.count() == 1
    expect(phone.page.locator(".undo")).to_contain_text("frame 1: strike")
    phone.tap(".undo")
    phone.expect_next("Game 1, frame 1")
    assert lefts() == [] and Shot.objects.count() == 1


def test_a_lost_answer_and_a_second_press_are_one_shot(phone: Thumb) -> None:
    # That htmx reports the lost answer on the console is meant here.
    phone.page.evaluate("console.error = () => {}")
    # The server stores the shot, and the answer is lost on its way back.
    phone.page.route("**/shots/", lambda route: (route.fetch(), route.abort()))
    phone.tap(".all-down")
    expect(phone.page.get_by_text("it cannot be logged twice")).to_be_visible()
    assert Shot.objects.count() == 1
    phone.page.unroute("**/shots/")
    phone.tap(".all-down")
    phone.expect_next("Game 1, frame 2")
    assert Shot.objects.count() == 1


def test_feet_follow_the_laydown_as_it_is_stepped(phone: Thumb) -> None:
    phone.tap(".line-now summary")
    phone.page.get_by_label("Laydown", exact=True).fill("20")
    phone.page.get_by_label("Target", exact=True).fill("12")
    expect(phone.page.locator("[data-line-words]")).to_have_text("Feet 26.5, laydown 20 → 12 at 15 ft")
    phone.page.get_by_role("button", name="Laydown one board more").click()
    expect(phone.page.locator("[data-line-words]")).to_have_text("Feet 27.5, laydown 21 → 12 at 15 ft")


def test_the_page_fits_a_thumb_at_both_sizes(phone: Thumb, open_as: OpenAs, bowling: Scene) -> None:
    phone.tap(".line-now summary")
    phone.tap(".more summary")
    assert overflow(phone.page) == 0 and small_targets(phone.page) == []
    for pin in phone.page.locator(".pin:not(.gone)").all():
        box = pin.bounding_box()
        assert box is not None and box["width"] >= 44 and box["height"] >= 44
    desk = open_as(bowling.cast.coach, DESK)
    desk.goto(f"/entries/{bowling.entry.uuid}/lane-side/")
    assert overflow(desk) == 0 and small_targets(desk) == []


def test_without_script_the_same_form_logs(bowling: Scene, open_as: OpenAs, live_server: LiveServer) -> None:
    page = open_as(bowling.cast.bo, PHONE)
    plain = page.context.browser
    assert plain is not None
    context = plain.new_context(java_script_enabled=False, viewport=PHONE)  # type: ignore[arg-type]
    context.add_cookies(page.context.cookies())  # type: ignore[arg-type]
    still = context.new_page()
    still.goto(f"{live_server.url}/entries/{bowling.entry.uuid}/lane-side/")
    still.locator(".pin input[value='10']").check()
    still.locator(".log-left").click()
    expect(still.locator(".place .where")).to_have_text("Game 1, frame 1.2")
    context.close()
    assert lefts() == [(10,)]
