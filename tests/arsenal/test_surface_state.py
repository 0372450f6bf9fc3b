"""Surface now and games since come from the log and the games logged, and from nothing else."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from arsenal.engine_inputs import ball_spec, engine_notes, release_spec
from arsenal.models import Ball, Layout, Release, SurfaceEntry
from arsenal.surface_drawing import _levels, _round_up, surface_drawing
from arsenal.surface_state import surface_history, surface_logs, surface_state, surface_states
from motion.grit import grit_to_ra_um
from sessions.models import BlockEntry, Game, GameLine, House, Lane, LineStretch, PracticeWindow, Shot
from tests.conftest import Cast, make_ball
from tests.sessions.conftest import make_block, make_entry, make_sheet

SANDED_AT = datetime(2026, 6, 1, 18, 0, tzinfo=UTC)
BOWLED_AT = datetime(2026, 6, 6, 9, 0, tzinfo=UTC)


def sanded(ball: Ball, **more: Any) -> SurfaceEntry:
    return log(ball, **{"kind": "sanded", "grits": [1000], "done_at": SANDED_AT, **more})


def log(ball: Ball, **more: Any) -> SurfaceEntry:
    return SurfaceEntry.objects.create(ball=ball, **more)


@pytest.fixture
def bowling(cast: Cast) -> BlockEntry:
    return make_entry(make_block(cast.team, make_sheet(cast.team)), cast.bo_bowler, cast.bo_ball)


def game_of(entry: BlockEntry, number: int = 1) -> Game:
    house = House.objects.get(team=entry.block.event.team)
    left, right = Lane.objects.filter(house=house, number__in=(5, 6)).order_by("number")
    started = BOWLED_AT + timedelta(hours=number - 1)
    return Game.objects.create(
        entry=entry, number=number, left_lane=left, right_lane=right, started_at=started
    )


def shots(game: Game, ball: Ball, frames: range, throws: int = 1, **more: Any) -> list[Shot]:
    return [
        Shot.objects.create(
            game=game,
            ball=ball,
            lane=game.left_lane,
            frame_number=frame,
            throw_number=throw,
            pins_left=0,
            thrown_at=game.started_at + timedelta(minutes=3 * frame + throw),
            **more,
        )
        for frame in frames
        for throw in range(1, throws + 1)
    ]


def line(game: Game, *stretches: tuple[Ball, int, int], **more: Any) -> GameLine:
    typed = GameLine.objects.create(game=game, notation="X X", bowled_at=game.started_at, **more)
    for ball, first, last in stretches:
        LineStretch.objects.create(line=typed, ball=ball, first_frame=first, last_frame=last)
    return typed


def test_a_ball_without_a_log_has_a_wide_guess_and_no_count_since_work(cast: Cast) -> None:
    state = surface_state(cast.bo_ball)
    assert state.games_since_sanded is None
    assert state.games_total == 0
    assert state.sd_um / state.roughness_um > 0.4
    assert not state.measured


def test_games_since_are_frames_of_shots_over_ten(cast: Cast, bowling: BlockEntry) -> None:
    sanded(cast.bo_ball)
    shots(game_of(bowling), cast.bo_ball, range(1, 11))
    shots(game_of(bowling, 2), cast.bo_ball, range(1, 4))
    assert surface_state(cast.bo_ball).games_since_sanded == pytest.approx(1.3)


def test_a_frame_with_two_throws_of_the_ball_is_one_frame(cast: Cast, bowling: BlockEntry) -> None:
    shots(game_of(bowling), cast.bo_ball, range(1, 6), throws=2)
    assert surface_state(cast.bo_ball).games_total == pytest.approx(0.5)


def test_undone_shots_count_no_more(cast: Cast, bowling: BlockEntry) -> None:
    game = game_of(bowling)
    shots(game, cast.bo_ball, range(1, 3))
    shots(game, cast.bo_ball, range(3, 9), undone_at=timezone.now())
    assert surface_state(cast.bo_ball).games_total == pytest.approx(0.2)


def test_a_typed_line_counts_its_stretches_for_their_balls(cast: Cast, bowling: BlockEntry) -> None:
    other = make_ball(cast.bo_bowler, "Low Tide")
    line(game_of(bowling), (cast.bo_ball, 1, 4), (other, 5, 10))
    states = surface_states([cast.bo_ball, other])
    assert states[cast.bo_ball.pk].games_total == pytest.approx(0.4)
    assert states[other.pk].games_total == pytest.approx(0.6)


def test_of_several_lines_of_a_game_the_newest_that_stands_counts(cast: Cast, bowling: BlockEntry) -> None:
    other = make_ball(cast.bo_bowler, "Low Tide")
    game = game_of(bowling)
    line(game, (cast.bo_ball, 1, 10))
    line(game, (other, 1, 10))
    line(game, (cast.bo_ball, 1, 2), undone_at=timezone.now())
    states = surface_states([cast.bo_ball, other])
    assert states[cast.bo_ball.pk].games_total == 0
    assert states[other.pk].games_total == pytest.approx(1.0)


def test_a_frame_both_logged_and_typed_is_one_frame(cast: Cast, bowling: BlockEntry) -> None:
    game = game_of(bowling)
    shots(game, cast.bo_ball, range(1, 4))
    line(game, (cast.bo_ball, 1, 10))
    assert surface_state(cast.bo_ball).games_total == pytest.approx(1.0)


def test_each_practice_delivery_counts_as_a_frame(cast: Cast, bowling: BlockEntry) -> None:
    game = game_of(bowling)
    practice = PracticeWindow.objects.create(
        entry=bowling, left_lane=game.left_lane, right_lane=game.right_lane, started_at=BOWLED_AT
    )
    for throw in range(1, 8):
        Shot.objects.create(
            practice=practice,
            ball=cast.bo_ball,
            lane=game.left_lane,
            frame_number=0,
            throw_number=throw,
            pins_left=0,
            thrown_at=BOWLED_AT + timedelta(minutes=throw),
        )
    assert surface_state(cast.bo_ball).games_total == pytest.approx(0.7)


def test_work_between_two_frames_splits_the_game(cast: Cast, bowling: BlockEntry) -> None:
    game = game_of(bowling)
    shots(game, cast.bo_ball, range(1, 11))
    sanded(cast.bo_ball, done_at=game.started_at + timedelta(minutes=3 * 6 + 2))
    state = surface_state(cast.bo_ball)
    assert state.games_since_sanded == pytest.approx(0.4)
    assert state.games_total == pytest.approx(1.0)


def test_games_elsewhere_add_to_both_counts(cast: Cast) -> None:
    sanded(cast.bo_ball)
    log(cast.bo_ball, kind="games_elsewhere", games=7.5, done_at=SANDED_AT + timedelta(days=2))
    state = surface_state(cast.bo_ball)
    assert (state.games_since_sanded, state.games_total) == (7.5, 7.5)


def test_cleaning_resets_only_the_count_since_cleaning(cast: Cast) -> None:
    sanded(cast.bo_ball)
    log(cast.bo_ball, kind="games_elsewhere", games=4, done_at=SANDED_AT + timedelta(days=1))
    log(cast.bo_ball, kind="cleaned", done_at=SANDED_AT + timedelta(days=2))
    log(cast.bo_ball, kind="games_elsewhere", games=3, done_at=SANDED_AT + timedelta(days=3))
    state = surface_state(cast.bo_ball)
    assert (state.games_since_sanded, state.games_since_cleaned) == (7.0, 3.0)


def test_the_state_of_an_earlier_moment_ignores_what_came_later(cast: Cast, bowling: BlockEntry) -> None:
    sanded(cast.bo_ball)
    shots(game_of(bowling), cast.bo_ball, range(1, 11))
    log(cast.bo_ball, kind="scanner", scanner_ra_um=2.0, done_at=BOWLED_AT + timedelta(days=1))
    before = surface_state(cast.bo_ball, at=BOWLED_AT - timedelta(days=1))
    assert (before.games_since_sanded, before.measured) == (0.0, False)
    assert surface_state(cast.bo_ball).roughness_um == 2.0


def test_the_pad_is_a_pull_toward_its_finish_not_the_finish(cast: Cast) -> None:
    sanded(cast.bo_ball, grits=[500], minutes=2)
    after_hand = surface_state(cast.bo_ball).roughness_um
    start = surface_state(cast.lin_ball).roughness_um
    assert start < after_hand < grit_to_ra_um(500)


def test_a_scanner_reading_replaces_the_estimate(cast: Cast) -> None:
    sanded(cast.bo_ball, grits=[500])
    log(cast.bo_ball, kind="scanner", scanner_ra_um=0.83, done_at=SANDED_AT + timedelta(hours=1))
    state = surface_state(cast.bo_ball)
    assert state.roughness_um == 0.83
    assert state.measured
    assert state.sd_um < 0.1


def test_a_corrected_entry_and_a_withdrawn_one_count_no_more(cast: Cast) -> None:
    wrong = sanded(cast.bo_ball, grits=[180])
    sanded(cast.bo_ball, grits=[3000], corrects=wrong)
    fine = surface_state(cast.bo_ball)
    sanded(cast.lin_ball, grits=[3000])
    assert fine.roughness_um == surface_state(cast.lin_ball).roughness_um
    spurious = log(cast.lin_ball, kind="games_elsewhere", games=50, done_at=SANDED_AT + timedelta(days=1))
    log(cast.lin_ball, kind="withdrawn", corrects=spurious, done_at=timezone.now())
    assert surface_state(cast.lin_ball).games_total == 0


def test_an_alteration_in_competition_marks_the_ball_until_later_work(cast: Cast) -> None:
    sanded(cast.bo_ball)
    assert surface_state(cast.bo_ball).altered_in_competition_at is None
    log(cast.bo_ball, kind="cleaned", window="in_competition", done_at=BOWLED_AT)
    assert surface_state(cast.bo_ball).altered_in_competition_at == BOWLED_AT
    log(cast.bo_ball, kind="scanner", scanner_ra_um=1.0, done_at=BOWLED_AT + timedelta(hours=1))
    assert surface_state(cast.bo_ball).altered_in_competition_at == BOWLED_AT, "a reading alters nothing"
    sanded(cast.bo_ball, done_at=BOWLED_AT + timedelta(days=3))
    assert surface_state(cast.bo_ball).altered_in_competition_at is None


def test_many_balls_take_as_many_queries_as_one(cast: Cast, bowling: BlockEntry) -> None:
    balls = [cast.bo_ball, *(make_ball(cast.bo_bowler, f"Ball {n}") for n in range(6))]
    for number, ball in enumerate(balls):
        sanded(ball)
        if number < 3:
            shots(game_of(bowling, number + 1), ball, range(1, 11))
    counts = []
    for some in (balls[:1], balls):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            surface_states(some)
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 3


def test_the_history_steps_through_entries_and_games_and_ends_at_now(cast: Cast, bowling: BlockEntry) -> None:
    sanded(cast.bo_ball)
    shots(game_of(bowling), cast.bo_ball, range(1, 11))
    history = surface_history(surface_logs([cast.bo_ball])[cast.bo_ball.pk])
    assert [point.entry is not None for point in history] == [True, False]
    assert history[-1].roughness_um == surface_state(cast.bo_ball).roughness_um
    picture = surface_drawing(history, timezone.now())
    assert picture is not None
    assert [mark.kind for mark in picture.marks] == ["sanded"]
    assert f"now {history[-1].roughness_um:.2f}" in picture.words
    # Round ticks from nothing up, each with room for its label beside the drawing.
    levels = [float(level.label) for level in picture.levels]
    assert levels[0] == 0.0 and levels == sorted(levels) and len(levels) in (3, 4)
    assert all(len(level.label) <= 4 for level in picture.levels)
    assert {round(b - a, 6) for a, b in pairwise(levels)} == {levels[1]}
    assert surface_drawing([], timezone.now()) is None
    # A ball sanded a moment ago: labels of its first minutes would lie on each other.
    moment = surface_drawing(history[:1], history[0].when + timedelta(minutes=2))
    assert moment is not None and len(moment.days) == 1 and len(picture.days) == 3


def test_a_ball_and_its_layout_become_what_the_engine_asks_for(cast: Cast) -> None:
    Layout.objects.create(ball=cast.bo_ball, pin_to_pap_in=4.0, drilling_angle_deg=50, val_angle_deg=30)
    ball = Ball.objects.select_related("layout").get(pk=cast.bo_ball.pk)
    state = surface_state(ball)
    spec = ball_spec(ball, state)
    assert (spec.weight_lb, spec.rg_in, spec.differential_in, spec.cover) == (
        15.0,
        2.52,
        0.045,
        "reactive_solid",
    )
    assert (spec.pin_to_pap_in, spec.drilling_angle_deg, spec.val_angle_deg) == (4.0, 50, 30)
    assert (spec.roughness_um, spec.roughness_sd_um) == (state.roughness_um, state.sd_um)
    assert engine_notes(ball) == []


def test_an_older_approval_is_computed_at_the_limit_and_says_so(cast: Cast) -> None:
    ball = cast.bo_ball
    ball.rg_in, ball.differential_in, ball.intermediate_differential_in = 2.44, 0.075, 0.07
    spec = ball_spec(ball, surface_state(ball))
    assert (spec.rg_in, spec.differential_in, spec.intermediate_differential_in) == (2.46, 0.06, 0.06)
    assert [note.split(" in:")[0] for note in engine_notes(ball)] == [
        "Radius of gyration 2.44",
        "Differential 0.075",
    ]


def test_a_release_becomes_its_numbers_and_covariance(cast: Cast) -> None:
    release = Release.objects.get(bowler=cast.bo_bowler, kind="strike")
    independent = release_spec(release)
    assert (independent.speed_mph, independent.rev_rate_rpm, independent.axis_rotation_deg) == (17.5, 340, 50)
    assert independent.scatter.covariance()[0, 0] == pytest.approx(0.3**2)
    assert independent.scatter.covariance()[0, 1] == 0
    matrix = [[1.0 if i == j else 0.0 for j in range(5)] for i in range(5)]
    matrix[0][3] = matrix[3][0] = 0.5
    release.scatter_correlation = matrix
    assert release_spec(release).scatter.covariance()[0, 3] == pytest.approx(0.5 * 0.3 * 10.0)


@pytest.mark.parametrize(
    ("value", "levels"),
    [
        (0.07, [0.0, 0.04, 0.08]),
        (0.36, [0.0, 0.2, 0.4]),
        (0.62, [0.0, 0.4, 0.8]),
        (0.75, [0.0, 0.4, 0.8]),
        (0.95, [0.0, 0.5, 1.0]),
        (1.2, [0.0, 0.5, 1.0, 1.5]),
        (2.4, [0.0, 1.0, 2.0, 3.0]),
        (6.0, [0.0, 2.0, 4.0, 6.0]),
    ],
)
def test_the_ticks_of_the_roughness_are_round(value: float, levels: list[float]) -> None:
    assert _levels(_round_up(value)) == levels
