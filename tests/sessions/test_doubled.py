"""Submissions that arrive twice at the very same moment, over real connections."""

import sqlite3
import threading
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from sessions import record
from sessions.models import BlockEntry, GameLine, PracticeWindow, Shot
from tests.conftest import Cast
from tests.conftest import cast as cast_fixture
from tests.sessions.conftest import Scene, make_scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def on_disk(transactional_db: None, tmp_path: Path) -> Iterator[None]:
    """SQLite as it runs for real: connections to one file that wait for each other."""
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    in_memory, name = connection.connection, connection.settings_dict["NAME"]
    path = tmp_path / "rows.sqlite3"
    with closing(sqlite3.connect(path)) as copy:
        in_memory.backup(copy)
    connection.connection = None
    connection.settings_dict["NAME"] = str(path)
    yield
    connection.close()
    connection.settings_dict["NAME"] = name
    connection.connection = in_memory


@pytest.fixture
def stored(on_disk: None) -> Scene:
    """The scene in committed rows, so that other connections see it."""
    people: Cast = cast_fixture.__wrapped__(None)  # type: ignore[attr-defined]
    return make_scene(people)


def at_once(*calls: Callable[[], Any]) -> list[Any]:
    """Each call in its own thread, let go together; a refusal is returned like an answer."""
    gate = threading.Barrier(len(calls))
    answers: list[Any] = [None] * len(calls)

    def run(index: int, call: Callable[[], Any]) -> None:
        try:
            gate.wait(10)
            answers[index] = call()
        except ValidationError as refused:
            answers[index] = refused
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return answers


def shot_call(scene: Scene, uid: uuid.UUID, **place: int) -> Callable[[], Any]:
    entry_id, facts = scene.entry.pk, record.ShotFacts(ball=scene.cast.bo_ball, pins_left=[10])
    return lambda: record.log_shot(
        BlockEntry.objects.get(pk=entry_id), facts, by=scene.cast.bo, uid=uid, **place
    )


def test_the_same_shot_twice_at_once_is_one_shot(stored: Scene) -> None:
    uid = uuid.uuid4()
    answers = at_once(*(shot_call(stored, uid) for _ in range(4)))
    assert sorted(answer.created for answer in answers) == [False, False, False, True]
    assert len({answer.shot.pk for answer in answers}) == 1
    assert Shot.objects.count() == 1


def test_two_people_logging_the_same_throw_at_once_leave_one_shot(stored: Scene) -> None:
    place = {"game_number": 1, "frame_number": 1, "throw_number": 1}
    answers = at_once(*(shot_call(stored, uuid.uuid4(), **place) for _ in range(3)))
    refused = [answer for answer in answers if isinstance(answer, ValidationError)]
    assert len(refused) == 2 and "was logged meanwhile" in str(refused[0])
    assert Shot.objects.count() == 1


def test_different_shots_at_once_all_find_their_place(stored: Scene) -> None:
    answers = at_once(*(shot_call(stored, uuid.uuid4()) for _ in range(4)))
    assert all(answer.created for answer in answers)
    places = {(shot.frame_number, shot.throw_number) for shot in Shot.objects.all()}
    assert places == {(1, 1), (1, 2), (2, 1), (2, 2)}


def test_the_same_line_twice_at_once_is_one_line(stored: Scene) -> None:
    uid, entry_id = uuid.uuid4(), stored.entry.pk
    row = record.StretchFacts(first_frame=1, last_frame=10, ball=stored.cast.bo_ball)

    def type_it() -> record.TypedLine:
        entry = BlockEntry.objects.get(pk=entry_id)
        given: dict[str, Any] = {"stretches": [row], "bowled_at": None, "by": stored.cast.bo, "uid": uid}
        return record.log_line(entry, 1, notation="X X", **given)

    answers = at_once(type_it, type_it, type_it)
    assert sorted(answer.created for answer in answers) == [False, False, True]
    assert GameLine.objects.count() == 1


def test_undo_pressed_twice_at_once_takes_one_shot_back(stored: Scene) -> None:
    stored.log()
    newest = stored.log()
    pk = newest.pk

    def undo() -> Shot:
        return record.undo_shot(Shot.objects.get(pk=pk), by=stored.cast.bo)

    at_once(undo, undo)
    assert Shot.objects.filter(undone_at=None).count() == 1


def test_two_people_logging_the_same_practice_throw_at_once_leave_one_shot(stored: Scene) -> None:
    practice, _ = record.open_practice(
        stored.entry, kind="warm_up", lane=stored.lane(5), started_at=None, uid=uuid.uuid4()
    )
    facts = record.ShotFacts(ball=stored.cast.bo_ball, pins_left=[10])

    def log_it() -> record.Logged:
        there = PracticeWindow.objects.get(pk=practice.pk)
        return record.log_practice_shot(there, facts, by=stored.cast.bo, uid=uuid.uuid4(), throw_number=1)

    answers = at_once(log_it, log_it, log_it)
    refused = [answer for answer in answers if isinstance(answer, ValidationError)]
    assert len(refused) == 2 and "was logged meanwhile" in str(refused[0])
    assert Shot.objects.count() == 1
