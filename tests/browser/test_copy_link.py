"""The invitation's link on a phone: whole to see, and copied with or without the browser's leave."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenAs
from tests.conftest import Cast, make_cast

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# What a plain http address on the network lacks, and what a strict browser refuses on top of it.
NO_CLIPBOARD = "Object.defineProperty(navigator, 'clipboard', {value: undefined})"
NO_COMMAND = NO_CLIPBOARD + "; document.execCommand = () => false"


@pytest.fixture
def cast(transactional_db: None) -> Cast:
    return make_cast()


def with_link(page: Page) -> str:
    page.goto(reverse("team"))
    page.get_by_role("button", name="Make a link").click()
    field = page.get_by_label("Link to send")
    tall, seen = field.evaluate("e => [e.scrollHeight, e.clientHeight]")
    assert tall <= seen, "the whole link is in sight"
    assert field.evaluate("e => e.scrollWidth <= e.clientWidth")
    return field.input_value()


@pytest.mark.parametrize(
    ("lacking", "says"), [(NO_CLIPBOARD, "Copied."), (NO_COMMAND, "It is selected: copy it")]
)
def test_the_link_is_copied_or_at_least_selected_without_a_clipboard(
    cast: Cast, open_as: OpenAs, lacking: str, says: str
) -> None:
    page = open_as(cast.coach)
    page.add_init_script(lacking)
    link = with_link(page)
    page.get_by_role("button", name="Copy the link").tap()
    expect(page.locator("[data-copied]")).to_contain_text(says)
    selected = page.get_by_label("Link to send").evaluate(
        "e => e.value.slice(e.selectionStart, e.selectionEnd)"
    )
    assert selected == link and "/join/" in link
