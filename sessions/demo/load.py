"""Stores the demo team: people, bags, sheets, one finished block and one that is half bowled, ending now."""

import json
from collections import defaultdict
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path
from typing import Any

from django.db import transaction
from django.utils import timezone

from arsenal.models import Ball, Bowler, Layout, Membership, Person, Release, SurfaceEntry, Team
from arsenal.models.people import Role
from arsenal.models.surface import WindowKind
from motion.leaves import FULL_RACK
from motion.notation import format_game
from patterns.models import Pattern, PatternVersion
from sessions.demo.scenario import (
    BLOCKS,
    BOWLERS,
    COACH,
    DEMO_PASSWORD,
    EVENT,
    GUEST,
    HOUSE,
    LANES,
    MINUTES_PER_GAME,
    PATTERNS,
    TEAM,
    DemoBall,
    DemoBlock,
    DemoBowler,
)
from sessions.jobs import owe_advice_to
from sessions.models import (
    BagBall,
    Block,
    BlockEntry,
    Comment,
    Dressing,
    Event,
    EventWindow,
    Game,
    GameLine,
    House,
    Lane,
    LineStretch,
    PairVisit,
    Shot,
    SurfaceWork,
)

SHOTS = Path(__file__).with_name("shots.json")
MINUTES_PER_FRAME = 2.1
MINUTES_PER_THROW = 0.4
# Who types whole games instead of logging shots.
TYPES_LINES = ("mattis",)


class AlreadyLoaded(Exception):
    """The demo team is there; loading twice would double it."""


@transaction.atomic
def load_demo(now: datetime | None = None) -> Team:
    """Make the demo team around this moment; raises AlreadyLoaded if it exists."""
    if Team.objects.filter(name=TEAM).exists():
        raise AlreadyLoaded(f"The team {TEAM} is already here.")
    return _Loader(now or timezone.now()).load()


def sign_ins() -> list[tuple[str, str, str]]:
    """Name, role and sign-in of everyone in the demo; all share one password."""
    players = [(bowler.name, "player", bowler.username) for bowler in BOWLERS]
    others = [(person.name, person.role, person.username) for person in (COACH, GUEST)]
    return [*others[:1], *players, *others[1:]]


class _Loader:
    def __init__(self, now: datetime) -> None:
        self.now = now
        self.bowlers: dict[str, Bowler] = {}
        self.balls: dict[tuple[str, str], Ball] = {}
        self.versions: dict[str, PatternVersion] = {}

    def load(self) -> Team:
        self.team = Team.objects.create(name=TEAM)
        self.coach = self._person(COACH.username, COACH.name, Role.COACH)
        self._person(GUEST.username, GUEST.name, Role.GUEST)
        for bowler in BOWLERS:
            self._bowler(bowler)
        for pattern in PATTERNS:
            stored = Pattern.objects.create(team=self.team, name=pattern.name, note=pattern.note)
            self.versions[pattern.name] = PatternVersion.objects.create(
                pattern=stored,
                number=1,
                length_ft=pattern.length_ft,
                distances_ft=list(pattern.distances_ft),
                oil=pattern.oil(),
                viscosity_cp=pattern.viscosity_cp,
                lane_surface="synthetic",
                source_note="typed in from the notice board",
                created_by=self.coach,
            )
        self.house = House.objects.create(team=self.team, name=HOUSE)
        Lane.objects.bulk_create(Lane(house=self.house, number=n) for n in range(1, LANES + 1))
        self.lanes = {lane.number: lane for lane in self.house.lanes.all()}
        self.event = self._event()
        logged = json.loads(SHOTS.read_text())
        for block in BLOCKS:
            self._block(block, logged[block.name])
        owe_advice_to(BlockEntry.objects.filter(block__event=self.event))
        return self.team

    def _person(self, username: str, name: str, role: str) -> Person:
        first, _, last = name.partition(" ")
        person = Person.objects.create_user(
            username, password=DEMO_PASSWORD, first_name=first, last_name=last
        )
        Membership.objects.create(team=self.team, person=person, role=role)
        return person

    def _bowler(self, demo: DemoBowler) -> None:
        person = self._person(demo.username, demo.name, Role.PLAYER)
        bowler = Bowler.objects.create(
            team=self.team,
            person=person,
            name=demo.name,
            hand=demo.hand,
            hands_used=demo.hands_used,
            pap_over_in=demo.pap[0],
            pap_up_in=demo.pap[1],
            gap_boards=demo.gap_boards,
            drift_boards=demo.drift_boards,
            note=demo.note,
        )
        self.bowlers[demo.username] = bowler
        speed, launch, laydown, revs, rotation = demo.scatter
        for item in demo.releases:
            Release.objects.create(
                bowler=bowler,
                kind=item.kind,
                speed_mph=item.speed_mph,
                rev_rate_rpm=item.rev_rate_rpm,
                axis_rotation_deg=item.axis_rotation_deg,
                axis_tilt_deg=item.axis_tilt_deg,
                sd_speed_mph=speed,
                sd_launch_deg=launch,
                sd_laydown_boards=laydown,
                sd_rev_rate_rpm=revs,
                sd_axis_rotation_deg=rotation,
                origin=item.origin,
            )
        for number, item_ball in enumerate(demo.balls):
            self._ball(bowler, demo, item_ball, number)

    def _ball(self, bowler: Bowler, demo: DemoBowler, item: DemoBall, number: int) -> None:
        ball = Ball.objects.create(
            bowler=bowler,
            name=item.name,
            weight_lb=item.weight_lb,
            rg_in=item.rg_in,
            differential_in=item.differential_in,
            intermediate_differential_in=item.intermediate_in,
            cover=item.cover,
            drilled_on=(self.now - timedelta(days=150 + 17 * number)).date(),
            role=item.role,
            serial_number=f"{demo.username[:2].upper()}{number + 1:02d}-{7301 + 37 * number}",
            hardness_d=item.hardness_d,
            in_bag=item.in_bag,
        )
        self.balls[demo.username, item.name] = ball
        if item.layout is not None:
            pin_to_pap, drilling, val = item.layout
            Layout.objects.create(
                ball=ball,
                pin_to_pap_in=pin_to_pap,
                drilling_angle_deg=drilling,
                val_angle_deg=val,
                gripping_holes=2 if demo.hands_used == 2 else 3,
                balance_hole=False,
                drilled_by="the club's certified shop",
            )
        for entry in item.surface:
            SurfaceEntry.objects.create(
                ball=ball,
                kind=entry.kind,
                done_at=self.now - timedelta(days=entry.days_ago),
                grits=list(entry.grits),
                by_machine=entry.by_machine,
                wet=entry.wet,
                minutes=entry.minutes,
                window=entry.window,
                note=entry.note,
                entered_by=bowler.person,
            )

    def _event(self) -> Event:
        event = Event.objects.create(
            team=self.team,
            house=self.house,
            name=EVENT,
            starts_on=(self.now - timedelta(days=2)).date(),
            ends_on=(self.now + timedelta(days=2)).date(),
            max_balls=10,
            rules_confirmed_by="the tournament desk",
            rules_confirmed_on=(self.now - timedelta(days=2)).date(),
            rules_note="Surfaces by hand only, at the tables behind lanes 21 to 24.",
            others_per_pair=3,
            right_handed_share=0.8,
            shared_with_guests=True,
        )
        EventWindow.objects.create(event=event, kind=WindowKind.BEFORE_EVENT, allowed=True, by_machine=True)
        EventWindow.objects.create(
            event=event, kind=WindowKind.BETWEEN_ROUNDS, allowed=True, where="tables behind lanes 21 to 24"
        )
        return event

    def _block(self, demo: DemoBlock, logged: list[dict[str, Any]]) -> None:
        starts_at = self.now + demo.starts
        version = self.versions[demo.pattern]
        finished = demo.games_bowled == demo.games_planned
        block = Block.objects.create(
            event=self.event,
            name=demo.name,
            squad=demo.squad,
            format="six games, one pair to the right after each",
            games_planned=demo.games_planned,
            starts_at=starts_at,
            pattern_version=version,
            state=Block.State.FINISHED if finished else Block.State.OPEN,
        )
        for lane in self.lanes.values():
            Dressing.objects.create(
                lane=lane,
                done_at=starts_at - timedelta(minutes=40),
                pattern_version=version,
                before_block=block,
            )
        by_bowler: dict[str, list[dict[str, Any]]] = defaultdict(list)
        for shot in logged:
            by_bowler[shot["bowler"]].append(shot)
        for demo_bowler in BOWLERS:
            self._entry(block, demo, demo_bowler, by_bowler[demo_bowler.username])

    def _entry(self, block: Block, demo: DemoBlock, bowler: DemoBowler, logged: list[dict[str, Any]]) -> None:
        entry = BlockEntry.objects.create(
            block=block,
            bowler=self.bowlers[bowler.username],
            objective="score" if bowler.username == "idris" else "floor",
        )
        carried = bowler.bag_for_block or tuple(ball.name for ball in bowler.balls if ball.in_bag)
        BagBall.objects.bulk_create(
            BagBall(entry=entry, ball=self.balls[bowler.username, name]) for name in carried
        )
        on_left = next((shot["starts_on_left"] for shot in logged), True)
        for number in range(1, demo.games_planned + 1):
            left = demo.first_lanes[bowler.username] + 2 * demo.pairs_to_move * (number - 1)
            PairVisit.objects.create(
                entry=entry,
                game_number=number,
                left_lane=self.lanes[left],
                right_lane=self.lanes[left + 1],
                starts_on_left=on_left,
            )
        for number, shots in groupby(logged, key=lambda shot: int(shot["game"])):
            self._game(entry, bowler, number, list(shots))
        sanded = self.balls[bowler.username, carried[0]].surface_entries.order_by("-done_at").first()
        if sanded is not None and demo is BLOCKS[0]:
            SurfaceWork.objects.create(surface_entry=sanded, before_block=block)

    def _game(self, entry: BlockEntry, bowler: DemoBowler, number: int, logged: list[dict[str, Any]]) -> None:
        visit = entry.visits.get(game_number=number)
        begun = entry.block.starts_at + timedelta(minutes=MINUTES_PER_GAME * (number - 1))
        game = Game.objects.create(
            entry=entry,
            number=number,
            left_lane=visit.left_lane,
            right_lane=visit.right_lane,
            starts_on_left=visit.starts_on_left,
            started_at=begun,
        )
        shots = self._shots(entry, bowler, game, logged)
        if bowler.username in TYPES_LINES:
            self._line(game, bowler, shots)
            return
        Shot.objects.bulk_create(shots)
        if bowler is BOWLERS[0] and number == 2:
            Comment.objects.create(
                game=game,
                written_by=self.coach,
                text="Good patience here: you waited for the second high hit before you moved.",
            )

    def _shots(
        self, entry: BlockEntry, bowler: DemoBowler, game: Game, logged: list[dict[str, Any]]
    ) -> list[Shot]:
        releases = {release.kind: release for release in self.bowlers[bowler.username].releases.all()}
        shots: list[Shot] = []
        turn = [item.username for item in BOWLERS].index(bowler.username) % 2
        for frame, thrown in groupby(logged, key=lambda shot: int(shot["frame"])):
            standing = FULL_RACK
            for throw_number, item in enumerate(thrown, start=1):
                minutes = MINUTES_PER_FRAME * (frame - 1 + 0.5 * turn) + MINUTES_PER_THROW * throw_number
                shots.append(
                    Shot(
                        entry=entry,
                        game=game,
                        frame_number=frame,
                        throw_number=throw_number,
                        lane=game.lane_of_frame(frame),
                        ball=self.balls[bowler.username, item["ball"]],
                        release=releases[item["release"]],
                        laydown_board=item.get("laydown"),
                        target_board=item.get("target"),
                        breakpoint_board=item.get("breakpoint"),
                        breakpoint_ft=item.get("breakpoint_ft"),
                        hit_word=item.get("word", ""),
                        offset_boards=item.get("offset"),
                        pins_before=standing,
                        pins_left=item["left"],
                        speed_mph=item.get("speed"),
                        speed_read=Shot.SpeedRead.DISPLAY if "speed" in item else "",
                        thrown_at=game.started_at + timedelta(minutes=minutes),
                        entered_by=self.bowlers[bowler.username].person,
                    )
                )
                standing = item["left"] or FULL_RACK
        return shots

    def _line(self, game: Game, bowler: DemoBowler, shots: list[Shot]) -> None:
        """The same game as it would be typed afterwards: frames, and ball and line by stretch."""
        frames = []
        for _, thrown in groupby(shots, key=lambda shot: shot.frame_number):
            frames.append(tuple(shot.pins_before.bit_count() - shot.pins_left.bit_count() for shot in thrown))
        line = GameLine.objects.create(
            game=game,
            notation=format_game(frames),
            bowled_at=game.started_at + timedelta(minutes=MINUTES_PER_GAME - 2),
            entered_by=self.coach,
        )
        first_balls = [shot for shot in shots if shot.pins_before == FULL_RACK and shot.throw_number == 1]
        for (ball_id, laydown, target), stretch in groupby(
            first_balls, key=lambda shot: (shot.ball_id, shot.laydown_board, shot.target_board)
        ):
            numbers = [shot.frame_number for shot in stretch]
            LineStretch.objects.create(
                line=line,
                first_frame=numbers[0],
                last_frame=numbers[-1],
                ball_id=ball_id,
                release=first_balls[0].release,
                laydown_board=laydown,
                target_board=target,
            )
