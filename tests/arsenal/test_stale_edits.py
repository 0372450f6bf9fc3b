"""Two people edit one row: the second is told what changed, keeps what they typed, and decides."""

import uuid
from typing import Any

import pytest
from django.http import Http404
from django.urls import reverse

from arsenal import edits
from arsenal.edits import Clash, StaleEdit, create_once, save_edit
from arsenal.models import Ball, Layout, Release
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


def test_a_second_tap_on_save_is_no_conflict_with_oneself(cast: Cast) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    bo = cast.client(cast.bo)
    sent = {**BALL, "version": "1", "weight_lb": "14"}
    assert [bo.post(url, sent).status_code for _ in range(2)] == [302, 302]
    assert Ball.objects.get(pk=cast.bo_ball.pk).version == 2


def test_a_page_sent_before_that_comes_again_with_other_values_is_not_called_saved(cast: Cast) -> None:
    """The browser's back button brings back a form with the uuid of the ball it made."""
    url = reverse("ball-new", args=[cast.bo_bowler.uuid])
    bo = cast.client(cast.bo)
    sent = {**BALL, "uuid": str(uuid.uuid4())}
    assert [bo.post(url, sent).status_code for _ in range(2)] == [302, 302]
    again = bo.post(url, {**sent, "weight_lb": "14"})
    assert again.status_code == 409
    assert (
        "saved the ball “Tin Lantern”. What differs now is not saved: Weight (lb)" in again.content.decode()
    )
    assert [ball.weight_lb for ball in Ball.objects.filter(name="Tin Lantern")] == [15.0]


def test_saving_once_more_after_the_warning_is_a_decision(cast: Cast) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    coach, bo = cast.client(cast.coach), cast.client(cast.bo)
    coach.post(url, {**BALL, "version": "1", "weight_lb": "14"})
    warned = bo.post(url, {**BALL, "version": "1"})
    again = bo.post(url, {**BALL, "version": str(warned.context["form"]["version"].value())})
    assert again.status_code == 302
    stored = Ball.objects.get(pk=cast.bo_ball.pk)
    assert (stored.weight_lb, stored.version, stored.changed_by) == (15.0, 3, cast.bo)


def test_a_coach_who_saves_a_card_too_late_is_told_so_too(cast: Cast) -> None:
    """Only a coach's form says who signs in, so it is shown again with that choice."""
    url = reverse("bowler-edit", args=[cast.bo_bowler.uuid])
    card = {"name": "Bo A.", "hand": "right", "hands_used": "1", "gap_boards": "6", "drift_boards": "0"}
    card |= {"laydown_ft": "0.5", "version": "1", "person": str(cast.bo.pk)}
    assert cast.client(cast.bo).post(url, card).status_code == 302
    late = cast.client(cast.coach).post(url, {**card, "person": str(cast.lin.pk)})
    assert late.status_code == 409
    assert ("Signs in as", "Bo", "Lin") in late.context["form"].conflict


@pytest.mark.parametrize("version", ["0", str(2**31 - 1), str(2**63), "9" * 400])
def test_a_version_that_never_was_is_stale(cast: Cast, version: str) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    assert cast.client(cast.bo).post(url, {**BALL, "version": version}).status_code == 409


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


def blind_at_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first look finds nothing: what a submission sees whose twin is being stored at this moment."""
    looks: list[Any] = []
    really = edits._known

    def look(instance: Any, person: Any) -> Any:
        looks.append(instance)
        return None if len(looks) == 1 else really(instance, person)

    monkeypatch.setattr(edits, "_known", look)


def test_of_twin_submissions_at_once_the_database_lets_one_in(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = uuid.uuid4()
    fields = {"bowler": cast.bo_bowler, "name": "Twin", "weight_lb": 15, "rg_in": 2.5, "cover": "urethane"}
    first, new = create_once(Ball(uuid=key, **fields), cast.bo)
    blind_at_first(monkeypatch)
    second, also_new = create_once(Ball(uuid=key, **fields), cast.bo)
    assert (new, also_new, second.pk) == (True, False, first.pk)
    assert Ball.objects.filter(name="Twin").count() == 1


def test_a_rival_stored_a_moment_ago_is_a_clash_not_a_crash(cast: Cast) -> None:
    rival = Release(
        bowler=cast.bo_bowler, kind="strike", speed_mph=17, rev_rate_rpm=300, axis_rotation_deg=40
    )
    with pytest.raises(Clash, match="Somebody saved another release"):
        create_once(rival, cast.bo)


def test_a_twin_of_somebody_elses_row_is_not_found(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(Http404):
        create_once(Ball(uuid=cast.outsider_ball.uuid, bowler=cast.bo_bowler, name="Mine"), cast.bo)


def test_an_edit_of_a_row_that_is_gone_is_not_found(cast: Cast) -> None:
    ball = Ball.objects.get(pk=cast.bo_ball.pk)
    Ball.objects.filter(pk=ball.pk).delete()
    with pytest.raises(Http404):
        save_edit(ball, 1, cast.bo)


@pytest.mark.parametrize("version", ["-1", str(10**30), "one"])
def test_a_version_no_row_ever_had_saves_nothing(cast: Cast, version: str) -> None:
    url = reverse("ball-edit", args=[cast.bo_ball.uuid])
    answer = cast.client(cast.bo).post(url, {**BALL, "version": version})
    assert answer.status_code in (400, 409)
    assert Ball.objects.get(pk=cast.bo_ball.pk).name == "Grey Kettle"


def test_a_number_too_large_for_a_key_is_not_found(cast: Cast) -> None:
    for name in ("member", "invitation-revoke"):
        assert (
            cast.client(cast.coach).post(reverse(name, args=[10**30]), {"role": "guest"}).status_code == 404
        )
