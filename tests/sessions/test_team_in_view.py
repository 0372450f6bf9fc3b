"""Somebody on two teams sees the lists of one at a time: the one they chose."""

import pytest
from django.urls import reverse

from arsenal.models import Membership
from arsenal.models.people import Role
from tests.conftest import Cast
from tests.sessions.conftest import Scene


@pytest.mark.parametrize(
    ("page", "own", "others"),
    [
        ("events", "Longwick Otters Open", "Farhaven Herons Open"),
        ("houses", "Longwick Otters Bowl", "Farhaven Herons Bowl"),
        ("bags", "Bo Aldwin", "Orla Vance"),
    ],
)
def test_lists_are_of_the_team_that_was_chosen(
    cast: Cast, scene: Scene, page: str, own: str, others: str
) -> None:
    Membership.objects.create(team=cast.other_team, person=cast.bo, role=Role.PLAYER)
    client = cast.client(cast.bo)
    text = client.get(reverse(page)).content.decode()
    assert own in text and others not in text
    client.post(reverse("team-switch"), {"team": cast.other_team.uuid})
    text = client.get(reverse(page)).content.decode()
    assert others in text and own not in text
