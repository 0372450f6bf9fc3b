"""Beside the lane on a phone of 360 px: how many taps a shot takes, and what a slip of the thumb does."""

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect
from pytest_django.live_server_helper import LiveServer

from motion.leaves import pins_of
from sessions import jobs
from sessions.models import Advice, OwedAdvice, Shot
from tests.browser.conftest import DESK, PHONE, OpenAs, overflow, small_targets
from tests.conftest import Cast
from tests.sessions.answers import INPUTS, a_result
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


def wait_until_still(what: Locator) -> None:
    """What is above may still be arriving: a stroke by coordinates must not aim at where a pin was."""
    for _ in range(40):
        before = what.bounding_box()
        what.page.wait_for_timeout(500)
        if what.bounding_box() == before:
            return
    raise AssertionError("the page never came to rest")


def test_one_stroke_marks_a_whole_row(phone: Thumb, bowling: Scene) -> None:
    phone.page.locator(".deck").scroll_into_view_if_needed()
    wait_until_still(phone.page.locator(".deck"))
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


CHANGE = {
    "action": "change ball",
    "ball_name": "Plain Pebble",
    "feet_move_boards": -1.5,
    "target_move_boards": 0.0,
    "pocket_now": 0.05,
    "pocket_advised": 0.47,
}
UNKNOWN = {
    "action": "unknown",
    "pocket_now": None,
    "pocket_advised": None,
    "missing": ["a laydown board and a target on this pair", "the speed of the strike release"],
}


def answer(scene: Scene, **changes: Any) -> None:
    """Answer what is owed to Bo on 5 and 6 as the worker would."""
    owed = OwedAdvice.objects.get(entry=scene.entry, left_lane=scene.lane(5))
    held = jobs.claim(owed.pk)
    assert held is not None
    jobs.finish(
        held,
        [
            Advice(
                lane=scene.lane(number),
                action=changes["action"],
                result=a_result(scene.lane(number), **changes),
                inputs=INPUTS,
                seconds=0.5,
            )
            for number in (5, 6)
        ],
    )


def out_of_reach(page: Page) -> list[str]:
    """Pins and buttons of the next shot that are not whole on the screen, not on top, or under 44 px."""
    found: list[str] = page.evaluate(
        """() => Array.from(document.querySelectorAll(".pin:not(.gone), .outcomes button, .undo"))
        .map(e => [e, e.getBoundingClientRect()])
        .filter(([e, box]) => {
            const at = y => document.elementFromPoint(box.left + box.width / 2, y);
            return box.top < 0 || box.bottom > window.innerHeight || box.left < 0
                || box.right > window.innerWidth || box.height < 44 || box.width < 44
                || !e.contains(at(box.top + 2)) || !e.contains(at(box.bottom - 2));
        })
        .map(([e, box]) => `${e.innerText || e.outerHTML.slice(0, 60)} ${box.top}-${box.bottom}`)"""
    )
    return found


@pytest.mark.parametrize("result", [CHANGE, UNKNOWN], ids=["change", "unknown"])
def test_with_advice_shown_and_a_shot_just_logged_the_pins_and_buttons_need_no_scroll(
    phone: Thumb, bowling: Scene, result: dict[str, Any]
) -> None:
    jobs.beat("worker", "scheduler")
    phone.tap(".all-down")
    phone.expect_next("Game 1, frame 2")
    advice = phone.page.locator(".advice-here")
    expect(advice).to_contain_text("Waiting", timeout=15_000)
    assert out_of_reach(phone.page) == []
    answer(bowling, **result)
    expect(advice).to_contain_text("Up to date", timeout=15_000)
    expect(phone.page.locator(".said")).to_contain_text("Logged frame 1: strike")
    assert phone.page.evaluate("window.scrollY") == 0
    assert out_of_reach(phone.page) == []
    # The next shot makes the advice old; what says so takes nothing away.
    for pin in (1, 2, 4, 6, 7, 10):
        phone.pin(pin)
    assert out_of_reach(phone.page) == []
    phone.tap(".log-left")
    phone.expect_next("Game 1, frame 2.2")
    expect(advice).to_contain_text("Stale", timeout=15_000)
    assert out_of_reach(phone.page) == []


def test_the_measure_of_reach_notices_pins_pushed_under_the_buttons(phone: Thumb) -> None:
    assert out_of_reach(phone.page) == []
    phone.page.evaluate("document.querySelector('.now').style.marginBottom = '300px'")
    assert any(words.startswith("1 ") for words in out_of_reach(phone.page))


def test_the_reasons_stay_open_when_newer_text_comes(phone: Thumb, bowling: Scene) -> None:
    jobs.beat("worker", "scheduler")
    phone.tap(".all-down")
    phone.expect_next("Game 1, frame 2")
    answer(bowling, **CHANGE)
    advice = phone.page.locator(".advice-here")
    expect(advice).to_contain_text("Up to date", timeout=15_000)
    expect(phone.page.get_by_text("Two light hits in a row").first).not_to_be_visible()
    phone.page.get_by_text("Why, how sure, and the lanes").click()
    jobs.owe_anew(bowling.entry, bowling.lane(5), bowling.lane(6))
    expect(advice).to_contain_text("Stale", timeout=15_000)
    expect(phone.page.get_by_text("Two light hits in a row").first).to_be_visible()


def test_a_game_passed_over_is_found_and_finished_from_the_next(phone: Thumb, bowling: Scene) -> None:
    bowling.log_strikes(11)
    bowling.log([10], game_number=2)
    phone.page.reload()
    expect(phone.page.locator(".place .where")).to_have_text("Game 2, frame 1.2")
    phone.tap(".passed-over")
    expect(phone.page.locator(".place .where")).to_have_text("Game 1, frame 10.3")
    assert out_of_reach(phone.page) == []


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


def test_a_refusal_is_brought_into_view_and_read_out(phone: Thumb) -> None:
    # That a refusal is an answer of 400 is reported on the console, and meant here.
    phone.page.evaluate("console.error = () => {}")
    phone.tap(".more summary")
    phone.page.locator("[name=breakpoint_board]").fill("fish")
    phone.page.locator("[name=speed_mph]").fill("90")
    phone.page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    assert phone.page.evaluate("window.scrollY") > 0
    phone.page.evaluate("document.querySelector('.all-down').click()")
    refused = phone.page.locator(".refused")
    expect(refused).to_contain_text("“fish”")
    expect(refused).to_be_focused()
    expect(refused).to_be_in_viewport(ratio=1)


def test_the_shots_of_a_review_fit_the_width_of_a_phone(open_as: OpenAs, bowling: Scene) -> None:
    line = {"laydown_board": 20.0, "target_board": 12.0}
    bowling.log([10], hit_word="light", **line)
    bowling.log()
    bowling.log(hit_word="flush", note="felt good", **line)
    page = open_as(bowling.cast.bo, PHONE)
    page.goto(f"/blocks/{bowling.block.uuid}/review/")
    page.get_by_text("3 shots", exact=True).click()
    expect(page.locator(".shots")).to_be_visible()
    right = page.evaluate(
        "() => Math.max(...[...document.querySelectorAll('.shots td, .shots a')]"
        ".map(cell => cell.getBoundingClientRect().right))"
    )
    assert overflow(page) == 0 and right <= PHONE["width"]
