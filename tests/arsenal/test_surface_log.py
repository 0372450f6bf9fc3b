"""The surface log only grows: what is entered, corrected and withdrawn, and what the page says of it."""

import pytest
from django.urls import reverse
from django.utils import timezone

from arsenal import surface_blocks
from arsenal.models import Ball, Person, SurfaceEntry
from tests.arsenal.test_bad_input import SURFACE
from tests.conftest import Cast


def enter(cast: Cast, **changed: str) -> SurfaceEntry:
    url = reverse("surface-new", args=[cast.bo_ball.uuid])
    answer = cast.client(cast.bo).post(url, {**SURFACE, **changed})
    assert answer.status_code == 302, answer.context["form"].errors
    return SurfaceEntry.objects.latest("pk")


def test_an_entry_keeps_what_was_typed_and_who_typed_it(cast: Cast) -> None:
    entry = enter(cast, by_machine="True", wet="True", minutes="4,5", note="whole ball")
    assert (entry.kind, entry.grits, entry.by_machine, entry.wet) == ("sanded", [500, 1000], True, True)
    assert (entry.minutes, entry.window, entry.note, entry.entered_by) == (4.5, "home", "whole ball", cast.bo)


def test_pads_are_read_in_any_usual_spelling(cast: Cast) -> None:
    assert enter(cast, grits="P500/1000 2000").grits == [500, 1000, 2000]


def test_details_left_off_by_the_page_get_their_defaults(cast: Cast) -> None:
    url = reverse("surface-new", args=[cast.bo_ball.uuid])
    sent = {"kind": "scanner", "done_at": "2026-03-05T10:00", "scanner_ra_um": "0.6"}
    assert cast.client(cast.bo).post(url, sent).status_code == 302
    entry = SurfaceEntry.objects.get()
    assert (entry.window, entry.by_machine, entry.wet) == ("home", False, None)


def test_the_form_begins_with_now_in_the_persons_own_time_zone(cast: Cast) -> None:
    cast.bo.time_zone = "Asia/Tokyo"
    cast.bo.save()
    page = cast.client(cast.bo).get(reverse("surface-new", args=[cast.bo_ball.uuid])).content.decode()
    with timezone.override("Asia/Tokyo"):
        assert f'value="{timezone.localtime():%Y-%m-%dT%H}' in page


def test_a_typed_time_is_the_persons_local_time(cast: Cast) -> None:
    cast.bo.time_zone = "Asia/Tokyo"
    cast.bo.save()
    assert enter(cast).done_at.isoformat() == "2026-03-05T01:00:00+00:00"


def test_stored_entries_refuse_to_be_saved_again(cast: Cast) -> None:
    entry = enter(cast)
    entry.note = "rewritten"
    with pytest.raises(TypeError, match="append only"):
        entry.save()
    assert SurfaceEntry.objects.get(pk=entry.pk).note == ""


def test_a_correction_is_a_new_entry_that_refers_to_the_old(cast: Cast) -> None:
    old = enter(cast)
    url = reverse("surface-correct", args=[old.uuid])
    form = cast.client(cast.coach).get(url).context["form"]
    assert form["grits"].value() == "500, 1000", "it begins as a copy"
    answer = cast.client(cast.coach).post(url, {**SURFACE, "grits": "2000"})
    assert answer.status_code == 302
    new = SurfaceEntry.objects.latest("pk")
    assert (new.corrects, new.grits, new.entered_by) == (old, [2000], cast.coach)
    assert SurfaceEntry.objects.get(pk=old.pk).grits == [500, 1000]


def test_a_withdrawal_is_an_entry_too(cast: Cast) -> None:
    old = enter(cast)
    url = reverse("surface-correct", args=[old.uuid])
    assert cast.client(cast.bo).post(url, {"part": "withdraw", "note": "other ball"}).status_code == 302
    withdrawal = SurfaceEntry.objects.latest("pk")
    assert (withdrawal.kind, withdrawal.corrects, withdrawal.note) == ("withdrawn", old, "other ball")
    page = cast.client(cast.bo).get(reverse("ball", args=[cast.bo_ball.uuid])).content.decode()
    assert "Sanded: 500, 1000" in page, "the record keeps both"
    assert "corrected" in page


@pytest.mark.parametrize("sent", [{**SURFACE, "grits": "2000"}, {"part": "withdraw"}])
def test_an_entry_is_corrected_once(cast: Cast, sent: dict[str, str]) -> None:
    old = enter(cast)
    url = reverse("surface-correct", args=[old.uuid])
    client = cast.client(cast.bo)
    assert client.post(url, {**SURFACE, "grits": "3000"}).status_code == 302
    answer = client.post(url, sent)
    assert answer.status_code == 400
    assert "was corrected already" in answer.content.decode()
    assert SurfaceEntry.objects.count() == 2


def test_a_correction_can_itself_be_corrected(cast: Cast) -> None:
    first = enter(cast)
    client = cast.client(cast.bo)
    client.post(reverse("surface-correct", args=[first.uuid]), {"part": "withdraw"})
    withdrawal = SurfaceEntry.objects.get(kind="withdrawn")
    answer = client.post(reverse("surface-correct", args=[withdrawal.uuid]), SURFACE)
    assert answer.status_code == 302
    assert SurfaceEntry.objects.filter(corrected_by=None).exclude(kind="withdrawn").count() == 1


def test_work_in_competition_is_kept_and_the_page_says_the_ball_is_out(cast: Cast) -> None:
    client = cast.client(cast.bo)
    sent = {"kind": "cleaned", "done_at": "2026-03-05T10:00", "window": "in_competition"}
    answer = client.post(reverse("surface-new", args=[cast.bo_ball.uuid]), sent, follow=True)
    page = answer.content.decode()
    assert "out until the competition is over" in page
    assert "Altered in competition on 5 March 2026" in page
    assert "tournament director decides" in page


def test_work_in_a_window_nobody_confirmed_says_to_ask(cast: Cast) -> None:
    url = reverse("surface-new", args=[cast.bo_ball.uuid])
    answer = cast.client(cast.bo).post(url, {**SURFACE, "window": "between_rounds"}, follow=True)
    assert "ask the tournament director" in answer.content.decode()


def test_the_form_shows_the_usual_cautions(cast: Cast) -> None:
    page = cast.client(cast.bo).get(reverse("surface-new", args=[cast.bo_ball.uuid])).content.decode()
    for word in ("eye protection", "respirator", "spinner", "no flames", "whole ball"):
        assert word in page


def test_an_entry_may_name_its_block_when_an_app_knows_blocks(cast: Cast) -> None:
    linked: list[tuple[int, str]] = []

    def choices(ball: Ball, person: Person) -> list[tuple[str, str]]:
        return [("a", "Squad A")] if person == cast.bo else []

    plug = surface_blocks._Plug
    before = plug.choices, plug.link, plug.in_play
    surface_blocks.register(choices, lambda entry, key: linked.append((entry.pk, key)))
    try:
        entry = enter(cast, before_block="a")
        url = reverse("surface-new", args=[cast.bo_ball.uuid])
        refused = cast.client(cast.bo).post(url, {**SURFACE, "before_block": "another's"})
    finally:
        surface_blocks.register(*before)
    assert linked == [(entry.pk, "a")]
    assert refused.status_code == 400
