"""The sentences of an advice say what the numbers say, and never the opposite."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from motion.advice import advise
from motion.advice_text import (
    choice_reason,
    pair_reason,
    state_reason,
    told_to_another,
    would_change_text,
)
from motion.advice_types import Candidate, Outlook
from motion.causes import KINDS, Arrival, Cause
from motion.compare import Compared
from motion.decide import Gain, gain_over
from motion.future import Lasting
from motion.inputs import Line
from motion.pair_contrast import Contrast
from motion.words import boards_words, games_words, percent, share_words, signed
from tests.motion.advice_cases import BALLS, SOLID, STRIKE, logged, request_on, thrown

SLICKER = Cause(kind="lane", shift_boards=4.0, amount=-0.08)
DRIER = Cause(kind="lane", shift_boards=-4.0, amount=0.083)


def arrived(offset: float, fresh: float, lost: float | None = 0.33, learned: Cause | None = None) -> Arrival:
    return Arrival(offset_boards=offset, fresh_offset_boards=fresh, oil_lost=lost, learned=learned)


def seen(mean: float, pocket: float = 0.43, spread: float = 0.0) -> Compared:
    values = mean + spread * np.linspace(-1.0, 1.0, 11)
    outlook = Outlook(
        pocket=pocket,
        strike=0.4,
        split_or_washout=0.1,
        expected_frame=mean,
        worst_tenth=10.0,
        mean_offset_boards=2.5,
        sd_offset_boards=2.0,
        entry_angle_deg=5.0,
        breakpoint_board=8.0,
        breakpoint_ft=42.0,
    )
    here = Candidate(
        ball_id="1",
        ball=SOLID,
        release_name="strike",
        release=STRIKE,
        line=Line(laydown_board=20.0 + pocket, target_board=13.0),
    )
    return Compared(
        candidate=here,
        mean_by_world=values,
        worst_tenth_by_world=values,
        pocket_by_world=np.full(11, pocket),
        outlook=outlook,
    )


def gain(mean: float, spread: float, pocket: float = 0.5) -> Gain:
    return gain_over(seen(18.0), seen(18.0 + mean, pocket, spread), "score")


@pytest.mark.parametrize(
    ("case", "sentence"),
    [
        (
            arrived(4.5, 7.5, learned=SLICKER),
            "From your shots this lane plays slicker than its sheet (friction about 8 % lower), so this line "
            "arrives 2 boards light although your track has lost about a third of its oil.",
        ),
        (
            arrived(0.5, 4.0, learned=DRIER),
            "From your shots this lane plays drier than its sheet (friction about 8 % higher) and your track "
            "has lost about a third of its oil, so this line arrives 2 boards high.",
        ),
        (
            arrived(0.5, 4.0),
            "Your track has lost about a third of its oil since the dressing, so this line now arrives 2 "
            "boards high.",
        ),
        (
            arrived(5.0, 7.0),
            "Your track has lost about a third of its oil since the dressing, but this line was 4.5 boards "
            "light on the fresh oil and is still 2.5 boards light.",
        ),
        (
            arrived(4.0, 3.8, lost=0.1),
            "Your track has lost about a tenth of its oil since the dressing; this line arrives 1.5 boards "
            "light, much as it did on the fresh oil.",
        ),
        (
            arrived(4.0, 3.0, lost=0.1),
            "Your track has lost about a tenth of its oil since the dressing, yet this line arrives 1.5 "
            "boards light, 1 board lighter than on the fresh oil.",
        ),
        (
            arrived(2.4, 2.6),
            "Your track has lost about a third of its oil since the dressing; this line still arrives in the "
            "pocket.",
        ),
        (
            arrived(2.4, 5.0),
            "Your track has lost about a third of its oil since the dressing; this line now arrives in the "
            "pocket.",
        ),
        (
            arrived(7.5, 8.0, lost=0.2, learned=Cause(kind="lane", shift_boards=0.8, amount=-0.02)),
            "Your track has lost about a fifth of its oil since the dressing, but this line was 5.5 boards "
            "light on the fresh oil and is still 5 boards light.",
        ),
        (
            arrived(0.0, 0.1, lost=0.01),
            "The lane along your track is nearly as dressed; this line is expected to arrive 2.5 boards "
            "high.",
        ),
        (arrived(1.5, 1.5, lost=None), "This line is expected to arrive 1 board high."),
        (
            arrived(4.5, 4.5, lost=0.0, learned=Cause(kind="speed", shift_boards=2.0, amount=0.42)),
            "From your shots you throw about 0.4 mph faster than recorded, so this line arrives 2 "
            "boards light.",
        ),
        (
            arrived(0.5, 0.5, lost=0.0, learned=Cause(kind="revs", shift_boards=-2.0, amount=0.05)),
            "From your shots you throw about 5 % more revs than recorded, so this line arrives 2 boards "
            "high.",
        ),
        (
            arrived(4.5, 4.5, lost=0.0, learned=Cause(kind="ball", shift_boards=2.0, amount=-0.06)),
            "From your shots this ball hooks less than its numbers say (friction about 6 % lower), so this "
            "line arrives 2 boards light.",
        ),
    ],
)
def test_the_first_sentence_gives_the_reason_that_fits_where_the_line_arrives(
    case: Arrival, sentence: str
) -> None:
    assert state_reason(case) == sentence


@settings(max_examples=200, deadline=None)
@given(
    offset=st.floats(-8.0, 12.0),
    fresh=st.floats(-8.0, 12.0),
    lost=st.floats(0.0, 1.0),
    kind=st.sampled_from(KINDS),
    shift=st.floats(-6.0, 6.0),
    amount=st.floats(-0.4, 0.4),
)
def test_lost_oil_is_never_given_as_the_reason_for_arriving_light_nor_slickness_for_arriving_high(
    offset: float, fresh: float, lost: float, kind: str, shift: float, amount: float
) -> None:
    learned = Cause(kind=kind, shift_boards=shift, amount=amount)  # type: ignore[arg-type]
    text = state_reason(arrived(offset, fresh, lost, learned))
    assert text.endswith(".") and text.count(". ") == 0
    if text.endswith("light."):
        assert "so this line now" not in text and "drier" not in text and "slower" not in text
    if text.endswith("high."):
        assert "slicker" not in text and "faster" not in text and "although" not in text


def test_a_worn_lane_that_plays_slick_is_explained_by_the_shots_and_a_burned_one_by_its_oil() -> None:
    # The line that finds the pocket on the fresh sheet.
    line = advise(request_on(None, balls=BALLS[:1]))["5"].alternatives[0].line
    traffic = thrown(line, 30)

    def reason(offset: float) -> str:
        shots = tuple(logged("5", line, offset, 24 + place) for place in range(6))
        return advise(request_on(line, traffic, shots=shots, balls=BALLS[:1]))["5"].reasons[0]

    light, high = reason(6.0), reason(-1.0)
    assert light.startswith("From your shots this lane plays slicker than its sheet (friction about ")
    assert "light although your track has lost" in light
    assert "slicker" not in high and high.endswith("high.")


def test_the_second_sentence_gives_whole_percents_and_a_true_minus() -> None:
    text = choice_reason("stay", seen(18.0, 0.434), gain(0.0, 0.0), gain(1.0, 2.0))
    assert text == (
        "It finds the pocket on 43 % of shots; the best change would bring +1.0 pins a frame "
        "(80 % likely −0.6 to +2.6), but only 72 % likely to bring the 0.2 pins a change of this size must "
        "bring, and 80 % is needed."
    )
    small = choice_reason("stay", seen(18.0), gain(0.0, 0.0), gain(0.14, 0.01))
    assert small.endswith("less than the 0.2 pins a change of this size must bring.")
    near = choice_reason("stay", seen(18.0), gain(0.0, 0.0), gain(0.152, 0.001))
    assert near.endswith("just short of the 0.2 pins a change of this size must bring.")
    assert "nothing in reach looks better" in choice_reason("stay", seen(18.0), gain(0, 0), gain(-0.3, 1.0))
    assert "nothing else was in reach" in choice_reason("stay", seen(18.0), gain(0, 0), None)
    moved = choice_reason("move", seen(18.0, 0.05), gain(1.2, 0.5, pocket=0.51), None)
    assert moved == (
        "The change takes the pocket from 5 % to 51 % of shots, +1.2 pins a frame (80 % likely +0.8 to +1.6)."
    )


def test_the_floor_is_named_where_it_is_what_was_compared() -> None:
    text = choice_reason("move", seen(18.0), gain(1.2, 0.5), None, objective="floor")
    assert "+1.2 pins a frame in your worst tenth of frames" in text
    apart = pair_reason(contrast(0.1), is_left=True, same_line=True, gains=(1.2, 0.4), objective="floor")
    assert "worth +1.2 pins a frame in your worst tenth of frames here and +0.4 there" in apart
    alike = pair_reason(contrast(0.1), is_left=True, same_line=True, gains=(1.21, 1.2))
    assert alike.endswith(
        "the best change is worth +1.2 pins a frame on both, so what differs is which change that is and "
        "how surely it pays."
    )


def test_a_ball_that_was_put_away_is_given_as_the_reason_for_changing_it() -> None:
    text = choice_reason("change ball", seen(18.0), gain(-0.4, 0.2), None, must_change=True)
    assert text.startswith("The ball thrown so far is put away; the change") and "−0.4" in text


@pytest.mark.parametrize(
    ("lasting", "words"),
    [
        (Lasting(games=3.0, at_least=True), "it should last 3 games or more."),
        (Lasting(games=1.0, at_least=True, to_the_end=True), "it should last the rest of the block."),
        (Lasting(games=1.4, at_least=False), "it should last about 1.5 games."),
        (Lasting(games=0.3, at_least=False), "it should last about 3 frames."),
    ],
)
def test_how_long_it_should_last_is_said_in_games_or_frames(lasting: Lasting, words: str) -> None:
    text = would_change_text("stay", seen(18.0), lasting)
    assert text.endswith(words)
    assert text.startswith("Two shots in a row more than 1.5 boards high or light of the pocket")


def test_no_longer_than_the_block_is_looked_ahead() -> None:
    line = Line(laydown_board=20.0, target_board=13.5)
    shots = tuple(logged("5", line, 2.5, 0) for _ in range(6))
    request = replace(
        request_on(line, shots=shots, balls=BALLS[:1]), games_remaining=0.5, field_per_game=None
    )
    answer = advise(request)["5"]
    assert answer.lasts_games is not None and answer.lasts_games <= 0.5


def contrast(higher: float, fresh: float = 0.0) -> Contrast:
    return Contrast(higher_boards=higher, low=higher - 1.2, high=higher + 1.2, fresh_boards=fresh)


@pytest.mark.parametrize(
    ("case", "is_left", "same_line", "gains", "sentence"),
    [
        (
            contrast(2.0, 1.8),
            True,
            True,
            (0.5, 0.2),
            "The right lane hooks more: 2 boards higher on this same line (80 % likely 0.8 to 3.2).",
        ),
        (
            contrast(-2.0),
            False,
            False,
            (0.5, 0.2),
            "The left lane hooks less: 2 boards lighter on this same line (80 % likely 0.8 to 3.2), most of "
            "it since the dressing.",
        ),
        (
            contrast(0.6, 0.6),
            True,
            True,
            (0.5, 0.2),
            "The right lane hooks more: 0.5 boards higher on this same line (80 % likely \u22120.6 to 1.8).",
        ),
        (
            contrast(0.2),
            True,
            False,
            (0.5, 0.2),
            "This line arrives within half a board of the same place on the right lane; the advice differs "
            "because you play another line there.",
        ),
        (
            contrast(0.2),
            False,
            True,
            (0.52, 0.21),
            "This line arrives within half a board of the same place on the left lane; the advice differs "
            "because the best change is worth +0.5 pins a frame here and +0.2 there.",
        ),
        (
            contrast(0.2),
            False,
            True,
            (0.52, None),
            "This line arrives within half a board of the same place on the left lane; the advice differs "
            "because little else is in reach on one of them.",
        ),
    ],
)
def test_what_tells_two_lanes_apart_is_said_in_one_sentence_with_its_doubt(
    case: Contrast,
    is_left: bool,
    same_line: bool,
    gains: tuple[float | None, float | None],
    sentence: str,
) -> None:
    assert pair_reason(case, is_left=is_left, same_line=same_line, gains=gains) == sentence


def test_numbers_in_words() -> None:
    assert [signed(value) for value in (1.04, -0.62, -0.04, 0.0)] == ["+1.0", "−0.6", "0.0", "0.0"]
    assert [percent(share) for share in (0.434, 0.0, 1.0, 0.004, 0.999)] == [
        "43 %",
        "0 %",
        "100 %",
        "under 1 %",
        "over 99 %",
    ]
    assert [boards_words(boards) for boards in (1.1, -2.4, 0.5)] == ["1 board", "2.5 boards", "0.5 boards"]
    assert [games_words(games) for games in (0.04, 0.6, 1.0, 2.6)] == [
        "1 frame",
        "6 frames",
        "1 game",
        "2.5 games",
    ]
    assert [share_words(share) for share in (0.0, 0.33, 0.5)] == ["hardly any", "about a third", "about half"]


def test_no_sentence_addresses_a_reader_who_is_not_the_bowler() -> None:
    kinds: tuple[tuple[str, float], ...] = (("speed", 1.0), ("revs", -0.1), ("ball", 0.1), ("lane", -0.1))
    taught = [
        state_reason(arrived(offset, 2.5, 0.3, Cause(kind=kind, shift_boards=offset - 2.5, amount=amount)))  # type: ignore[arg-type]
        for offset in (5.5, -1.0)
        for kind, amount in kinds
    ]
    worn = [state_reason(arrived(*case)) for case in ((0.0, 2.5, 0.3), (2.5, 2.5, 0.3), (2.5, 2.5, 0.0))]
    chosen = [choice_reason("stay", seen(18.0), gain(0, 0), gain(1.0, 2.0), objective="floor")]
    apart = [pair_reason(contrast(0.2), is_left=True, same_line=False, gains=(0.5, 0.2))]
    sentences = [*taught, *worn, *chosen, *apart]
    assert all(
        re.search(r"\b(you|your)\b", sentence, re.I) for sentence in [taught[0], *worn, *chosen, *apart]
    )
    for sentence in sentences:
        told = told_to_another(sentence)
        assert not re.search(r"\b(you|your)\b", told, re.I), told
        assert told[0].isupper() and told.endswith(".")
