"""Scores against published rules, worked games and the published count of all possible games."""

from collections import Counter
from functools import cache
from itertools import product
from math import comb, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.frames import Throw, frames_from_throws, throw_from_pins
from motion.leaves import FULL_RACK, mask_of
from motion.notation import parse_game
from motion.scoring import score_current_frame, score_game, score_traditional

MIXED = "X 7/ 9- X -8 8/ -6 X X X81"

# Worked games: facts 6a, each scored from the rules by hand or an independent scorer (DERIVED).
WORKED = {
    "XXXXXXXXXXXX": 300,
    "XXXXXXXXXXX9": 299,
    "XXXXXXXXXXX-": 290,
    # 279 is eleven strikes after an open 9; after a spare the first frame is worth 20, so they make 290.
    "9-XXXXXXXXXXX": 279,
    "9/XXXXXXXXXXX": 290,
    "XXXXXXXXX9-": 267,
    "XXXXXXXXX--": 240,
    "X9/X9/X9/X9/X9/X": 200,
    "9/X9/X9/X9/X9/X9/": 200,
    "9/9/9/9/9/9/9/9/9/9/9": 190,
    "9/9/9/9/9/9/9/9/9/9/X": 191,
    "5/5/5/5/5/5/5/5/5/5/5": 150,
    "X9-X9-X9-X9-X9-": 140,
    "9-9-9-9-9-9-9-9-9-9-": 90,
    "X------------------": 10,
    MIXED: 167,
}


@pytest.mark.parametrize(("text", "total"), WORKED.items())
def test_worked_games_score_as_published(text: str, total: int) -> None:
    score = score_traditional(parse_game(text))
    assert score.complete
    assert score.total == score.max_possible == total


def test_the_mixed_game_runs_as_worked() -> None:
    running = [frame.running for frame in score_traditional(parse_game(MIXED)).frames]
    assert running == [20, 39, 48, 66, 74, 84, 90, 120, 148, 167]


# Facts 6b, from the World Bowling rule as restated in Wikipedia "Ten-pin bowling" (rule FOUND-2).
@pytest.mark.parametrize(
    ("text", "total"),
    [
        ("XXXXXXXXXX", 300),
        ("9/9/9/9/9/9/9/9/9/9/", 190),
        ("5/5/5/5/5/5/5/5/5/5/", 150),
        ("X9/X9/X9/X9/X9/", 245),
        ("X 7/ 9- X -8 8/ -6 X X X", 208),
        ("-/" + "--" * 9, 10),
    ],
)
def test_current_frame_games_score_as_published(text: str, total: int) -> None:
    score = score_current_frame(parse_game(text, "current frame"))
    assert score.complete
    assert score.total == total


def test_current_frame_has_no_bonus_balls_in_the_tenth() -> None:
    with pytest.raises(MotionError) as refused:
        score_current_frame([[10]] * 9 + [[10, 8, 1]])
    assert refused.value.field == "frame 10"


# --- an independent scorer, ball by ball, and random whole games ------------------------------------------


def reference_total(balls: list[int]) -> int:
    """Traditional score of a finished game from its flat list of balls, written from the rule's text."""
    total = at = 0
    for _ in range(10):
        if balls[at] == 10:
            total += 10 + balls[at + 1] + balls[at + 2]
            at += 1
        elif balls[at] + balls[at + 1] == 10:
            total += 10 + balls[at + 2]
            at += 2
        else:
            total += balls[at] + balls[at + 1]
            at += 2
    assert at <= len(balls)
    return total


@st.composite
def games(draw: st.DrawFn) -> list[list[int]]:
    def two_balls() -> list[int]:
        first = draw(st.sampled_from([0, 3, 5, 7, 8, 9, 10, 10, 10]))
        return [first] if first == 10 else [first, draw(st.integers(0, 10 - first))]

    frames = [two_balls() for _ in range(9)]
    last = two_balls()
    if last == [10]:
        second = draw(st.integers(0, 10))
        last += [second, draw(st.integers(0, 10 if second == 10 else 10 - second))]
    elif sum(last) == 10:
        last.append(draw(st.integers(0, 10)))
    return [*frames, last]


@given(games())
@settings(max_examples=200)
def test_totals_agree_with_an_independent_scorer(game: list[list[int]]) -> None:
    assert score_traditional(game).total == reference_total([pins for frame in game for pins in frame])


@given(games(), st.integers(0, 21))
@settings(max_examples=200)
def test_a_game_in_progress_never_contradicts_its_end(game: list[list[int]], balls: int) -> None:
    so_far: list[list[int]] = []
    for frame in game:
        taken = frame[: balls - sum(map(len, so_far))]
        if not taken:
            break
        so_far.append(taken)
    early, final = score_traditional(so_far), score_traditional(game)
    for before, after in zip(early.frames, final.frames, strict=False):
        assert before.running in (None, after.running)
    assert early.total <= final.total <= early.max_possible


def test_a_frame_stays_undecided_until_its_bonus_balls_are_thrown() -> None:
    score = score_traditional([[10], [9, 1], [8]])
    assert [frame.running for frame in score.frames] == [20, 38, None]
    assert not score.complete
    assert score.total == 38
    # 20 + 18 + a spare from 8 with a strike after (20) + seven strikes with fills (210).
    assert score.max_possible == 268


def test_an_empty_game_may_still_be_perfect() -> None:
    score = score_game([])
    assert (score.total, score.max_possible, score.complete) == (0, 300, False)


# --- all possible games: Cooper & Kennedy, Math. Mag. 63(4) (1990) 239; OEIS A060853 (FOUND) --------------

BONUS_PREFIX = {"none": [], "spare": [[0, 10]], "strike": [[10]], "double": [[10], [10]]}
OPEN = [[a, b] for a in range(10) for b in range(10 - a)]
SPARES = [[a, 10 - a] for a in range(10)]
NINE_FRAMES = [*OPEN, *SPARES, [10]]
TENTHS = [
    *OPEN,
    *([*spare, c] for spare in SPARES for c in range(11)),
    *([10, b, c] for b, c in product(range(11), repeat=2) if b == 10 or b + c <= 10),
]


@cache
def added_by(state: str, number: int, frame: tuple[int, ...]) -> int:
    """What the frame's balls add to the total, as a frame of their own and as bonus, by our scorer.

    A score is linear in later balls once the marks before are fixed, so one prefix per state is enough.
    """
    prefix = [[0, 0]] * (number - 1 - len(BONUS_PREFIX[state])) + BONUS_PREFIX[state]
    after = [[0, 0]] * (10 - number)
    without = score_traditional([*prefix, [0, 0], *after]).total
    return score_traditional([*prefix, list(frame), *after]).total - without


def state_after(state: str, frame: list[int]) -> str:
    if frame == [10]:
        return "double" if state in ("strike", "double") else "strike"
    return "spare" if sum(frame) == 10 else "none"


@pytest.fixture(scope="module")
def all_games() -> Counter[int]:
    """How many of all possible games end in each score, frame by frame."""
    states: dict[str, Counter[int]] = {"none": Counter({0: 1})}
    for number in range(1, 10):
        following: dict[str, Counter[int]] = {}
        for state, counts in states.items():
            for frame in NINE_FRAMES:
                target = following.setdefault(state_after(state, frame), Counter())
                # Every frame position gives the same addition; frame 5 has room for each prefix.
                added = (
                    added_by(state, 5, tuple(frame)) if number > 2 else added_by(state, number, tuple(frame))
                )
                for total, ways in counts.items():
                    target[total + added] += ways
        states = following
    ends: Counter[int] = Counter()
    for state, counts in states.items():
        for frame in TENTHS:
            added = added_by(state, 10, tuple(frame))
            for total, ways in counts.items():
                ends[total + added] += ways
    return ends


def test_the_number_of_possible_games_is_the_published_one(all_games: Counter[int]) -> None:
    assert len(NINE_FRAMES) == 66
    assert len(TENTHS) == 241
    assert sum(all_games.values()) == 66**9 * 241 == 5_726_805_883_325_784_576


def test_the_mode_of_all_games_is_the_published_one(all_games: Counter[int]) -> None:
    assert all_games.most_common(1) == [(77, 172_542_309_343_731_946)]


def test_games_of_lowest_and_highest_scores_are_as_many_as_published(all_games: Counter[int]) -> None:
    assert [all_games[score] for score in range(6)] == [1, 20, 210, 1540, 8855, 42504]
    assert [all_games[score] for score in range(6)] == [comb(score + 19, 19) for score in range(6)]
    assert [all_games[score] for score in range(288, 291)] == [12, 11, 11]
    assert all(all_games[score] == 1 for score in range(291, 301))


def test_mean_spread_and_counts_agree_with_the_full_enumeration(all_games: Counter[int]) -> None:
    # Facts 6c (DERIVED by an enumeration that gives the published total and mode).
    games = sum(all_games.values())
    mean = sum(score * ways for score, ways in all_games.items()) / games
    sd = sqrt(sum((score - mean) ** 2 * ways for score, ways in all_games.items()) / games)
    assert mean == pytest.approx(79.743915, abs=1e-6)
    assert sd == pytest.approx(13.674748, abs=1e-6)
    assert {score: all_games[score] for score in (10, 100, 150, 200, 250, 279, 280)} == {
        10: 20_030_010,
        100: 50_613_244_155_051_856,
        150: 29_843_343_433_392,
        200: 1_526_313_637,
        250: 37_965,
        279: 53,
        280: 26,
    }


# --- wrong games --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("game", "field", "value"),
    [
        ([[0, 0]] * 11, "frame 11", "an eleventh frame"),
        ([[11]], "frame 1, ball 1", 11),
        ([[8, 3]], "frame 1, ball 2", 3),
        ([[-1, 3]], "frame 1, ball 1", -1),
        ([[10], [10, 0]], "frame 2", [10, 0]),
        ([[1, 1, 1]], "frame 1", [1, 1, 1]),
        ([[1], [2, 2]], "frame 1", [1]),
        ([[0, 0]] * 9 + [[3, 3, 3]], "frame 10", [3, 3, 3]),
        ([[0, 0]] * 9 + [[10, 8, 3]], "frame 10, ball 3", 3),
        ([[True, 3]], "frame 1, ball 1", True),
    ],
)
def test_an_impossible_game_names_frame_value_and_range(
    game: list[list[int]], field: str, value: object
) -> None:
    with pytest.raises(MotionError) as refused:
        score_traditional(game)
    assert refused.value.field == field
    assert refused.value.value == value
    assert refused.value.allowed


# --- from pins ----------------------------------------------------------------------------------------------


def ball(standing: int, left: tuple[int, ...], *, foul: bool = False) -> Throw:
    return throw_from_pins(standing=standing, left=left, foul=foul)


def test_frames_come_from_the_pins_each_ball_left() -> None:
    throws = [
        ball(FULL_RACK, ()),
        ball(FULL_RACK, (7, 10)),
        ball(mask_of((7, 10)), (10,)),
        ball(FULL_RACK, (10,)),
        ball(mask_of((10,)), ()),
    ]
    frames = frames_from_throws(throws)
    assert [frame.throws for frame in frames] == [(10,), (8, 1), (9, 1)]
    score = score_traditional(frames)
    assert [frame.marks for frame in score.frames] == [("X",), ("8", "1"), ("9", "/")]
    assert [frame.is_split for frame in score.frames] == [False, True, False]
    assert [frame.running for frame in score.frames] == [19, 28, None]


def test_a_foul_counts_nothing_and_the_pins_are_set_again() -> None:
    frames = frames_from_throws([ball(FULL_RACK, (7,), foul=True), ball(FULL_RACK, ())])
    assert frames[0].throws == (0, 10)
    assert score_traditional(frames).frames[0].marks == ("F", "/")


def test_a_second_ball_never_leaves_a_split() -> None:
    (frame,) = frames_from_throws([ball(FULL_RACK, tuple(range(1, 11))), ball(FULL_RACK, (7, 10))])
    assert frame.throws == (0, 8)
    assert frame.splits == ()


def test_the_tenth_frame_sets_pins_again_after_a_mark() -> None:
    nine = [ball(FULL_RACK, ())] * 9
    frames = frames_from_throws(
        [*nine, ball(FULL_RACK, (4, 7)), ball(mask_of((4, 7)), ()), ball(FULL_RACK, (10,))]
    )
    assert frames[9].throws == (8, 2, 9)
    with pytest.raises(MotionError, match="frame 11"):
        frames_from_throws([ball(FULL_RACK, ())] * 13)


def test_a_pin_both_down_and_standing_is_refused() -> None:
    with pytest.raises(MotionError) as refused:
        throw_from_pins(standing=FULL_RACK, down=range(1, 10), left=(9, 10))
    assert refused.value.value == "9"
    assert "not both" in refused.value.allowed


def test_a_pin_neither_down_nor_standing_is_refused() -> None:
    with pytest.raises(MotionError, match="10"):
        throw_from_pins(standing=FULL_RACK, down=range(1, 9), left=(9,))


def test_a_pin_that_did_not_stand_cannot_fall() -> None:
    with pytest.raises(MotionError) as refused:
        throw_from_pins(standing=mask_of((7, 10)), down=(3,))
    assert refused.value.value == "3"


def test_an_eleventh_pin_is_refused() -> None:
    with pytest.raises(MotionError) as refused:
        throw_from_pins(standing=FULL_RACK, down=range(1, 12))
    assert refused.value.value == 11


def test_a_second_ball_must_find_the_pins_the_first_left() -> None:
    with pytest.raises(MotionError) as refused:
        frames_from_throws([ball(FULL_RACK, (10,)), ball(mask_of((7,)), ())])
    assert refused.value.field == "frame 1, ball 2, pins standing"
