"""The demo: invented, whole, loaded once, and bowled by the simulator that is in the repository."""

import json
from collections import Counter
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from arsenal.models import Ball, Bowler, Membership, Team
from arsenal.models.people import Role
from motion.leaves import FULL_RACK
from sessions.demo import bowl
from sessions.demo.load import SHOTS
from sessions.demo.scenario import BLOCKS, BOWLERS, DEMO_PASSWORD, PATTERNS, TEAM
from sessions.models import Block, BlockEntry, Game, House, OwedAdvice, Shot
from sessions.scores import game_score


@pytest.fixture
def demo(db: None) -> Team:
    call_command("load_demo", stdout=StringIO())
    return Team.objects.get(name=TEAM)


def test_the_team_is_the_one_described(demo: Team) -> None:
    assert sorted(Ball.objects.filter(bowler__team=demo).values_list("bowler__name", flat=True)) == sorted(
        bowler.name for bowler in BOWLERS for _ in bowler.balls
    )
    bags = Counter(len(bowler.balls) for bowler in BOWLERS)
    assert sum(bags.values()) == 6 and bags[24] == 1 and min(bags) >= 7
    styles = {(bowler.hand, bowler.hands_used) for bowler in Bowler.objects.filter(team=demo)}
    assert styles == {("right", 1), ("right", 2), ("left", 1), ("left", 2)}
    roles = Counter(Membership.objects.filter(team=demo).values_list("role", flat=True))
    assert roles == {Role.PLAYER: 6, Role.COACH: 1, Role.GUEST: 1}
    assert House.objects.get(team=demo).lanes.count() == 24
    assert len({pattern.length_ft for pattern in PATTERNS}) == 3


def test_one_block_is_finished_and_one_half_bowled(demo: Team) -> None:
    finished, half = Block.objects.filter(event__team=demo).order_by("starts_at")
    assert (finished.state, half.state) == (Block.State.FINISHED, Block.State.OPEN)
    assert Game.objects.filter(entry__block=half).count() == 3 * len(BOWLERS)
    assert half.games_planned == 2 * 3
    assert not Shot.objects.filter(thrown_at__gt=half.updated_at).exists()


def test_every_game_is_whole_and_scores(demo: Team) -> None:
    for game in Game.objects.filter(entry__block__event__team=demo):
        scored = game_score(game)
        assert scored is not None and scored.complete, game


def test_advice_is_owed_for_the_open_block_at_once(demo: Team) -> None:
    entries = BlockEntry.objects.filter(block__state=Block.State.OPEN)
    assert set(OwedAdvice.objects.values_list("entry", flat=True)) == set(
        entries.values_list("pk", flat=True)
    )


def test_a_second_load_changes_nothing_and_says_so(demo: Team) -> None:
    before = Shot.objects.count()
    with pytest.raises(CommandError, match="already here"):
        call_command("load_demo", stdout=StringIO())
    assert Shot.objects.count() == before


def test_the_sign_ins_are_printed_only_where_the_demo_is(db: None) -> None:
    out = StringIO()
    call_command("demo_signins", stdout=out)
    assert out.getvalue() == ""
    call_command("load_demo", stdout=StringIO())
    call_command("demo_signins", stdout=out)
    assert "tamsin" in out.getvalue() and DEMO_PASSWORD in out.getvalue()


def test_the_stored_shots_are_what_the_simulator_bowls() -> None:
    """The first game of the file, bowled again from its seed."""
    stored = json.loads(SHOTS.read_text())[BLOCKS[0].name]
    again = bowl.bowl_block(1, bowl.first_games(BLOCKS[0], 1))
    assert again == [shot for shot in stored if shot["game"] == 1]


@pytest.mark.long
def test_every_stored_shot_of_every_block_is_what_the_simulator_bowls() -> None:
    stored = json.loads(SHOTS.read_text())
    again = json.loads(json.dumps(bowl.bowl_all()))
    assert again.keys() == stored.keys()
    for name, shots in stored.items():
        assert len(again[name]) == len(shots), name
        apart = [
            number for number, pair in enumerate(zip(again[name], shots, strict=True)) if pair[0] != pair[1]
        ]
        assert apart == [], f"{name}: {len(apart)} of {len(shots)} shots differ, the first at {apart[0]}"


def test_no_shot_leaves_a_pin_that_was_down() -> None:
    for shots in json.loads(SHOTS.read_text()).values():
        standing, frame = FULL_RACK, None
        for shot in shots:
            here = (shot["bowler"], shot["game"], shot["frame"])
            standing = FULL_RACK if here != frame else standing
            assert shot["left"] & ~standing == 0
            standing, frame = shot["left"] or FULL_RACK, here
