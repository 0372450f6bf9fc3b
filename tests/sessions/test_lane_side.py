"""The page beside the lane as a browser without script sees it, and as htmx asks for it."""

import re
import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from motion.leaves import mask_of
from sessions import record
from sessions.lane_side import LaneSide
from sessions.models import Block, Shot
from sessions.recent_shots import told
from tests.sessions.conftest import Scene

HTMX = {"HX-Request": "true"}


@pytest.fixture
def bo(scene: Scene) -> Client:
    return scene.cast.client(scene.cast.bo)


def page(scene: Scene) -> str:
    return reverse("lane-side", args=[scene.entry.uuid])


def form_of(client: Client, scene: Scene) -> dict[str, Any]:
    """What a browser would send from the page as it stands."""
    return fields_of(client.get(page(scene)).content.decode())


def form_of_game(client: Client, scene: Scene, number: int) -> dict[str, Any]:
    return fields_of(client.get(page(scene), {"game": number}).content.decode())


def fields_of(html: str) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for tag in re.findall(r"<input[^>]+>", html):
        name = re.search(r'name="([a-z_]+)"', tag)
        value = re.search(r'value="([^"]*)"', tag)
        kind = re.search(r'type="([a-z]+)"', tag)
        if name is None or (kind and kind[1] in ("radio", "checkbox") and "checked" not in tag):
            continue
        fields[name[1]] = value[1] if value else ""
    fields.pop("csrfmiddlewaretoken")
    return fields


def press(client: Client, scene: Scene, outcome: str, *left: int, **more: Any) -> Any:
    data = form_of(client, scene) | {"outcome": outcome, "left": [str(pin) for pin in left]} | more
    headers = more.pop("headers", None)
    return client.post(reverse("shot-log", args=[scene.entry.uuid]), data, headers=headers)


def test_one_button_logs_a_strike_with_the_ball_in_hand(scene: Scene, bo: Client) -> None:
    answer = press(bo, scene, "clear")
    assert answer.status_code == 302 and answer.url == page(scene)
    shot = Shot.objects.get()
    assert (shot.pins_left, shot.ball, shot.lane.number) == (0, scene.cast.bo_ball, 5)
    assert "Logged frame 1: strike, Grey Kettle." in bo.get(page(scene)).content.decode()


def test_pins_touched_are_the_pins_left_and_the_next_deck_shows_only_them(scene: Scene, bo: Client) -> None:
    press(bo, scene, "leave", 3, 6, 10)
    assert Shot.objects.get().pins_left == mask_of([3, 6, 10])
    html = bo.get(page(scene)).content.decode()
    assert re.findall(r'name="left" value="(\d+)"', html) == ["10", "6", "3"]
    assert "data-clear>Spare<" in html and "data-clear>Strike<" not in html


def test_ball_and_line_are_remembered_and_sightings_are_not(scene: Scene, bo: Client) -> None:
    press(
        bo,
        scene,
        "clear",
        laydown_board="19,5",
        target_board="12",
        speed_mph="17.2",
        breakpoint_board="8",
        hit_word="flush",
        note="late",
    )
    shot = Shot.objects.get()
    assert (shot.laydown_board, shot.speed_mph, shot.hit_word, shot.offset_boards) == (
        19.5,
        17.2,
        "flush",
        None,
    )
    again = form_of(bo, scene)
    assert (again["ball"], again["laydown_board"], again["target_board"]) == (
        str(scene.cast.bo_ball.uuid),
        "19.5",
        "12",
    )
    assert not again["speed_mph"] and not again["breakpoint_board"] and not again["note"]
    assert not again["hit_word"]


def test_each_lane_remembers_its_own_line(scene: Scene, bo: Client) -> None:
    press(bo, scene, "clear", laydown_board="20", target_board="12")
    press(bo, scene, "clear", laydown_board="22", target_board="14")
    assert form_of(bo, scene)["laydown_board"] == "20"


def test_a_shot_without_a_line_does_not_wipe_the_line_remembered(scene: Scene, bo: Client) -> None:
    press(bo, scene, "clear", laydown_board="20", target_board="12")
    press(bo, scene, "clear", laydown_board="", target_board="")
    assert form_of(bo, scene)["laydown_board"] == "20"
    press(bo, scene, "clear", laydown_board="", target_board="")
    assert form_of(bo, scene)["laydown_board"] == "20"


def test_the_spare_ball_comes_up_for_a_spare_and_the_strike_ball_comes_back(scene: Scene, bo: Client) -> None:
    scene.spare_ball.role = "spare"
    scene.spare_ball.save()
    press(bo, scene, "leave", 10)
    assert form_of(bo, scene)["ball"] == str(scene.spare_ball.uuid)
    press(bo, scene, "clear")
    assert form_of(bo, scene)["ball"] == str(scene.cast.bo_ball.uuid)


def test_a_ball_put_away_is_not_offered(scene: Scene, bo: Client) -> None:
    scene.entry.bag.filter(ball=scene.cast.bo_ball).update(put_away=True)
    html = bo.get(page(scene)).content.decode()
    assert "Grey Kettle" not in html and "Plain Pebble" in html


def test_advice_can_hand_over_a_line_by_its_address(scene: Scene, bo: Client) -> None:
    html = bo.get(page(scene), {"laydown_board": "24", "target_board": "15"}).content.decode()
    assert 'value="24"' in html and 'value="15"' in html


@pytest.mark.parametrize(
    ("outcome", "left", "more", "text"),
    [
        ("leave", [], {}, "Pins left are missing"),
        ("clear", [10], {}, "Pin 10 is touched as standing, but the button says all pins down"),
        ("leave", [11], {}, "Pin 11 is not allowed: pins are 1 to 10."),
        ("clear", [], {"laydown_board": "wide"}, "Laydown board “wide” is not a number: 1 to 39."),
        ("clear", [], {"speed_mph": "170"}, "Speed 170 mph is not allowed: 5 to 40 mph."),
        ("clear", [], {"ball": str(uuid.uuid4())}, "Ball is not allowed"),
        ("clear", [], {"uuid": "x"}, "own number was lost"),
        ("clear", [], {"frame_number": "11"}, "Frame 11 is not allowed: 1 to 10, whole numbers."),
        ("dance", [], {}, "Press one of the buttons."),
    ],
)
def test_wrong_input_says_why_saves_nothing_and_keeps_what_was_typed(
    scene: Scene, bo: Client, outcome: str, left: list[int], more: dict[str, str], text: str
) -> None:
    answer = press(bo, scene, outcome, *left, note="kept", **more)
    html = answer.content.decode()
    assert answer.status_code == 400 and text in html and 'value="kept"' in html
    assert not Shot.objects.exists()


def test_a_ball_of_a_teammate_is_refused_without_naming_it(scene: Scene, bo: Client) -> None:
    answer = press(bo, scene, "clear", ball=str(scene.cast.lin_ball.uuid))
    assert answer.status_code == 400 and "Moss Bell" not in answer.content.decode()


def test_sent_twice_is_logged_once_and_both_answers_are_good(scene: Scene, bo: Client) -> None:
    data = form_of(bo, scene) | {"outcome": "clear"}
    url = reverse("shot-log", args=[scene.entry.uuid])
    answers = [bo.post(url, data, headers=HTMX) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert Shot.objects.count() == 1


def test_a_page_left_open_tells_what_happened_meanwhile(scene: Scene, bo: Client) -> None:
    data = form_of(bo, scene) | {"outcome": "clear"}
    scene.log([10], by=scene.cast.coach)
    answer = bo.post(reverse("shot-log", args=[scene.entry.uuid]), data)
    assert (
        "Frame 1, throw 1 was logged meanwhile (10 pin). Next is frame 1, throw 2." in answer.content.decode()
    )
    # The form shown again stands at the next throw: who has read this may go on with one more press.
    again = answer.context["form"]
    assert (again["frame_number"].value(), again["throw_number"].value()) == ("1", "2")
    spare = {
        key: again[key].value() for key in ("uuid", "game_number", "frame_number", "throw_number", "ball")
    }
    assert bo.post(reverse("shot-log", args=[scene.entry.uuid]), {**data, **spare}).status_code == 302
    assert Shot.objects.filter(undone_at=None).count() == 2


def test_htmx_gets_the_panel_alone_with_what_was_logged(scene: Scene, bo: Client) -> None:
    data = form_of(bo, scene) | {"outcome": "clear"}
    answer = bo.post(reverse("shot-log", args=[scene.entry.uuid]), data, headers=HTMX)
    html = answer.content.decode()
    assert "<html" not in html and 'id="lane-side"' in html
    assert "Logged frame 1: strike, Grey Kettle." in html
    assert "frame 2" in html and "Lane 6" in html


def test_every_page_carries_a_number_of_its_own(scene: Scene, bo: Client) -> None:
    assert form_of(bo, scene)["uuid"] != form_of(bo, scene)["uuid"]


def test_undo_takes_the_newest_back_and_shows_it(scene: Scene, bo: Client) -> None:
    shot = scene.log([7, 10])
    answer = bo.post(reverse("shot-undo", args=[shot.uuid]), headers=HTMX)
    assert "Taken back frame 1: 7-10 split. It stays in the record." in answer.content.decode()
    assert Shot.objects.get().undone_at is not None


def test_what_was_undone_or_corrected_stays_in_the_list_with_a_mark(scene: Scene, bo: Client) -> None:
    scene.log([10])
    second = scene.log()
    assert [item.fate for item in LaneSide(scene.entry).recent] == ["", ""]
    bo.post(reverse("shot-undo", args=[second.uuid]))
    first = Shot.objects.get(undone_at=None)
    facts = record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[7])
    record.edit_shot(first, facts, by=scene.cast.bo, uid=uuid.uuid4())
    assert [(item.told, item.fate) for item in LaneSide(scene.entry).recent] == [
        ("frame 1: 7 pin", ""),
        ("frame 1: spare", "undone"),
        ("frame 1: 10 pin", "corrected"),
    ]
    html = bo.get(page(scene)).content.decode()
    assert "<s>frame 1: spare</s>" in html and re.search(r"undone \d\d:\d\d</span>", html)
    guest = scene.cast.client(scene.cast.guest).get(page(scene)).content.decode()
    assert "<s>frame 1: spare</s>" in guest and "/edit/" not in guest


def test_the_only_shot_of_a_game_once_undone_is_still_in_sight_on_the_game_before(
    scene: Scene, bo: Client
) -> None:
    scene.log([10])
    begun = scene.log([7], game_number=2)
    html = bo.post(reverse("shot-undo", args=[begun.uuid]), headers=HTMX).content.decode()
    assert "Game 1, frame 1" in html and "Game 2, <s>frame 1: 7 pin</s>" in html


def test_shots_that_a_line_took_the_place_of_say_so(scene: Scene) -> None:
    scene.log([10])
    record.log_line(
        scene.entry,
        1,
        notation="X X X X X X X X X XXX",
        stretches=[record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)],
        bowled_at=None,
        by=scene.cast.bo,
        uid=uuid.uuid4(),
        instead_of_shots=True,
    )
    assert [item.fate for item in LaneSide(scene.entry, 1).recent] == ["a line instead"]


def test_a_practice_page_left_open_tells_what_was_logged_meanwhile_and_goes_on(
    scene: Scene, bo: Client
) -> None:
    practice, _ = record.open_practice(
        scene.entry, kind="warm_up", lane=scene.lane(5), started_at=None, uid=uuid.uuid4()
    )
    shown, log = (reverse(name, args=[practice.uuid]) for name in ("practice", "practice-log"))
    data = fields_of(bo.get(shown).content.decode()) | {"outcome": "clear"}
    facts = record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[10])
    record.log_practice_shot(practice, facts, by=scene.cast.coach, uid=uuid.uuid4())
    late = bo.post(log, data, headers=HTMX)
    html = late.content.decode()
    assert late.status_code == 400
    assert "Throw 1 was logged meanwhile (10 pin). Next is throw 2." in html
    assert practice.shots.count() == 1
    again = fields_of(html) | {"outcome": "clear"}
    assert bo.post(log, again, headers=HTMX).status_code == 200
    assert [shot.throw_number for shot in practice.shots.all()] == [1, 2]


def test_practice_keeps_what_was_undone_in_sight(scene: Scene, bo: Client) -> None:
    practice, _ = record.open_practice(
        scene.entry, kind="warm_up", lane=scene.lane(5), started_at=None, uid=uuid.uuid4()
    )
    facts = record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[10])
    shot = record.log_practice_shot(practice, facts, by=scene.cast.bo, uid=uuid.uuid4()).shot
    bo.post(reverse("shot-undo", args=[shot.uuid]))
    html = bo.get(reverse("practice", args=[practice.uuid])).content.decode()
    assert "<s>practice 1: 10 pin</s>" in html and re.search(r"undone \d\d:\d\d</span>", html)


def test_a_game_passed_over_is_pointed_at_until_its_last_frame_is_logged(scene: Scene, bo: Client) -> None:
    scene.log_strikes(10)
    scene.log([10], game_number=2)
    link = f'href="{page(scene)}?game=1"'
    html = bo.get(page(scene)).content.decode()
    assert "Game 2, frame 1" in html and link in html and "Finish game 1, frame 10" in html
    guest = scene.cast.client(scene.cast.guest).get(page(scene)).content.decode()
    assert "Game 1 stops at frame 10" in guest and "Finish" not in guest
    data = form_of_game(bo, scene, 1) | {"outcome": "clear"}
    url = reverse("shot-log", args=[scene.entry.uuid])
    # It stays in sight while it is filled; undo and its address do too.
    assert bo.post(url, data).url == f"{page(scene)}?game=1"
    last = Shot.objects.get(game__number=1, frame_number=10, throw_number=2)
    assert bo.post(reverse("shot-undo", args=[last.uuid])).url == f"{page(scene)}?game=1"
    bo.post(url, form_of_game(bo, scene, 1) | {"outcome": "clear"})
    over = bo.post(url, form_of_game(bo, scene, 1) | {"outcome": "clear"}, headers=HTMX).content.decode()
    assert "Game 2, frame 1" in over and link not in over
    assert scene.game(1).shots.filter(undone_at=None).count() == 12


def test_an_unfinished_line_that_was_passed_over_goes_on_as_a_line(scene: Scene, bo: Client) -> None:
    record.log_line(
        scene.entry,
        1,
        notation="X 9/ 81",
        stretches=[record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)],
        bowled_at=None,
        by=scene.cast.bo,
        uid=uuid.uuid4(),
    )
    assert "passed-over" not in bo.get(page(scene)).content.decode(), "nothing later is begun"
    scene.log([10], game_number=2)
    html = bo.get(page(scene)).content.decode()
    assert f'href="{reverse("game-line", args=[scene.entry.uuid, 1])}">Finish game 1, frame 4<' in html


def test_undo_of_an_older_shot_says_which_is_newest(scene: Scene, bo: Client) -> None:
    first = scene.log([10])
    scene.log()
    bo.post(reverse("shot-undo", args=[first.uuid]))
    assert "Undo the newest first: frame 1, throw 2." in bo.get(page(scene)).content.decode()


def test_undo_reaches_back_into_the_game_before(scene: Scene, bo: Client) -> None:
    scene.log_strikes(12)
    html = bo.get(page(scene)).content.decode()
    assert "Open game 1 again" in html and "Game 2" in html
    newest = LaneSide(scene.entry).newest
    assert newest is not None and newest.throw_number == 3


def test_a_shot_is_corrected_on_its_own_page(scene: Scene, bo: Client) -> None:
    shot = scene.log([10], laydown_board=20.0)
    url = reverse("shot-edit", args=[shot.uuid])
    assert 'value="20"' in bo.get(url).content.decode()
    data = {
        "uuid": str(uuid.uuid4()),
        "outcome": "leave",
        "left": ["7"],
        "ball": str(scene.cast.bo_ball.uuid),
    }
    assert bo.post(url, data).status_code == 302
    assert Shot.objects.get(undone_at=None).pins_left == mask_of([7])
    # The page that is still open speaks of a shot that does not count any more.
    late = bo.post(url, data | {"uuid": str(uuid.uuid4())})
    assert late.status_code == 400 and "changed or undone meanwhile by Bo" in late.content.decode()


def test_the_score_and_the_last_game(scene: Scene, bo: Client) -> None:
    for number in (1, 2, 3):
        for _ in range(12):
            scene.log(game_number=number)
    html = bo.get(page(scene)).content.decode()
    assert "Game 3: 300" in html and "All games of this block are logged" in html


def test_without_a_plan_the_page_asks_where_and_goes_on_there(scene: Scene, bo: Client) -> None:
    scene.entry.visits.all().delete()
    assert "Where is game 1 bowled?" in bo.get(page(scene)).content.decode()
    bo.post(reverse("game-pair", args=[scene.entry.uuid, 1]), {"lane": "8"})
    html = bo.get(page(scene)).content.decode()
    assert "Lane 8" in html
    press(bo, scene, "clear")
    assert Shot.objects.get().lane.number == 8


def test_feet_follow_from_laydown_and_the_bowlers_gap(scene: Scene, bo: Client) -> None:
    html = bo.get(page(scene)).content.decode()
    assert 'data-gap="6.5"' in html and "Boards from the right gutter." in html
    left = scene.cast.client(scene.cast.lin).get(reverse("lane-side", args=[scene.lin_entry.uuid]))
    assert "Boards from the left gutter." in left.content.decode()


def test_the_deck_is_physical_for_both_hands(scene: Scene, bo: Client) -> None:
    lin = scene.cast.client(scene.cast.lin)
    html = lin.get(reverse("lane-side", args=[scene.lin_entry.uuid])).content.decode()
    assert re.findall(r'name="left" value="(\d+)"', html)[:4] == ["7", "8", "9", "10"]


def test_told_in_a_few_words(scene: Scene) -> None:
    said = [
        told(scene.log([10])),
        told(scene.log()),
        told(scene.log(pins_down=[])),
        told(scene.log([7, 10])),
        told(scene.log([], foul=True)),
    ]
    assert said == [
        "frame 1: 10 pin",
        "frame 1: spare",
        "frame 2: no pin",
        "frame 2: 7-10 split",
        "frame 3: foul",
    ]


def test_the_page_takes_few_queries_however_long_the_game(
    scene: Scene, bo: Client, django_assert_max_num_queries: Any
) -> None:
    scene.log_strikes(11)
    with django_assert_max_num_queries(29):
        bo.get(page(scene))


def test_a_finished_block_may_still_be_completed(scene: Scene, bo: Client) -> None:
    Block.objects.filter(pk=scene.block.pk).update(state=Block.State.FINISHED)
    press(bo, scene, "clear")
    assert Shot.objects.count() == 1


def typed(scene: Scene, number: int, notation: str, **more: Any) -> record.TypedLine:
    whole = record.StretchFacts(first_frame=1, last_frame=10, ball=scene.cast.bo_ball)
    return record.log_line(
        scene.entry,
        number,
        notation=notation,
        stretches=[whole],
        bowled_at=None,
        by=scene.cast.bo,
        uid=uuid.uuid4(),
        **more,
    )


def test_the_undo_offered_after_a_typed_line_is_of_that_line(scene: Scene, bo: Client) -> None:
    scene.log_strikes(12)
    typed(scene, 3, "X X X X X X X X X XXX")
    scene.log(game_number=2)
    line = typed(scene, 2, "9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/9", instead_of_shots=True).line
    html = bo.get(page(scene)).content.decode()
    assert "Last: game 2 as a line" in html and "line of game 2" in html
    assert reverse("line-undo", args=[line.uuid]) in html
    assert "/undo/" in html and "shots/" not in re.findall(r'action="([^"]+undo/)"', html)[0]


def test_a_finished_game_before_is_opened_again_only_by_a_second_press_that_says_so(
    scene: Scene, bo: Client
) -> None:
    scene.log_strikes(12)
    html = bo.get(page(scene)).content.decode()
    inside = html[html.index("undo-reopens") : html.index("</details>", html.index("undo-reopens"))]
    assert "Game 1 is finished." in inside and "Open game 1 again" in inside and "shot-undo" not in inside
    assert html.count("/undo/") == inside.count("/undo/") == 2
    scene.log([10])
    assert "undo-reopens" not in bo.get(page(scene)).content.decode()
