# ruff: noqa: F811  (a fixture is imported by name)
"""One true advice, end to end: from the log through the engine to rows and pages."""

import re

import numpy as np
import pytest
from django.urls import reverse

from arsenal.access import BallNames
from sessions import advise, jobs, work
from sessions.lane_picture import pack_film, unpack_film
from sessions.models import Advice, BlockEntry, OwedAdvice, Shot
from sessions.shot_paths import paths_of
from tests.sessions.block import OpenBlock, opened  # noqa: F401  (a fixture)

HTMX = {"HTTP_HX_REQUEST": "true"}


def computed(opened: OpenBlock, entry: BlockEntry | None = None) -> list[Advice]:
    entry = entry or opened.bo
    jobs.owe_anew(entry, opened.lanes[7], opened.lanes[8])
    owed = OwedAdvice.objects.get(entry=entry, left_lane=opened.lanes[7])
    work.work_off(owed.pk)
    owed.refresh_from_db()
    assert owed.failure == ""
    return list(owed.answers.order_by("-answers", "lane__number")[:2])


def test_a_logged_game_becomes_advice_with_its_record_and_its_pictures(opened: OpenBlock) -> None:
    for frame in range(1, 11):
        opened.shot(opened.bo, frame=frame, pins_left=0, offset_boards=2.5)
    seven, eight = computed(opened)
    assert (seven.lane.number, eight.lane.number) == (7, 8)
    for answer in (seven, eight):
        assert answer.action in Advice.Action.values
        assert answer.action != Advice.Action.UNKNOWN
        assert answer.ball == opened.cast.bo_ball
        assert 0.0 <= answer.result["pocket_now"] <= 1.0
        assert len(answer.result["reasons"]) == 2
        assert answer.inputs["evidence"] == 5
        assert answer.inputs["balls_on_lane"] == 5
        assert unpack_film(answer.result["picture"]["film"]).shape == (61, 39)
        assert len(answer.result["picture"]["now"]["mid"]) == 61
    page = opened.cast.client(opened.cast.bo).get(reverse("advice", args=[opened.bo.uuid, 7]))
    text = page.content.decode()
    assert text.count("<svg") == 4
    assert seven.result["reasons"][0].replace("'", "&#x27;") in text


def test_before_the_first_ball_it_names_what_is_missing_and_offers_lines(opened: OpenBlock) -> None:
    seven, _ = computed(opened)
    assert seven.action == Advice.Action.UNKNOWN
    assert any("line played" in missing for missing in seven.result["missing"])
    assert seven.result["alternatives"]
    page = opened.cast.client(opened.cast.bo).get(reverse("advice", args=[opened.bo.uuid, 7]))
    assert "Lines to begin with" in page.content.decode()


def test_saving_a_shot_again_gives_the_same_advice_to_the_last_digit(opened: OpenBlock) -> None:
    for frame in (1, 2, 3):
        opened.shot(opened.bo, frame=frame, pins_left=0, offset_boards=1.0)
    before = [answer.result for answer in computed(opened)]
    shot = Shot.objects.order_by("-pk").first()
    assert shot is not None
    twin = {
        field.attname: getattr(shot, field.attname)
        for field in Shot._meta.concrete_fields
        if field.name not in ("id", "uuid", "version", "created_at", "updated_at")
    }
    shot.delete()
    Shot.objects.create(**twin)
    assert [answer.result for answer in computed(opened)] == before


def test_a_left_hander_gets_the_right_handers_advice_where_everything_is_mirrored(opened: OpenBlock) -> None:
    """Same shots on own-side boards, mirrored sheet (it is symmetrical) and no field: the same bits."""
    opened.event.others_per_pair = 0
    opened.event.save()
    for frame in range(1, 6):
        opened.shot(opened.bo, frame=frame, pins_left=0, offset_boards=1.5)
    right = [answer.result for answer in computed(opened)]
    Shot.objects.all().delete()
    for frame in range(1, 6):
        opened.shot(opened.lin, frame=frame, pins_left=0, offset_boards=1.5)
    left = [answer.result for answer in computed(opened, opened.lin)]
    for mine, yours in zip(right, left, strict=True):
        for same in ("action", "line", "pocket_now", "pocket_advised", "gain", "reasons", "feet_board"):
            assert str(mine[same]).replace("Grey Kettle", "Moss Bell") == str(yours[same])


def test_with_an_ordinary_field_the_left_handers_side_is_another(opened: OpenBlock) -> None:
    for frame in range(1, 11):
        opened.shot(opened.bo, frame=frame, pins_left=0, offset_boards=1.5)
    right = [answer.result["pocket_now"] for answer in computed(opened)]
    Shot.objects.all().delete()
    for frame in range(1, 11):
        opened.shot(opened.lin, frame=frame, pins_left=0, offset_boards=1.5)
    left = [answer.result["pocket_now"] for answer in computed(opened, opened.lin)]
    assert right != left


def test_a_cancelled_computation_ends_between_its_steps(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1)
    jobs.owe_anew(opened.bo, opened.lanes[7], opened.lanes[8])
    shares: list[float] = []
    from motion.advice_types import AdviceCancelled

    with pytest.raises(AdviceCancelled):
        advise.answer(OwedAdvice.objects.get().pk, progress=shares.append, cancelled=lambda: len(shares) >= 3)
    assert len(shares) == 3


# --- pictures -------------------------------------------------------------------------------------


@pytest.mark.parametrize("film", [np.zeros((61, 39)), np.linspace(0.0, 13.0, 61 * 39).reshape(61, 39)])
def test_a_packed_film_comes_back_within_a_step(film: np.ndarray) -> None:
    back = unpack_film(pack_film(film))
    assert np.abs(back - film).max() <= film.max() / 255.0
    assert len(pack_film(film)["steps"]) < 4000


def test_a_games_paths_follow_its_lines_and_mark_where_balls_hit(opened: OpenBlock) -> None:
    for frame in range(1, 5):
        opened.shot(opened.bo, frame=frame, offset_boards=2.5, hit_word="flush")
    opened.shot(opened.bo, frame=5, laydown_board=None, target_board=None)
    seven, eight = paths_of(opened.game(opened.bo), BallNames(opened.cast.bo))
    assert [path.frame for path in seven.paths] == [1, 3]
    assert [path.frame for path in eight.paths] == [2, 4]
    assert seven.without_line == 1
    path = seven.paths[0]
    assert path.boards[0] is not None
    # laid down on board 22 half a foot out, aimed at 14 at 15 ft
    assert path.boards[0] == pytest.approx(22.0 + 8.0 / 14.5 * 0.5, abs=0.1)
    assert path.boards[15] == pytest.approx(14.0, abs=1.5)
    assert path.hit_board == 17.5


def test_paths_are_drawn_for_those_who_see_the_game_and_nobody_else(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1)
    cast, url = opened.cast, reverse("review-paths", args=[opened.game(opened.bo).uuid])
    drawn = cast.client(cast.lin).get(url, **HTMX).content.decode()
    # Where readers of both hands meet, a board says from which side it is counted.
    assert "<svg" in drawn and re.search(r"<td>\d+\.\dR</td>", drawn)
    assert "<main" in cast.client(cast.coach).get(url).content.decode()
    assert cast.client(cast.outsider).get(url).status_code == 404
    assert cast.client(cast.guest).get(url).status_code == 404
