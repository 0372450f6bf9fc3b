import pytest
from hypothesis import given
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.frames import Frame, frames_from_throws, throw_from_pins
from motion.leaves import FULL_RACK, pins_of
from motion.notation import format_game, parse_game


@st.composite
def bowled_frames(draw: st.DrawFn) -> tuple[Frame, ...]:
    """Games bowled pin by pin, with fouls, possibly unfinished."""
    throws = []
    standing = FULL_RACK
    for _ in range(draw(st.integers(0, 21))):
        left = standing & draw(st.sampled_from([0, 0, FULL_RACK, *range(0, 1024, 37)]))
        foul = draw(st.booleans()) and draw(st.booleans())
        throw = throw_from_pins(standing=standing, left=pins_of(left), foul=foul)
        try:
            frames = frames_from_throws([*throws, throw])
        except MotionError as full:
            # Nothing but a game already finished may be refused here.
            assert full.field == "frame 11"
            break
        throws.append(throw)
        unfinished = len(frames) and not _next_is_new_frame(frames)
        standing = (throw.standing if foul else left or FULL_RACK) if unfinished else FULL_RACK
    return frames_from_throws(throws)


def _next_is_new_frame(frames: tuple[Frame, ...]) -> bool:
    last = frames[-1].throws
    if len(frames) == 10:
        return False
    return last[0] == 10 or len(last) == 2


@given(bowled_frames())
def test_a_game_written_is_read_back_the_same(frames: tuple[Frame, ...]) -> None:
    assert parse_game(format_game(frames)) == frames
    assert parse_game(format_game(frames).replace(" ", "").lower()) == frames


@pytest.mark.parametrize(
    "text",
    [
        "X 9/ 81 7- X",
        "x 9/ 81 7- x",
        "X9/817-X",
        "X, 9 /, 8 1, 7 -, X",
        " X | 9/ | 81 | 7- | X ",
        "X;9/;81;7g;X",
        "X 9/ 81 70 X",
    ],
)
def test_notation_is_read_forgivingly(text: str) -> None:
    assert [frame.throws for frame in parse_game(text)] == [(10,), (9, 1), (8, 1), (7, 0), (10,)]


@pytest.mark.parametrize("text", ["(8)1", "S81", "8s1", "s8 1", "( 8 ) 1"])
def test_a_split_may_be_marked_in_several_ways(text: str) -> None:
    assert parse_game(text) == (Frame((8, 1), splits=(0,)),)
    assert format_game(parse_game(text)) == "(8)1"


def test_two_figures_that_clear_the_rack_are_written_as_a_spare() -> None:
    assert format_game(parse_game("82")) == "8/"


def test_a_miss_then_all_ten_is_a_spare_not_a_strike() -> None:
    assert format_game(parse_game("-/ F/")) == "-/ F/"


def test_the_tenth_frame_reads_strikes_spares_and_a_fill_ball() -> None:
    for tenth, throws in {
        "XXX": (10, 10, 10),
        "X8/": (10, 8, 2),
        "8/X": (8, 2, 10),
        "-/X": (0, 10, 10),
    }.items():
        assert parse_game("X" * 9 + tenth)[9].throws == throws


@pytest.mark.parametrize(
    ("text", "field", "value"),
    [
        ("X 9/ 81 /", "frame 4", "/"),
        ("X 9/ 81 73 85", "frame 5", "5"),
        ("X 9/ 8X", "frame 3", "X"),
        ("X 9/ 8?", "frame 3", "?"),
        ("--" * 10 + "3", "frame 11", "3"),
        ("X 7(2)", "frame 2", "(2)"),
        ("X" * 9 + "X/", "frame 10", "/"),
        ("X" * 13, "frame 11", "X"),
    ],
)
def test_a_wrong_ball_is_named_by_its_frame(text: str, field: str, value: str) -> None:
    with pytest.raises(MotionError) as refused:
        parse_game(text)
    assert refused.value.field == field
    assert refused.value.value == value
    assert refused.value.allowed
