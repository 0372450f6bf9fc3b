"""Bowls the demo blocks on lanes whose truth advice never sees; `script/make_demo` writes the result down.

Players here follow plain habit: they begin on the line that the sheet suggests for their middle ball, go
inside after high hits and back with the feet after light ones, and change to a weaker ball when moves stop
helping.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from motion.advice_types import FieldTraffic, SpareRecord
from motion.drilled import drilled
from motion.film import Sheet, film_from_sheet
from motion.friction import mu_map
from motion.inputs import BallSpec, Line, ReleaseSpec, Scatter, own_side
from motion.leaves import FULL_RACK
from motion.path import march_batch
from motion.simulate import HiddenBowler, HiddenHouse, HiddenLane, convert_spare, throw
from motion.streams import generator
from motion.surface import SurfaceEvent, surface_now
from sessions.demo.scenario import BLOCKS, BOWLERS, PATTERNS, DemoBall, DemoBlock, DemoBowler, DemoPattern

SEED = 20260606
POCKET_OFFSET = 2.5
LAYDOWN_FT = 0.5
LOWEST_TARGET = 6
OTHERS_PER_PAIR = 3
RIGHT_HANDED_SHARE = 0.8
SPARES = SpareRecord(corner_pin=0.86, single_pin=0.93, multi_pin=0.72, washout=0.3, split=0.15)
# How often a player bothers to log what only eyes can tell.
LOGS_HIT, LOGS_BREAKPOINT, LOGS_SPEED = 0.85, 0.45, 0.55


def film_of(pattern: DemoPattern) -> np.ndarray:
    sheet = Sheet(
        length_ft=pattern.length_ft,
        distances_ft=np.array(pattern.distances_ft),
        oil=np.array(pattern.oil()),
        oil_kind="units",
    )
    return film_from_sheet(sheet)


def spec_of(ball: DemoBall) -> BallSpec:
    """The ball with its surface as the log leaves it on the day."""
    events = [
        SurfaceEvent(
            when=-entry.days_ago,
            kind=entry.kind,  # type: ignore[arg-type]
            grits=entry.grits,
            by="machine" if entry.by_machine else "hand",
            wet=entry.wet,
            minutes=entry.minutes,
        )
        for entry in ball.surface
    ]
    state = surface_now(events)
    pin_to_pap, drilling_angle, val_angle = ball.layout or (None, None, None)
    return BallSpec(
        weight_lb=ball.weight_lb,
        rg_in=ball.rg_in,
        differential_in=ball.differential_in,
        intermediate_differential_in=ball.intermediate_in,
        cover=ball.cover,
        roughness_um=state.ra_um,
        roughness_sd_um=state.sd_um,
        pin_to_pap_in=pin_to_pap,
        drilling_angle_deg=drilling_angle,
        val_angle_deg=val_angle,
    )


def release_of(bowler: DemoBowler, kind: str) -> ReleaseSpec:
    release = next(item for item in bowler.releases if item.kind == kind)
    speed, launch, laydown, revs, rotation = bowler.scatter
    return ReleaseSpec(
        speed_mph=release.speed_mph,
        rev_rate_rpm=release.rev_rate_rpm,
        axis_rotation_deg=release.axis_rotation_deg,
        axis_tilt_deg=release.axis_tilt_deg,
        scatter=Scatter(
            sd_speed_mph=speed,
            sd_launch_deg=launch,
            sd_laydown_boards=laydown,
            sd_rev_rate_rpm=revs,
            sd_axis_rotation_deg=rotation,
        ),
    )


def line_from_sheet(film_um: np.ndarray, bowler: DemoBowler, spec: BallSpec) -> Line:
    """The line the sheet suggests: of all that reach the pocket, the one whose misses stay closest to it."""
    release = release_of(bowler, "strike")
    film = own_side(film_um, bowler.hand)
    drilled_ball = drilled(spec, release, film)
    lines = [
        Line(laydown_board=float(laydown), target_board=float(target), laydown_ft=LAYDOWN_FT)
        for laydown in range(8, 34)
        for target in range(LOWEST_TARGET, 22)
        if 0 <= laydown - target <= 14
    ]
    sd = release.scatter
    misses = generator("misses a player thinks of").standard_normal((24, 3))
    many = len(misses)
    batch = march_batch(
        drilled_ball.maps(mu_map(film, spec)),
        np.tile(release.speed_mph + sd.sd_speed_mph * misses[:, 0], len(lines)),
        launch_deg=np.concatenate([line.launch_deg + sd.sd_launch_deg * misses[:, 1] for line in lines]),
        laydown_board=np.concatenate(
            [line.foul_line_board + sd.sd_laydown_boards * misses[:, 2] for line in lines]
        ),
        steps_per_foot=2,
        **drilled_ball.thrown(release.rev_rate_rpm, release.axis_rotation_deg, release.axis_tilt_deg),
    )
    wide = np.where(batch.gutter, 9.0, np.abs(batch.contact_offset_boards - POCKET_OFFSET))
    cost = np.nan_to_num(wide, nan=9.0).reshape(-1, many).mean(axis=1)
    return lines[int(np.argmin(cost))]


@dataclass
class Player:
    """One bowler through one block: where they stand on each lane, and what they throw."""

    bowler: DemoBowler
    hidden: HiddenBowler
    film_um: np.ndarray
    balls: list[DemoBall]
    ball: int
    lines: dict[int, Line] = field(default_factory=dict)
    start: Line | None = None
    seen: dict[int, list[float]] = field(default_factory=dict)
    high: int = 0

    def spec(self) -> BallSpec:
        return spec_of(self.balls[self.ball])

    def line_on(self, lane: int) -> Line:
        if self.start is None:
            self.start = line_from_sheet(self.film_um, self.bowler, self.spec())
        return self.lines.get(lane, self.start)

    def learn(self, lane: int, line: Line, offset: float) -> None:
        """High: feet two and target one inside. Light: the feet half a board back. Still high: weaker ball.

        A single miss is the bowler's own; two in the same direction on a lane are the lane's.
        """
        seen = self.seen.setdefault(lane, [])
        seen.append(offset)
        pair = seen[-2:]
        away = sum(pair) / len(pair) - POCKET_OFFSET
        if len(pair) < 2 or abs(away) <= 1.0 or (pair[0] - POCKET_OFFSET) * (pair[1] - POCKET_OFFSET) <= 0.0:
            return
        seen.clear()
        feet, target = (2.0, 1.0) if away < 0.0 else (-0.5, 0.0)
        self.lines[lane] = Line(
            laydown_board=min(max(line.laydown_board + feet, 5.0), 37.0),
            target_board=min(max(line.target_board + target, LOWEST_TARGET), 30.0),
            laydown_ft=LAYDOWN_FT,
        )
        self.high = self.high + 1 if away < 0.0 else 0
        if self.high >= 4 and self.ball + 1 < len(self.balls):
            self.ball, self.high = self.ball + 1, 0

    def cross(self) -> None:
        """To the next pair with what the last one taught."""
        if self.lines:
            self.start = list(self.lines.values())[-1]
        self.lines.clear()
        self.seen.clear()


def strike_balls(bowler: DemoBowler) -> list[DemoBall]:
    """What goes in the bag for first balls, strongest role first."""
    order = {"strong": 0, "benchmark": 1, "unset": 2, "weak": 3}
    carried = [
        ball
        for ball in bowler.balls
        if ball.in_bag
        and ball.role in order
        and (not bowler.bag_for_block or ball.name in bowler.bag_for_block)
    ]
    return sorted(carried, key=lambda ball: order[ball.role])


def bowl_block(number: int, block: DemoBlock) -> list[dict[str, Any]]:
    """Every shot of a block in the order thrown."""
    pattern = next(item for item in PATTERNS if item.name == block.pattern)
    film = film_of(pattern)
    house = HiddenHouse(SEED + number)
    lanes: dict[int, HiddenLane] = {}
    players = {bowler.username: _player(bowler, film, number) for bowler in BOWLERS}
    shots: list[dict[str, Any]] = []
    for game in range(1, block.games_bowled + 1):
        for username, first in block.first_lanes.items():
            left = first + 2 * block.pairs_to_move * (game - 1)
            for lane in (left, left + 1):
                if lane not in lanes:
                    lanes[lane] = house.dressed_lane(str(lane), str(left), film)
                    lanes[lane].play_field(_field(game - 1))
            shots += _bowl_game(
                players[username], lanes, left, game, starts_on_left=_is_first(block, username)
            )
        for pair in {first + 2 * block.pairs_to_move * (game - 1) for first in block.first_lanes.values()}:
            for lane in (pair, pair + 1):
                lanes[lane].play_field(_field(1))
    return shots


def _field(games: float) -> FieldTraffic:
    right = OTHERS_PER_PAIR * RIGHT_HANDED_SHARE
    return FieldTraffic(right_bowlers=right, left_bowlers=OTHERS_PER_PAIR - right, games=games)


def _is_first(block: DemoBlock, username: str) -> bool:
    """Of the two on a pair the first listed begins on the left lane."""
    together = [name for name, lane in block.first_lanes.items() if lane == block.first_lanes[username]]
    return together[0] == username


def _player(bowler: DemoBowler, film: np.ndarray, number: int) -> Player:
    balls = strike_balls(bowler)
    middle = next(index for index, ball in enumerate(balls) if ball.role == "benchmark")
    seed = SEED + 100 * number + [item.username for item in BOWLERS].index(bowler.username)
    hidden = HiddenBowler(seed, bowler.hand, spares=SPARES)  # type: ignore[arg-type]
    return Player(bowler, hidden, film, balls, middle)


def _bowl_game(
    player: Player, lanes: dict[int, HiddenLane], left: int, game: int, *, starts_on_left: bool
) -> Iterable[dict[str, Any]]:
    look = generator(f"{player.hidden.seed} notes game {game}")
    player.cross()
    for frame in range(1, 11):
        lane = left if starts_on_left == (frame % 2 == 1) else left + 1
        standing, thrown, bonus = FULL_RACK, 0, False
        while True:
            thrown += 1
            shot: dict[str, Any] = {
                "bowler": player.bowler.username,
                "game": game,
                "frame": frame,
                "lane": lane,
                "starts_on_left": starts_on_left,
            }
            if standing == FULL_RACK:
                line, spec = player.line_on(lane), player.spec()
                seen = throw(lanes[lane], player.hidden, spec, release_of(player.bowler, "strike"), line)
                shot |= {
                    "ball": player.balls[player.ball].name,
                    "release": "strike",
                    "laydown": line.laydown_board,
                    "target": line.target_board,
                    "left": seen.pins_left,
                }
                if look.random() < LOGS_HIT and not seen.gutter:
                    shot |= {"word": seen.hit_word, "offset": seen.offset_boards}
                if look.random() < LOGS_BREAKPOINT and not seen.gutter:
                    shot |= {"breakpoint": seen.breakpoint_board, "breakpoint_ft": seen.breakpoint_ft}
                if look.random() < LOGS_SPEED:
                    shot["speed"] = seen.speed_mph
                player.learn(lane, line, seen.offset_boards)
            else:
                spare = next(ball for ball in player.bowler.balls if ball.role == "spare")
                left_now = convert_spare(lanes[lane], player.hidden, standing)
                shot |= {"ball": spare.name, "release": "spare", "left": left_now}
            yield shot
            cleared = shot["left"] == 0
            bonus = bonus or (frame == 10 and cleared)
            last = 3 if bonus else 2
            if thrown >= last or (frame < 10 and cleared):
                break
            standing = FULL_RACK if cleared else shot["left"]


def first_games(block: DemoBlock, count: int) -> DemoBlock:
    """The block broken off after so many games."""
    return replace(block, games_bowled=count)


def bowl_all() -> dict[str, list[dict[str, Any]]]:
    return {block.name: bowl_block(number, block) for number, block in enumerate(BLOCKS, start=1)}
