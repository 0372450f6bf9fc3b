"""A block being bowled, for tests: house, pattern, event, entries of Bo and Lin on lanes 7 and 8."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import pytest

from arsenal.models import Ball, Release
from patterns.models import Pattern, PatternVersion
from sessions.models import (
    Block,
    BlockEntry,
    Dressing,
    Event,
    Game,
    House,
    Lane,
    PairVisit,
    Shot,
)
from tests.conftest import Cast

START = datetime(2026, 6, 6, 10, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@dataclass
class OpenBlock:
    cast: Cast
    house: House
    lanes: dict[int, Lane]
    version: PatternVersion
    event: Event
    block: Block
    bo: BlockEntry
    lin: BlockEntry

    def game(self, entry: BlockEntry, number: int = 1, left: int = 7) -> Game:
        return Game.objects.get_or_create(
            entry=entry,
            number=number,
            defaults={
                "left_lane": self.lanes[left],
                "right_lane": self.lanes[left + 1],
                "started_at": START + (number - 1) * 45 * MINUTE,
            },
        )[0]

    def shot(
        self,
        entry: BlockEntry,
        frame: int = 1,
        pins_left: int = 0,
        game: int = 1,
        left: int = 7,
        **more: object,
    ) -> Shot:
        """A first ball in a frame, with a line; the strike ball of the bowler."""
        played = self.game(entry, game, left)
        fields: dict[str, object] = {
            "ball": Ball.objects.filter(bowler=entry.bowler).order_by("pk").first(),
            "release": Release.objects.get(bowler=entry.bowler, kind="strike"),
            "laydown_board": 22.0,
            "target_board": 14.0,
            "thrown_at": played.started_at + frame * 4 * MINUTE,
            "throw_number": 1,
        }
        return Shot.objects.create(
            game=played,
            frame_number=frame,
            lane=played.lane_of_frame(frame),
            pins_left=pins_left,
            **{**fields, **more},
        )


def make_version(team_pattern: Pattern, length_ft: float = 41.0) -> PatternVersion:
    """Oil heavy in the middle and thin outside, tapering down the lane; symmetrical."""
    across = [max(6.0, 70.0 - 4.0 * max(0, abs(board - 20) - 8)) for board in range(1, 40)]
    distances = [0.0, 15.0, 30.0, length_ft]
    oil = [[value * share for value in across] for share in (1.0, 0.8, 0.4, 0.15)]
    return PatternVersion.objects.create(
        pattern=team_pattern, number=1, length_ft=length_ft, distances_ft=distances, oil=oil
    )


def open_block(cast: Cast) -> OpenBlock:
    house = House.objects.create(team=cast.team, name="Tollbridge Lanes")
    lanes = {number: Lane.objects.create(house=house, number=number) for number in range(1, 13)}
    version = make_version(Pattern.objects.create(team=cast.team, name="Heather"))
    event = Event.objects.create(
        team=cast.team,
        house=house,
        name="Spring Plate",
        starts_on=date(2026, 6, 6),
        ends_on=date(2026, 6, 7),
    )
    block = Block.objects.create(
        event=event,
        name="Block 1",
        games_planned=4,
        starts_at=START,
        pattern_version=version,
        state=Block.State.OPEN,
    )
    for lane in lanes.values():
        Dressing.objects.create(lane=lane, done_at=START - 60 * MINUTE, pattern_version=version)
    entries = [BlockEntry.objects.create(block=block, bowler=b) for b in (cast.bo_bowler, cast.lin_bowler)]
    for entry in entries:
        for game, left in enumerate((7, 9, 11, 1), start=1):
            PairVisit.objects.create(
                entry=entry, game_number=game, left_lane=lanes[left], right_lane=lanes[left + 1]
            )
    return OpenBlock(cast, house, lanes, version, event, block, *entries)


@pytest.fixture
def opened(cast: Cast) -> OpenBlock:
    """Imported by the test modules that use it."""
    return open_block(cast)
