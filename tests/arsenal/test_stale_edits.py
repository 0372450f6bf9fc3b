"""Two people edit one row: the second is told what changed, keeps what they typed, and decides."""

import pytest
from django.urls import reverse

from arsenal.edits import StaleEdit, save_edit
from arsenal.models import Ball, Layout
from tests.arsenal.test_bad_input import BALL
from tests.conftest import Cast


def test_the_later_of_two_edits_is_told_who_changed_what_and_saves_nothing(cast: Cast) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    coach, bo = cast.client(cast.coach), cast.client(cast.bo)
    assert coach.post(url, {**BALL, "version": "1", "weight_lb": "14"}).status_code == 302
    answer = bo.post(url, {**BALL, "version": "1", "name": "My Lantern"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Ada changed this ball" in page
    assert ("Weight (lb)", "14", "15.0") in [
        (label, now, typed) for label, now, typed in answer.context["form"].conflict
    ] or ("Weight (lb)", "14", "15") in answer.context["form"].conflict
    assert "My Lantern" in page, "what was typed stays"
    stored = Ball.objects.get(pk=cast.bo_ball.pk)
    assert (stored.name, stored.weight_lb, stored.version, stored.changed_by) == (
        "Tin Lantern",
        14.0,
        2,
        cast.coach,
    )


def test_saving_once_more_after_the_warning_is_a_decision(cast: Cast) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    coach, bo = cast.client(cast.coach), cast.client(cast.bo)
    coach.post(url, {**BALL, "version": "1", "weight_lb": "14"})
    warned = bo.post(url, {**BALL, "version": "1"})
    again = bo.post(url, {**BALL, "version": str(warned.context["form"]["version"].value())})
    assert again.status_code == 302
    stored = Ball.objects.get(pk=cast.bo_ball.pk)
    assert (stored.weight_lb, stored.version, stored.changed_by) == (15.0, 3, cast.bo)


def test_an_edit_without_a_version_is_stale(cast: Cast) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    assert cast.client(cast.bo).post(url, BALL).status_code == 409
    assert Ball.objects.get(pk=cast.bo_ball.pk).version == 1


def test_two_first_layouts_of_one_ball_are_a_conflict_too(cast: Cast) -> None:
    url = reverse("layout-edit", args=[cast.bo_ball.uuid])
    coach, bo = cast.client(cast.coach), cast.client(cast.bo)
    assert coach.post(url, {"version": "0", "pin_to_pap_in": "4"}).status_code == 302
    assert bo.post(url, {"version": "0", "pin_to_pap_in": "5"}).status_code == 409
    assert Layout.objects.get().pin_to_pap_in == 4.0


def test_of_two_saves_of_the_same_version_only_one_is_stored(cast: Cast) -> None:
    first, second = (Ball.objects.get(pk=cast.bo_ball.pk) for _ in range(2))
    first.name, second.name = "First", "Second"
    save_edit(first, 1, cast.bo)
    with pytest.raises(StaleEdit, match="Bo changed this ball"):
        save_edit(second, 1, cast.coach)
    assert Ball.objects.get(pk=cast.bo_ball.pk).name == "First"
