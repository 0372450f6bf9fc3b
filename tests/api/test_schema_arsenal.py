"""The arsenal's API against its own schema: generated requests get foretold answers and never a crash."""

from typing import Any

import pytest
import schemathesis
from django.core.management import call_command
from django.core.wsgi import get_wsgi_application
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import response_schema_conformance, status_code_conformance

from tests.api.test_arsenal_api import own_rows
from tests.conftest import Cast

schema = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
schema.app = get_wsgi_application()
schema = schema.include(path_regex="^/api/(me|teams|bowlers|releases|balls|layouts|surface-entries)/")

# Rules between fields (an intermediate differential above the differential) are beyond a schema, so what is
# checked is the answer: no crash, a status the schema names, a body of the shape it names.
CHECKS = [not_a_server_error, status_code_conformance, response_schema_conformance]
GENERATED = settings(
    max_examples=20, deadline=None, suppress_health_check=list(HealthCheck), database=None, derandomize=True
)


class Target:
    """Bo's rows, made once for all examples of one test; a generated uuid would never meet one."""

    def __init__(self, cast: Cast) -> None:
        self.rows = own_rows(cast)
        client = cast.client(cast.bo)
        self.cookies = {name: morsel.value for name, morsel in client.cookies.items()}
        # Session cookies alone may not write: the page's token goes with them, as in the browser.
        client.get("/bags/")
        self.cookies["csrftoken"] = client.cookies["csrftoken"].value


@pytest.fixture
def target(cast: Cast) -> Target:
    return Target(cast)


@schema.parametrize()
@GENERATED
def test_generated_requests_get_foretold_answers(case: Any, target: Target) -> None:
    collection = case.path.split("/")[2]
    if "uuid" in (case.path_parameters or {}) and collection in target.rows:
        case.path_parameters["uuid"] = target.rows[collection]
    if isinstance(case.body, dict):
        for name, of in (("bowler", "bowlers"), ("ball", "balls")):
            if name in case.body:
                case.body[name] = target.rows[of]
    answer = case.call(cookies=target.cookies, headers={"X-CSRFToken": target.cookies["csrftoken"]})
    case.validate_response(answer, checks=CHECKS)


def test_the_schema_is_complete_and_valid(tmp_path: Any, db: None) -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "schema.yml"))
