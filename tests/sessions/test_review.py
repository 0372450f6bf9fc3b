# ruff: noqa: F811  (a fixture is imported by name)
"""The review of a block: score sheets, over/under, balls, advice given, comments, and who sees it."""

import uuid

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from arsenal.access import BallNames
from sessions.models import Advice, Comment, GameLine, LineStretch
from sessions.review import balls_by_frame, review_of
from tests.conftest import make_ball
from tests.sessions.answers import answered
from tests.sessions.block import MINUTE, OpenBlock, opened  # noqa: F401  (a fixture)

# Worked by hand in the project's reference: running 20, 39, 48, 66, 74, 84, 90, 120, 148, 167.
MIXED = "X 7/ 9- X -8 8/ -6 X X X81"


def typed(opened: OpenBlock, notation: str = MIXED, number: int = 1) -> GameLine:
    game = opened.game(opened.bo, number)
    line = GameLine.objects.create(game=game, notation=notation, bowled_at=game.started_at + 40 * MINUTE)
    for first, last, ball in ((1, 4, opened.cast.bo_ball), (5, 10, other_ball(opened))):
        LineStretch.objects.create(line=line, first_frame=first, last_frame=last, ball=ball)
    return line


def other_ball(opened: OpenBlock):
    found = opened.cast.bo_bowler.balls.filter(name="Rust Lamp").first()
    return found or make_ball(opened.cast.bo_bowler, "Rust Lamp")


def page(opened: OpenBlock, person=None) -> str:
    person = person or opened.cast.bo
    answer = opened.cast.client(person).get(reverse("review", args=[opened.block.uuid]))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_a_typed_game_is_drawn_frame_by_frame_with_its_running_totals(opened: OpenBlock) -> None:
    typed(opened)
    text = page(opened)
    for running in (20, 39, 48, 66, 74, 84, 90, 120, 148, 167):
        assert f'<div class="running">{running}</div>' in text
    assert '<span class="frame-number">Total</span><strong>167</strong>' in text
    assert text.count('<span class="unseen">Frame</span>') == 10, "every frame, bowled or not"
    assert "typed as a line" in text
    assert "Grey Kettle 1–4 · Rust Lamp 5–10" in text


def test_boards_carry_their_side_where_readers_of_both_hands_meet(opened: OpenBlock) -> None:
    opened.shot(opened.bo)
    opened.shot(opened.lin, target_board=None)
    text = page(opened)
    assert '<td class="line">22R → 14R</td>' in text
    assert '<td class="line">22L → ?</td>' in text


def test_the_block_total_stands_against_two_hundred_a_game(opened: OpenBlock) -> None:
    typed(opened)
    typed(opened, "X X X X X X X X X XXX", number=2)
    text = page(opened)
    assert "<strong>467</strong>" in text
    assert ">+67</span>" in text
    assert "2 games, average 233.5" in text


def test_an_unfinished_game_shows_what_is_decided_and_what_is_possible(opened: OpenBlock) -> None:
    for frame in (1, 2, 3):
        opened.shot(opened.bo, frame=frame, pins_left=0)
    text = page(opened)
    assert '<div class="running">30</div>' in text
    assert "unfinished, 300 possible" in text
    assert "No game finished yet" in text


def test_a_split_is_marked_and_read_out(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1, pins_left=0b1001000000)  # 7-10
    text = page(opened)
    assert '<span class="split">8<span class="unseen"> split</span></span>' in text
    assert "7-10 split" in text


def test_balls_by_frame_come_from_the_shots_when_there_are_any(opened: OpenBlock) -> None:
    typed(opened)
    lamp = other_ball(opened)
    for frame, ball in ((1, lamp), (2, lamp), (3, opened.cast.bo_ball), (4, lamp)):
        opened.shot(opened.bo, frame=frame, ball=ball)
    game = opened.game(opened.bo)
    found = balls_by_frame(game, opened.cast.bo_bowler, BallNames(opened.cast.bo))
    assert [(stretch.name, stretch.frames) for stretch in found] == [
        ("Rust Lamp", "1–2"),
        ("Grey Kettle", "3"),
        ("Rust Lamp", "4"),
    ]


def test_advice_given_during_a_game_stands_with_it_once_for_each_change(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1)
    answered(opened)
    answered(opened)
    Advice.objects.filter(answers=2, lane=opened.lanes[7]).update(action="stay")
    (entry,) = [item for item in review_of(opened.cast.bo, opened.block) if item.entry == opened.bo]
    given = [(one.lane_number, one.action, one.detail) for one in entry.games[0].advice]
    assert given == [
        (7, "Move", "feet 2 left, target 1 left"),
        (8, "Move", "feet 2 left, target 1 left"),
        (7, "Stay", ""),
    ]
    assert "3 pieces of advice" in page(opened)


def test_comments_stand_with_the_game_and_are_counted_at_the_shots(opened: OpenBlock) -> None:
    shot = opened.shot(opened.bo, frame=1)
    Comment.objects.create(game=shot.game, text="Keep the tempo", written_by=opened.cast.coach)
    Comment.objects.create(shot=shot, text="Early turn", written_by=opened.cast.coach)
    text = page(opened)
    assert "Keep the tempo" in text
    assert "1 comment</a>" in text


def test_the_readers_own_block_is_unfolded_and_the_others_show_their_games_in_a_line(
    opened: OpenBlock,
) -> None:
    typed(opened)
    typed(opened, "X X X X X", number=2)
    assert page(opened).count('review-entry" open') == 1
    coach = page(opened, opened.cast.coach)
    assert 'review-entry" open' not in coach
    assert "167 · 90…" in coach  # of five strikes, three frames are decided


def test_a_bowler_without_anything_logged_is_shown_as_such(opened: OpenBlock) -> None:
    assert page(opened).count("Nothing was logged for this bowler in this block.") == 2


def test_the_number_of_queries_does_not_grow_with_games_and_shots(opened: OpenBlock) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            review_of(opened.cast.coach, opened.block)
        return len(queries)

    opened.shot(opened.bo, frame=1)
    opened.shot(opened.lin, frame=1)
    few = count()
    for game in (1, 2, 3):
        for frame in range(1, 11):
            for entry in (opened.bo, opened.lin):
                if (game, frame) != (1, 1):
                    opened.shot(entry, frame=frame, game=game)
    assert count() == few


def test_team_mates_see_it_a_guest_only_when_shared_and_nobody_else(opened: OpenBlock) -> None:
    typed(opened)
    cast, url = opened.cast, reverse("review", args=[opened.block.uuid])
    for person in (cast.bo, cast.lin, cast.coach):
        assert cast.client(person).get(url).status_code == 200
    outsider = cast.client(cast.outsider)
    missing = outsider.get(reverse("review", args=[uuid.uuid4()]))
    assert outsider.get(url).status_code == 404
    assert outsider.get(url).content == missing.content
    assert cast.client(cast.guest).get(url).status_code == 404
    opened.event.shared_with_guests = True
    opened.event.save()
    shared = page(opened, cast.guest)
    assert "167" in shared
    assert "/patterns/" not in shared.split("<main")[1]  # the sheet itself is not shared
    assert Client().get(url).status_code == 302


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_a_review_is_only_read(opened: OpenBlock, method: str) -> None:
    client = opened.cast.client(opened.cast.coach)
    assert getattr(client, method)(reverse("review", args=[opened.block.uuid])).status_code == 405
