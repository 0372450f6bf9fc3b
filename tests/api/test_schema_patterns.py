"""The patterns API against its own published schema, with requests a generator makes up."""

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

from patterns.models import Pattern
from tests.conftest import Cast
from tests.patterns.test_api import body, make, send

schema = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
schema.app = get_wsgi_application()
schema = schema.include(path_regex="^/api/patterns/")

# What a schema cannot say (a distance must rise) is refused all the same, and paging forgives a bad offset,
# so the checks are those on the answer.
CHECKS = [not_a_server_error, status_code_conformance, response_schema_conformance]


@pytest.fixture
def signed_in(cast: Cast) -> Iterator[Client]:
    yield cast.client(cast.bo)


@schema.parametrize()
@settings(
    max_examples=30, deadline=None, suppress_health_check=list(HealthCheck), database=None, derandomize=True
)
def test_answers_keep_to_the_schema_whatever_is_asked(case: Any, cast: Cast, signed_in: Client) -> None:
    pattern = Pattern.objects.first() or make(cast)
    if "uuid" in (case.path_parameters or {}):
        case.path_parameters["uuid"] = str(pattern.uuid)
    if "pattern" in (case.path_parameters or {}):
        case.path_parameters["pattern"] = str(pattern.uuid)
    signed_in.cookies["csrftoken"] = "a" * 32
    case.call_and_validate(
        cookies={key: morsel.value for key, morsel in signed_in.cookies.items()},
        headers={"X-CSRFToken": "a" * 32, "Referer": "http://localhost/", "Host": "localhost"},
        checks=CHECKS,
    )


def test_the_generator_reaches_the_views(cast: Cast, signed_in: Client) -> None:
    """The same address answers a good request, so refusals above are refusals of content."""
    assert send(signed_in, "post", "/api/patterns/", body()).status_code == 201
