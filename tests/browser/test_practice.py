"""Practice beside the lane on a phone, with the advice of the pair above it, and advice taken over."""

import uuid
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sessions import jobs, record
from sessions.models import PracticeWindow, Shot
from tests.browser.conftest import PHONE, OpenAs
from tests.browser.test_lane_side import CHANGE, Thumb, answer, out_of_reach
from tests.conftest import Cast
from tests.sessions.conftest import Scene, make_scene

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def bowling(transactional_db: None, cast: Cast) -> Scene:
    return make_scene(cast)


@pytest.fixture
def practice(bowling: Scene) -> PracticeWindow:
    window, _ = record.open_practice(
        bowling.entry, kind="warm_up", lane=bowling.lane(5), started_at=None, uid=uuid.uuid4()
    )
    return window


@pytest.fixture
def phone(open_as: OpenAs, bowling: Scene, practice: PracticeWindow) -> Thumb:
    page = open_as(bowling.cast.bo, PHONE)
    page.goto(f"/practice/{practice.uuid}/")
    return Thumb(page)


def nested(page: Page) -> int:
    """Advice inside advice."""
    return page.locator("[data-look] [data-look]").count()


def test_the_advice_in_practice_looks_for_news_without_nesting_or_closing(
    phone: Thumb, bowling: Scene
) -> None:
    jobs.beat("worker", "scheduler")
    phone.tap(".all-down")
    expect(phone.page.locator(".undo")).to_contain_text("practice 1")
    advice = phone.page.locator(".advice-here")
    expect(advice).to_contain_text("Waiting", timeout=15_000)
    answer(bowling, **CHANGE)
    expect(advice).to_contain_text("Up to date", timeout=15_000)
    phone.page.get_by_text("Why, how sure, and the lanes").click()
    reason = phone.page.get_by_text("Two light hits in a row").first
    expect(reason).to_be_visible()
    # What a screen reader would say again.
    phone.page.evaluate(
        """() => { window.repeated = 0; new MutationObserver(() => { window.repeated += 1; })
        .observe(document.querySelector(".advice-here"), {childList: true, subtree: true}); }"""
    )
    asked: list[str] = []
    phone.page.on("response", lambda r: asked.append(r.url) if "/advice/" in r.url else None)
    while len(asked) < 2:
        phone.page.wait_for_timeout(500)
    expect(reason).to_be_visible()
    assert phone.page.evaluate("window.repeated") == 0
    assert nested(phone.page) == 0 and phone.page.locator("[data-look]").count() == 1


def test_the_measure_of_nesting_notices_an_advice_put_into_itself(phone: Thumb) -> None:
    expect(phone.page.locator("[data-look]")).to_have_count(1)
    phone.page.evaluate(
        """() => { const advice = document.querySelector("[data-look]");
        advice.append(advice.cloneNode(true)); }"""
    )
    assert nested(phone.page) == 1


def test_undo_pressed_right_after_a_practice_shot_takes_it_back(phone: Thumb, bowling: Scene) -> None:
    phone.tap(".all-down")
    expect(phone.page.locator(".undo")).to_contain_text("practice 1")
    phone.tap(".undo")
    expect(phone.page.locator(".said")).to_contain_text("Taken back practice 1: strike")
    shot = Shot.objects.get()
    assert shot.undone_at is not None and shot.undone_by == bowling.cast.bo


def test_undo_pressed_twice_by_a_slip_takes_one_shot_back(phone: Thumb) -> None:
    for number in (1, 2):
        phone.tap(".all-down")
        expect(phone.page.locator(".undo")).to_contain_text(f"practice {number}")
        phone.page.wait_for_timeout(650)
    phone.tap(".undo")
    expect(phone.page.locator(".undo")).to_contain_text("practice 1")
    phone.tap(".undo")
    phone.page.wait_for_timeout(300)
    assert Shot.objects.filter(undone_at=None).count() == 1


def test_two_phones_that_log_one_practice_shot_leave_one(
    phone: Thumb, open_as: OpenAs, bowling: Scene, practice: PracticeWindow
) -> None:
    coach = open_as(bowling.cast.coach, PHONE)
    coach.goto(f"/practice/{practice.uuid}/")
    phone.tap(".all-down")
    expect(phone.page.locator(".undo")).to_contain_text("practice 1")
    coach.locator(".all-down").click()
    expect(coach.locator(".refused")).to_contain_text("Throw 1 was logged meanwhile (strike)")
    assert Shot.objects.count() == 1


@pytest.fixture
def in_game(open_as: OpenAs, bowling: Scene) -> Thumb:
    page = open_as(bowling.cast.bo, PHONE)
    page.goto(f"/entries/{bowling.entry.uuid}/lane-side/")
    return Thumb(page)


def advised(scene: Scene) -> dict[str, Any]:
    return CHANGE | {"ball_id": str(scene.spare_ball.uuid)}


def test_advice_is_taken_over_with_one_tap_and_touched_pins_stay(in_game: Thumb, bowling: Scene) -> None:
    jobs.beat("worker", "scheduler")
    page = in_game.page
    in_game.tap(".all-down")
    in_game.expect_next("Game 1, frame 2")
    answer(bowling, **advised(bowling))
    expect(page.locator(".advice-here")).to_contain_text("Up to date", timeout=15_000)
    take = page.locator(".take-over:visible")
    # Of the two lanes only the one that is bowled on next.
    expect(take).to_have_count(1)
    expect(take).to_contain_text("lane 6")
    box = take.bounding_box()
    assert box is not None and box["height"] >= 44 and box["width"] >= 44
    assert out_of_reach(page) == []
    in_game.pin(10)
    take.click()
    expect(page.locator("[name=ball]:checked")).to_have_value(str(bowling.spare_ball.uuid))
    expect(page.locator("[data-line-words]")).to_have_text("Feet 30.5, laydown 24 → 15 at 15 ft")
    expect(page.locator(".log-left")).to_have_text("Log pins left: 10")
    in_game.tap(".log-left")
    in_game.expect_next("Game 1, frame 2.2")
    shot = Shot.objects.latest("pk")
    assert (shot.ball, shot.laydown_board, shot.target_board) == (bowling.spare_ball, 24.0, 15.0)
    # A spare is shot at with a line of its own.
    expect(page.locator(".take-over:visible")).to_have_count(0)


def test_without_script_the_link_of_an_advice_fills_the_form(in_game: Thumb, bowling: Scene) -> None:
    in_game.tap(".all-down")
    in_game.expect_next("Game 1, frame 2")
    answer(bowling, **advised(bowling))
    page = in_game.page
    address = f"/entries/{bowling.entry.uuid}/lane-side/"
    expect(page.locator(".take-over:visible")).to_have_count(1, timeout=15_000)
    link = page.locator(".take-over:visible").get_attribute("href")
    assert link is not None and link.startswith(f"{address}?ball=")
    page.goto(link)
    expect(page.locator("[name=ball]:checked")).to_have_value(str(bowling.spare_ball.uuid))
    expect(page.get_by_label("Target", exact=True)).to_have_value("15")
