"""The logbook's API against its own published schema, with requests a generator makes up."""

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.wsgi import get_wsgi_application
from django.test import Client
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance

from sessions.models import BlockEntry, Comment, Dressing, Event, Game, GameLine, House, PracticeWindow, Shot
from tests.conftest import Cast
from tests.sessions.conftest import Scene, make_scene
from tests.sessions.test_logbook_access import dressing_of, line_of, practice_of
from tests.sessions.test_logbook_api import line_data, post, shot_data

schema = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
schema.app = get_wsgi_application()
KINDS = "houses|dressings|events|blocks|entries|games|practices|shots|game-lines|comments"
schema = schema.include(path_regex=f"^/api/({KINDS})/").exclude(path_regex="/advice/")

# What a schema cannot say (a lane of this house, the next frame) is refused all the same, and paging forgives
# a bad offset, so the checks are those on the answer.
CHECKS = [not_a_server_error, status_code_conformance, response_schema_conformance]
# Known uuids in place of made-up ones, so that requests get past "there is no such thing".
OWN_FIELDS = {
    "entry": BlockEntry,
    "practice": PracticeWindow,
    "house": House,
    "event": Event,
    "game": Game,
}


def furnish(cast: Cast) -> Scene:
    """A scene with one of everything that has a page of its own in the API; kept between examples."""
    scene = make_scene(cast)
    scene.log([10])
    practice_of(scene)
    line_of(scene)
    dressing_of(scene)
    Comment.objects.create(shot=Shot.objects.get(), written_by=cast.bo, text="Good speed.")
    return scene


@pytest.fixture
def signed_in(cast: Cast) -> Iterator[Client]:
    yield cast.client(cast.bo)


@pytest.fixture
def furnished(cast: Cast) -> Scene:
    return furnish(cast)


def _row_of(path: str, scene: Scene) -> uuid.UUID:
    kind = path.split("/")[2]
    rows: dict[str, Any] = {
        "houses": scene.house,
        "dressings": Dressing.objects.first(),
        "events": scene.event,
        "blocks": scene.block,
        "entries": scene.entry,
        "games": scene.game(),
        "practices": PracticeWindow.objects.first(),
        "shots": Shot.objects.order_by("pk").last(),
        "game-lines": GameLine.objects.first(),
        "comments": Comment.objects.first(),
    }
    found: uuid.UUID = rows[kind].uuid if rows[kind] else uuid.uuid4()
    return found


@schema.parametrize()
@settings(
    max_examples=20, deadline=None, suppress_health_check=list(HealthCheck), database=None, derandomize=True
)
def test_answers_keep_to_the_schema_whatever_is_asked(case: Any, furnished: Scene, signed_in: Client) -> None:
    if "uuid" in (case.path_parameters or {}):
        case.path_parameters["uuid"] = str(_row_of(case.path, furnished))
    if isinstance(case.body, dict):
        for name, model in OWN_FIELDS.items():
            if isinstance(case.body.get(name), str):
                own = model.objects.order_by("pk").first()  # type: ignore[attr-defined]
                case.body[name] = str(own.uuid) if own else case.body[name]
        if isinstance(case.body.get("ball"), str):
            case.body["ball"] = str(furnished.cast.bo_ball.uuid)
    signed_in.cookies["csrftoken"] = "a" * 32
    case.call_and_validate(
        cookies={key: morsel.value for key, morsel in signed_in.cookies.items()},
        headers={"X-CSRFToken": "a" * 32, "Referer": "http://localhost/", "Host": "localhost"},
        checks=CHECKS,
    )


def test_the_generator_reaches_the_views(furnished: Scene, signed_in: Client) -> None:
    """The same addresses answer good requests, so refusals above are refusals of content."""
    assert post(signed_in, "shots", **shot_data(furnished, game_number=2)).status_code == 201
    assert post(signed_in, "game-lines", **line_data(furnished, game_number=3)).status_code == 201
    assert furnished.entry.games.count() == 3
