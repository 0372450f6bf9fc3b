# ruff: noqa: F811  (a fixture is imported by name)
"""What the engine is asked: traffic in order, evidence, surfaces as they were, the field between."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from arsenal.models import Ball, SurfaceEntry
from motion.advice_types import FieldTraffic, TrafficPass
from motion.evidence import logged_offset
from sessions.deliveries import Delivery, deliveries_on
from sessions.gather import gather
from sessions.models import (
    Block,
    Dressing,
    EventWindow,
    GameLine,
    LineStretch,
    OwedAdvice,
    PracticeWindow,
    Shot,
)
from sessions.traffic import thrown_lines, usual_strike_line
from tests.conftest import make_ball
from tests.sessions.block import MINUTE, START, OpenBlock, opened  # noqa: F401  (a fixture)


def owed(opened: OpenBlock, left: int = 7) -> OwedAdvice:
    return OwedAdvice(entry=opened.bo, left_lane=opened.lanes[left], right_lane=opened.lanes[left + 1])


def typed(opened: OpenBlock, notation: str, game: int = 1, left: int = 7) -> GameLine:
    played = opened.game(opened.bo, game, left)
    line = GameLine.objects.create(game=played, notation=notation, bowled_at=played.started_at + 40 * MINUTE)
    LineStretch.objects.create(
        line=line,
        first_frame=1,
        last_frame=10,
        ball=opened.cast.bo_ball,
        laydown_board=23.0,
        target_board=15.0,
    )
    return line


def on_lanes(opened: OpenBlock, *numbers: int) -> list[Delivery]:
    return deliveries_on({opened.lanes[number].pk: START - 60 * MINUTE for number in numbers})


# --- deliveries -----------------------------------------------------------------------------------


def test_shots_of_the_whole_team_come_in_order_and_undone_ones_not_at_all(opened: OpenBlock) -> None:
    opened.shot(opened.lin, frame=1, thrown_at=START + 2 * MINUTE)
    opened.shot(opened.bo, frame=1, thrown_at=START + 1 * MINUTE)
    opened.shot(opened.bo, frame=3, thrown_at=START + 9 * MINUTE, undone_at=START + 10 * MINUTE)
    found = on_lanes(opened, 7)
    assert [(item.bowler.name, item.frame) for item in found] == [("Bo Aldwin", 1), ("Lin Teasel", 1)]


def test_only_what_was_thrown_since_the_dressing_counts(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1)
    opened.shot(opened.bo, frame=3)
    again = START + 10 * MINUTE
    assert [item.frame for item in deliveries_on({opened.lanes[7].pk: again})] == [3]


def test_practice_counts_as_traffic(opened: OpenBlock) -> None:
    practice = PracticeWindow.objects.create(
        entry=opened.bo,
        left_lane=opened.lanes[7],
        right_lane=opened.lanes[8],
        started_at=START - 15 * MINUTE,
    )
    Shot.objects.create(
        practice=practice,
        frame_number=0,
        throw_number=1,
        lane=opened.lanes[8],
        ball=opened.cast.bo_ball,
        pins_left=0,
        thrown_at=START - 10 * MINUTE,
    )
    assert [(item.game_id, item.frame) for item in on_lanes(opened, 8)] == [(None, 0)]


def test_a_typed_game_becomes_its_balls_on_the_lane_of_each_frame(opened: OpenBlock) -> None:
    typed(opened, "X 9/ 81 X X 7/ 9- X 8/ X9/")
    left = on_lanes(opened, 7)
    right = on_lanes(opened, 8)
    assert {item.frame for item in left} == {1, 3, 5, 7, 9}
    assert {item.frame for item in right} == {2, 4, 6, 8, 10}
    assert [(item.frame, item.is_first) for item in right if item.frame == 10] == [
        (10, True),
        (10, True),
        (10, False),
    ]
    assert len(left) + len(right) == 17
    assert all(START < item.thrown_at <= START + 40 * MINUTE for item in (*left, *right))


def test_spares_of_a_typed_game_are_thrown_with_the_spare_ball(opened: OpenBlock) -> None:
    spare = make_ball(opened.cast.bo_bowler, "Old Plate", cover="plastic")
    Ball.objects.filter(pk=spare.pk).update(role="spare")
    typed(opened, "9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/ 9/9")
    found = on_lanes(opened, 7)
    assert {(item.is_first, item.ball.name) for item in found} == {
        (True, "Grey Kettle"),
        (False, "Old Plate"),
    }


def test_frames_logged_shot_by_shot_outweigh_the_same_frames_of_a_typed_game(opened: OpenBlock) -> None:
    typed(opened, "X X X X X X X X X XXX")
    opened.shot(opened.bo, frame=1)
    first_frames = [item for item in on_lanes(opened, 7) if item.frame == 1]
    assert [item.typed for item in first_frames] == [False]


def test_the_newest_typed_line_of_a_game_counts_and_an_undone_one_does_not(opened: OpenBlock) -> None:
    typed(opened, "X X X X X X X X X XXX")
    correction = typed(opened, "9- 9- 9- 9- 9- 9- 9- 9- 9- 9-")
    assert len(on_lanes(opened, 7)) == 10
    correction.undone_at = START
    correction.save()
    assert len(on_lanes(opened, 7)) == 5


# --- lines ----------------------------------------------------------------------------------------


def test_a_missing_line_is_the_bowlers_last_one_before_it_else_their_first_after_it(
    opened: OpenBlock,
) -> None:
    blank = {"laydown_board": None, "target_board": None}
    opened.shot(opened.bo, frame=1, **blank)
    opened.shot(opened.bo, frame=3, laydown_board=25.0)
    opened.shot(opened.bo, frame=5, laydown_board=27.0)
    opened.shot(opened.bo, frame=7, **blank)
    lines = thrown_lines(on_lanes(opened, 7), 41.0)
    assert [(thrown.line.laydown_board, thrown.assumed) for thrown in lines] == [
        (25.0, True),
        (25.0, False),
        (27.0, False),
        (27.0, True),
    ]


def test_a_line_no_ball_can_take_is_taken_as_missing(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1, laydown_board=39.0, target_board=1.0, target_ft=7.0)
    (thrown,) = thrown_lines(on_lanes(opened, 7), 41.0)
    assert thrown.assumed
    assert thrown.line == usual_strike_line(41.0)


@pytest.mark.parametrize(("length_ft", "exit_board"), [(35.0, 4.0), (39.0, 8.0), (43.0, 12.0)])
def test_the_usual_line_leaves_the_pattern_where_the_rule_of_31_says(
    length_ft: float, exit_board: float
) -> None:
    # Rule of 31: the board at the end of the pattern is about its length less 31; 35 to 4, 39 to 8, 43 to 12
    # (bowlingthismonth.com, understanding your bowling environment, part 1; found).
    line = usual_strike_line(length_ft)
    slope = (line.target_board - line.laydown_board) / (line.target_ft - line.laydown_ft)
    assert line.laydown_board + slope * length_ft == pytest.approx(exit_board)


# --- the question ---------------------------------------------------------------------------------


def test_both_lanes_bring_their_own_film_traffic_and_evidence(opened: OpenBlock) -> None:
    for frame in (1, 2, 3):
        opened.shot(opened.bo, frame=frame, pins_left=0, hit_word="flush", offset_boards=2.5)
    request = gather(owed(opened)).request
    seven, eight = request.lanes
    assert (seven.lane_id, eight.lane_id, seven.pair_id) == ("7", "8", "7-8")
    assert (len(seven.traffic), len(eight.traffic)) == (2, 1)
    assert [(shot.lane_id, shot.passes_before, shot.bowler_key) for shot in request.shots] == [
        ("7", 0, ""),
        ("7", 1, ""),
        ("8", 0, ""),
    ]
    assert request.current_ball_id == str(opened.cast.bo_ball.uuid)
    assert request.current_line is not None
    assert request.current_line.laydown_board == 22.0
    assert request.games_remaining == pytest.approx(3.7)


def test_a_word_alone_reaches_the_engine_as_a_word_and_not_as_a_number_read(opened: OpenBlock) -> None:
    """The engine believes a word less than a number, so it must be able to tell them apart."""
    opened.shot(opened.bo, frame=1, hit_word="light")
    opened.shot(opened.bo, frame=3, hit_word="light", offset_boards=3.5)
    word, number = gather(owed(opened)).request.shots
    assert (word.offset_boards, word.hit_word, number.offset_boards) == (None, "light", 3.5)
    assert logged_offset(word) == logged_offset(number) == 3.5
    assert [item.hit_offset for item in on_lanes(opened, 7)] == [3.5, 3.5]


def test_a_spare_ball_is_traffic_but_no_evidence(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1, pins_left=0b1000000000)
    release = opened.cast.bo_bowler.releases.get(kind="spare")
    opened.shot(opened.bo, frame=1, throw_number=2, pins_before=0b1000000000, release=release)
    request = gather(owed(opened)).request
    first, spare = request.lanes[0].traffic
    assert isinstance(first, TrafficPass)
    assert isinstance(spare, TrafficPass)
    assert spare.release.rev_rate_rpm == 200.0
    assert len(request.shots) == 1


def test_a_team_mates_shot_carries_their_hand_and_a_key_of_their_own(opened: OpenBlock) -> None:
    opened.shot(opened.lin, frame=1, offset_boards=1.0)
    (shot,) = gather(owed(opened)).request.shots
    assert (shot.hand, shot.bowler_key) == ("left", str(opened.cast.lin_bowler.uuid))


def test_a_typed_game_is_traffic_and_its_counts_are_evidence(opened: OpenBlock) -> None:
    opened.event.others_per_pair = 0
    opened.event.save()
    before = gather(owed(opened)).request
    assert (before.shots, before.lanes[0].traffic) == ((), ())
    typed(opened, "X 9/ 81 7- (8)1 X X 9/ X XX9")
    gathered = gather(owed(opened))
    request = gathered.request
    assert request.digest() != before.digest()
    left, right = ([shot for shot in request.shots if shot.lane_id == lane] for lane in ("7", "8"))
    assert [shot.pins_fallen for shot in left] == [10, 8, 8, 10, 10]
    assert [shot.pins_fallen for shot in right] == [9, 7, 10, 9, 10, 10, 9]
    assert {record["evidence"] for record in gathered.records.values()} == {5, 7}
    # Spares pass in between and say nothing themselves: frames 1, 3, 5, 7 and 9 by hand.
    assert [shot.passes_before for shot in left] == [0, 1, 3, 5, 6]
    assert [shot.passes_before for shot in right] == [0, 2, 4, 5, 7, 8, 9]
    for shot in request.shots:
        assert shot.pins_left is None
        assert shot.line is not None
        assert (shot.line.laydown_board, shot.line.target_board) == (23.0, 15.0)
        assert (shot.hand, shot.bowler_key, shot.ball_key) == ("right", "", str(opened.cast.bo_ball.uuid))


def test_a_pair_that_was_left_bears_witness_as_it_was_at_the_bowlers_last_ball_there(
    opened: OpenBlock,
) -> None:
    """Else every ball a team-mate throws there would make an answer stale that nobody is owed anew."""
    for frame in (1, 2):
        opened.shot(opened.bo, frame=frame, offset_boards=2.0)
        opened.shot(opened.lin, frame=frame, offset_boards=2.0)
    opened.shot(opened.bo, frame=1, game=2, left=9)
    before = gather(owed(opened, left=9)).request
    assert {shot.lane_id for shot in before.shots} == {"7", "8", "9"}
    opened.shot(opened.lin, frame=7, offset_boards=1.0)
    assert gather(owed(opened, left=9)).request.digest() == before.digest()
    opened.shot(opened.lin, frame=2, game=2, left=9)
    assert gather(owed(opened, left=9)).request.digest() != before.digest()


def test_undoing_a_typed_game_asks_exactly_the_question_before_it(opened: OpenBlock) -> None:
    opened.shot(opened.lin, frame=1, offset_boards=1.0)
    first = typed(opened, "9- 9- 9- 9- 9- 9- 9- 9- 9- 9-")
    before = gather(owed(opened)).request
    correction = typed(opened, "X 9/ 81 7- (8)1 X X 9/ X XX9")
    assert gather(owed(opened)).request.digest() != before.digest()
    correction.undone_at = START
    correction.save()
    assert gather(owed(opened)).request.digest() == before.digest()
    assert first.undone_at is None


def test_each_stretch_of_a_typed_game_brings_its_own_ball_release_and_line(opened: OpenBlock) -> None:
    line = typed(opened, "9- 9- 9- 9- 9- 9- 9- 9- 9- 9-")
    line.stretches.update(last_frame=4)
    other = make_ball(opened.cast.bo_bowler, "Rust Lamp")
    flatter = opened.cast.bo_bowler.releases.create(
        kind="flatter", speed_mph=17.0, rev_rate_rpm=260.0, axis_rotation_deg=40.0
    )
    LineStretch.objects.create(
        line=line,
        first_frame=5,
        last_frame=10,
        ball=other,
        release=flatter,
        laydown_board=26.0,
        target_board=17.0,
    )
    request = gather(owed(opened)).request
    seen = [
        (shot.line.laydown_board, shot.ball_key, shot.release.rev_rate_rpm)
        for shot in request.shots
        if shot.line is not None and shot.lane_id == "7"
    ]
    strike = opened.cast.bo_bowler.releases.get(kind="strike").rev_rate_rpm
    early, late = (23.0, str(opened.cast.bo_ball.uuid), strike), (26.0, str(other.uuid), 260.0)
    assert seen == [early, early, late, late, late]


def test_what_a_typed_game_cannot_tell_is_no_evidence(opened: OpenBlock) -> None:
    # A foul counts no pins, and after it or a miss nobody says what the second ball at ten pins was.
    line = typed(opened, "F9 X -/ X F/ X 9- X -9 F9")
    request = gather(owed(opened)).request
    assert [shot.pins_fallen for shot in request.shots if shot.lane_id == "7"] == [0, 9, 0]
    assert [shot.pins_fallen for shot in request.shots if shot.lane_id == "8"] == [10, 10, 10, 10]
    line.stretches.update(laydown_board=None)
    unknown = gather(owed(opened)).request
    assert unknown.shots == ()
    assert len(unknown.lanes[0].traffic) == len(request.lanes[0].traffic)


def test_the_field_bowls_half_a_game_with_each_half_of_the_teams(opened: OpenBlock) -> None:
    for frame in range(1, 11):
        opened.shot(opened.bo, frame=frame)
    seven, eight = gather(owed(opened)).request.lanes
    games = [item.games for item in seven.traffic if isinstance(item, FieldTraffic)]
    assert games == [0.5, 0.5]
    # between frame 5 and frame 7 on the left lane, so after three balls of the team
    assert [isinstance(item, FieldTraffic) for item in seven.traffic].index(True) == 2
    field = next(item for item in seven.traffic if isinstance(item, FieldTraffic))
    assert (field.right_bowlers, field.left_bowlers) == pytest.approx((4 * 0.88, 4 * 0.12))
    assert sum(item.games for item in eight.traffic if isinstance(item, FieldTraffic)) == 1.0


def test_the_field_bowls_on_a_pair_the_team_has_not_reached_yet(opened: OpenBlock) -> None:
    for frame in range(1, 11):
        opened.shot(opened.bo, frame=frame)
    lanes = {lane.lane_id: lane for lane in gather(owed(opened, left=9)).request.lanes}
    assert set(lanes) == {"7", "8", "9", "10"}
    assert [lane.advise for lane in lanes.values()] == [False, False, True, True]
    assert sum(item.games for item in lanes["9"].traffic if isinstance(item, FieldTraffic)) == 1.0


def test_an_event_without_others_has_no_field(opened: OpenBlock) -> None:
    opened.event.others_per_pair = 0
    opened.event.save()
    opened.shot(opened.bo, frame=5)
    request = gather(owed(opened)).request
    assert request.field_per_game is None
    assert not any(isinstance(item, FieldTraffic) for item in request.lanes[0].traffic)


def test_a_ball_passes_with_the_surface_it_had_then(opened: OpenBlock) -> None:
    def sanded(grit: int, when: datetime) -> None:
        SurfaceEntry.objects.create(
            ball=opened.cast.bo_ball,
            kind="sanded",
            grits=[grit],
            by_machine=True,
            done_at=when,
            window="before_event",
        )

    sanded(500, START - timedelta(days=1))
    opened.shot(opened.bo, frame=1)
    sanded(4000, START + 30 * MINUTE)
    opened.shot(opened.bo, frame=1, game=2)
    first, second = gather(owed(opened)).request.lanes[0].traffic
    assert isinstance(first, TrafficPass)
    assert isinstance(second, TrafficPass)
    assert first.spec.roughness_um > 2 * second.spec.roughness_um


def test_a_redressed_lane_starts_anew_and_the_other_goes_on(opened: OpenBlock) -> None:
    opened.shot(opened.bo, frame=1)
    opened.shot(opened.bo, frame=2)
    Dressing.objects.create(lane=opened.lanes[7], done_at=START + 20 * MINUTE, pattern_version=opened.version)
    seven, eight = gather(owed(opened)).request.lanes
    assert (len(seven.traffic), len(eight.traffic)) == (0, 1)


def test_without_a_dressing_the_blocks_own_sheet_is_taken_and_said_so(opened: OpenBlock) -> None:
    Dressing.objects.all().delete()
    opened.shot(opened.bo, frame=1)
    gathered = gather(owed(opened))
    assert gathered.request.lanes[0].film_um is not None
    assert len(gathered.request.lanes[0].traffic) == 1
    assert gathered.records["7"]["dressing"] is None


def test_putting_a_ball_away_or_altering_it_in_competition_takes_it_out(opened: OpenBlock) -> None:
    other = make_ball(opened.cast.bo_bowler, "Rust Lamp")
    opened.bo.bag.create(ball=opened.cast.bo_ball)
    opened.bo.bag.create(ball=other, put_away=True)
    third = make_ball(opened.cast.bo_bowler, "Wet Slate")
    opened.bo.bag.create(ball=third)
    altered(third, START)
    assert usable(opened) == {"Grey Kettle": True, "Rust Lamp": False, "Wet Slate": False}


def altered(ball: Ball, done_at: datetime, window: str = "in_competition", **more: object) -> SurfaceEntry:
    return SurfaceEntry.objects.create(
        ball=ball, kind="sanded", grits=[1000], done_at=done_at, window=window, **more
    )


def usable(opened: OpenBlock) -> dict[str, bool]:
    return {ball.name: ball.usable for ball in gather(owed(opened)).request.balls}


def test_a_ball_altered_in_competition_stays_out_for_the_days_of_the_event(opened: OpenBlock) -> None:
    ball = make_ball(opened.cast.bo_bowler, "Wet Slate")
    entry = altered(ball, START)
    # What is done in an allowed window later does not bring it back.
    altered(ball, START + MINUTE, window="between_rounds")
    assert usable(opened)["Wet Slate"] is False
    # A slip of the log, corrected, does.
    altered(ball, START, window="between_rounds", corrects=entry)
    assert usable(opened)["Wet Slate"] is True


@pytest.mark.parametrize(
    ("done_at", "out"),
    [
        # The event lasts from June 6 to June 7 where it is bowled, and that is ten hours ahead of UTC.
        (datetime(2026, 6, 5, 13, 59, tzinfo=UTC), False),
        (datetime(2026, 6, 5, 14, 1, tzinfo=UTC), True),
        (datetime(2026, 6, 7, 13, 59, tzinfo=UTC), True),
        (datetime(2026, 6, 7, 14, 1, tzinfo=UTC), False),
    ],
)
def test_the_days_of_an_event_are_those_where_it_is_bowled(
    opened: OpenBlock, done_at: datetime, out: bool
) -> None:
    opened.event.time_zone = "Australia/Brisbane"
    opened.event.save()
    altered(opened.cast.bo_ball, done_at)
    make_ball(opened.cast.bo_bowler, "Rust Lamp")
    assert usable(opened)["Grey Kettle"] is not out


def test_a_ball_thrown_without_being_packed_is_at_hand_unless_it_was_altered(opened: OpenBlock) -> None:
    loose = make_ball(opened.cast.bo_bowler, "Wet Slate")
    loose.in_bag = False
    loose.save()
    opened.shot(opened.bo, ball=loose)
    assert usable(opened) == {"Grey Kettle": True, "Wet Slate": True}
    altered(loose, START)
    assert usable(opened) == {"Grey Kettle": True, "Wet Slate": False}


def test_a_spare_ball_is_offered_for_strikes_only_when_there_is_no_other(opened: OpenBlock) -> None:
    Ball.objects.filter(pk=opened.cast.bo_ball.pk).update(role="spare")
    assert [ball.usable for ball in gather(owed(opened)).request.balls] == [True]
    make_ball(opened.cast.bo_bowler, "Rust Lamp")
    usable = {ball.name: ball.usable for ball in gather(owed(opened)).request.balls}
    assert usable == {"Grey Kettle": False, "Rust Lamp": True}


def test_unset_rules_stay_unset_and_stated_ones_name_who_confirmed_them(opened: OpenBlock) -> None:
    assert gather(owed(opened)).request.windows is None
    EventWindow.objects.create(event=opened.event, kind="between_rounds", allowed=True)
    EventWindow.objects.create(event=opened.event, kind="in_competition", allowed=True)
    opened.event.rules_confirmed_by = "P. Marl"
    opened.event.rules_confirmed_on = START.date()
    opened.event.save()
    windows = {window.moment: window for window in gather(owed(opened)).request.windows or ()}
    assert windows["between rounds"].allowed
    assert windows["between rounds"].confirmed_by == "P. Marl"
    # Whatever was typed: no rule allows it once scoring has begun (General Playing Rule 18, found).
    assert not windows["in competition"].allowed


def test_windows_stand_in_the_order_in_which_their_times_come(opened: OpenBlock) -> None:
    for kind in ("before_event", "between_rounds", "official_practice"):
        EventWindow.objects.create(event=opened.event, kind=kind, allowed=True)
    Block.objects.create(
        event=opened.event, name="Block 2", starts_at=START + 500 * MINUTE, pattern_version=opened.version
    )

    def to_come() -> list[str]:
        windows = gather(owed(opened)).request.windows or ()
        return [window.moment for window in windows if window.upcoming]

    assert to_come() == ["before the event", "official practice", "between rounds"]
    opened.shot(opened.bo)
    assert to_come() == ["between rounds", "official practice"]


def test_the_same_log_asks_the_same_question_whatever_the_rows(opened: OpenBlock) -> None:
    for frame in range(1, 7):
        opened.shot(opened.bo, frame=frame, pins_left=0)
        opened.shot(opened.lin, frame=frame, pins_left=0)
    before = gather(owed(opened))
    for shot in list(Shot.objects.order_by("-pk")):
        twin = {
            field.attname: getattr(shot, field.attname)
            for field in Shot._meta.concrete_fields
            if field.name not in ("id", "uuid", "version", "created_at", "updated_at")
        }
        shot.delete()
        Shot.objects.create(**twin)
    after = gather(owed(opened))
    assert after.request.digest() == before.request.digest()
    Shot.objects.order_by("pk").first().delete()
    assert gather(owed(opened)).request.digest() != before.request.digest()


def test_the_number_of_queries_does_not_grow_with_the_shots(opened: OpenBlock) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            gather(owed(opened))
        return len(queries)

    opened.shot(opened.bo, frame=1)
    opened.shot(opened.lin, frame=1)
    few = count()
    for game in (1, 2, 3):
        for frame in range(1, 11):
            for entry in (opened.bo, opened.lin):
                if (game, frame) != (1, 1):
                    opened.shot(entry, frame=frame, game=game)
    assert count() <= few + 2
    assert few < 45
