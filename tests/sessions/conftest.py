"""A small event for the logbook tests: Bo and Lin in one block in a house of twelve lanes."""

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

import pytest

from arsenal.models import Ball, Bowler, Team
from patterns.models import Pattern, PatternVersion
from sessions import record
from sessions.models import BagBall, Block, BlockEntry, Event, Game, House, Lane, PairVisit, Shot
from tests.conftest import Cast, make_ball

PLACE = ("game_number", "frame_number", "throw_number")


@dataclass
class Scene:
    cast: Cast
    house: House
    version: PatternVersion
    event: Event
    block: Block
    entry: BlockEntry
    lin_entry: BlockEntry
    spare_ball: Ball
    other_block: Block
    other_entry: BlockEntry

    def lane(self, number: int) -> Lane:
        return self.house.lanes.get(number=number)

    def log(self, left: list[int] | None = None, **more: Any) -> Shot:
        """Log Bo's next throw, a strike or a spare unless pins are named."""
        place = {name: more.pop(name) for name in PLACE if name in more}
        by, uid = more.pop("by", self.cast.bo), more.pop("uid", uuid.uuid4())
        if "pins_down" not in more:
            more["pins_left"] = left or []
        facts = record.ShotFacts(ball=more.pop("ball", self.cast.bo_ball), **more)
        return record.log_shot(self.entry, facts, by=by, uid=uid, **place).shot

    def log_strikes(self, count: int) -> None:
        for _ in range(count):
            self.log()

    def game(self, number: int = 1) -> Game:
        return self.entry.games.get(number=number)


def make_sheet(team: Team) -> PatternVersion:
    pattern = Pattern.objects.create(team=team, name="Otter Slide")
    return PatternVersion.objects.create(
        pattern=pattern, number=1, length_ft=40.0, distances_ft=[0.0, 40.0], oil=[[20.0] * 39, [5.0] * 39]
    )


def make_block(team: Team, version: PatternVersion) -> Block:
    house = House.objects.create(team=team, name=f"{team.name} Bowl")
    Lane.objects.bulk_create(Lane(house=house, number=number) for number in range(1, 13))
    event = Event.objects.create(
        team=team,
        house=house,
        name=f"{team.name} Open",
        starts_on=date(2026, 6, 6),
        ends_on=date(2026, 6, 7),
        shared_with_guests=True,
    )
    return Block.objects.create(
        event=event,
        name="Squad A",
        games_planned=3,
        starts_at=datetime(2026, 6, 6, 9, 0, tzinfo=UTC),
        pattern_version=version,
        state=Block.State.OPEN,
    )


def make_entry(block: Block, bowler: Bowler, *balls: Ball, left: int = 5) -> BlockEntry:
    entry = BlockEntry.objects.create(block=block, bowler=bowler)
    BagBall.objects.bulk_create(BagBall(entry=entry, ball=ball) for ball in balls)
    lanes = {lane.number: lane for lane in block.event.house.lanes.all()}
    for game in (1, 2, 3):
        at = left + 2 * (game - 1)
        PairVisit.objects.create(
            entry=entry, game_number=game, left_lane=lanes[at], right_lane=lanes[at + 1], starts_on_left=True
        )
    return entry


def make_scene(cast: Cast) -> Scene:
    version = make_sheet(cast.team)
    block = make_block(cast.team, version)
    spare_ball = make_ball(cast.bo_bowler, "Plain Pebble", "plastic")
    other_block = make_block(cast.other_team, make_sheet(cast.other_team))
    return Scene(
        cast=cast,
        house=block.event.house,
        version=version,
        event=block.event,
        block=block,
        entry=make_entry(block, cast.bo_bowler, cast.bo_ball, spare_ball),
        lin_entry=make_entry(block, cast.lin_bowler, cast.lin_ball, left=5),
        spare_ball=spare_ball,
        other_block=other_block,
        other_entry=make_entry(other_block, cast.outsider_bowler, cast.outsider_ball),
    )


@pytest.fixture
def scene(cast: Cast) -> Scene:
    return make_scene(cast)
