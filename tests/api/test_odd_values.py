"""What no page sends and no schema foretells: it is refused with a reason or kept, and never a crash."""

import json
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from patterns.models import Pattern
from tests.api.test_arsenal_api import own_rows
from tests.conftest import Cast
from tests.patterns.test_api import body as pattern_body

# RFC 8259 sets no limit to the digits of a number, allows half of a surrogate pair as an escape, and leaves
# the depth of nesting to whoever reads.
ODD: list[Any] = [
    *(None, True, -1, 0.1, 10**400, 1e308, "NaN", "\x00", "x" * 5000, "\ud800"),
    *([], {}, [None], [10**400], [[10**400] * 5] * 5, [["\ud800"]], {"\ud800": {"a": [{}]}}),
]
FIELDS = {
    "bowlers": "uuid team name hand hands_used pap_over_in is_active note version",
    "releases": "uuid bowler kind speed_mph scatter_correlation origin version",
    "balls": "uuid bowler name cover weight_lb hardness_d role drilled_on in_bag version",
    "layouts": "uuid ball pin_to_pap_in gripping_holes balance_hole drilled_by version",
    "surface-entries": "uuid ball kind done_at grits by_machine wet window minutes corrects",
    "patterns": "uuid version name note entry unit length_ft stated_volume_ml ratio viscosity_cp"
    " distances_ft oil rows text counted_from passes shared_with_guests",
}


def send(client: Client, method: str, path: str, data: Any) -> HttpResponse:
    # As a browser's own JSON would be: escapes, no NaN.
    return client.generic(method, path, json.dumps(data), content_type="application/json")


@pytest.mark.parametrize("kind", FIELDS)
def test_no_value_in_any_field_is_a_crash(cast: Cast, kind: str) -> None:
    rows, client = own_rows(cast), cast.client(cast.coach)
    pattern = Pattern.objects.create(team=cast.team, name="Slow Lane")
    rows["patterns"] = str(pattern.uuid)
    good = pattern_body() if kind == "patterns" else client.get(f"/api/{kind}/{rows[kind]}/").json()
    good.pop("uuid", None)
    for name in FIELDS[kind].split():
        for value in ODD:
            answer = send(client, "POST", f"/api/{kind}/", {**good, name: value})
            assert answer.status_code in (200, 201, 400, 409), (name, value)
            if answer.status_code == 400:
                assert answer.json(), (name, value)
            if kind != "surface-entries":
                changed = send(client, "PATCH", f"/api/{kind}/{rows[kind]}/", {"version": 1, name: value})
                # The uuid of another pattern's sending answers like one that does not exist.
                assert changed.status_code in ((200, 400, 404, 409) if name == "uuid" else (200, 400, 409))


@pytest.mark.parametrize(
    ("content", "kind", "words"),
    [
        (b"[" * 100_000, "application/json", "nested too deeply"),
        (b'{"a":' * 100_000, "application/json", "nested too deeply"),
        (b"{}", "application/json; charset=bogus", "required"),
        (b'{"name": "\\ud800"}', "application/json", "surrogate"),
        (b"\xff\xfe", "application/json", "JSON parse error"),
        (b'{"name": NaN}', "application/json", "JSON parse error"),
        (b"9" * 5000, "application/json", "JSON parse error"),
        (b"", "application/json", ""),
        (b"null", "application/json", ""),
        (b"[1]", "application/json", ""),
    ],
)
@pytest.mark.parametrize("path", ["/api/balls/", "/api/patterns/", "/api/shots/"])
def test_a_body_that_cannot_be_read_gets_a_reason(
    cast: Cast, path: str, content: bytes, kind: str, words: str
) -> None:
    answer = cast.client(cast.bo).generic("POST", path, content, content_type=kind)
    assert answer.status_code == 400
    assert words in answer.content.decode()


@pytest.mark.parametrize("kind", ["text/plain", "multipart/form-data", "application/x-www-form-urlencoded"])
def test_only_json_is_taken(cast: Cast, kind: str) -> None:
    answer = cast.client(cast.bo).generic("POST", "/api/balls/", b"name=Odd", content_type=kind)
    assert answer.status_code == 415
