import pytest
from hypothesis import given
from hypothesis import strategies as st

from motion.errors import MotionError
from motion.leaves import (
    FULL_RACK,
    dashed,
    is_split,
    is_washout,
    leave_name,
    mask_of,
    mirror,
    pin_count,
    pins_of,
)

masks = st.integers(0, FULL_RACK)


def leave(text: str) -> int:
    return mask_of(int(pin) for pin in text.split("-"))


# A published list of named splits (champbowltour.blogspot.com, "The dreaded Splits"), FOUND-2.
PUBLISHED_SPLITS = [
    "7-10",
    "7-9",
    "8-10",
    "5-7",
    "5-10",
    "5-7-10",
    "2-7",
    "3-10",
    "2-7-8",
    "3-9-10",
    "2-7-10",
    "3-7-10",
    "4-6-7-10",
    "2-3",
    "4-5",
    "5-6",
    "7-8",
    "9-10",
    "4-6-7-8-10",
    "4-6-7-9-10",
    "3-4-6-7-10",
    "2-4-6-7-10",
    "2-4-6-7-8-10",
    "3-4-6-7-9-10",
]
# Same page: these are washouts, not splits, because the head pin stands.
PUBLISHED_WASHOUTS = ("1-2-10", "1-2-4-10", "1-3-7", "1-3-6-7")
# Ordinary trade terms for leaves that are not splits: common practice.
NOT_SPLITS = [
    "7",
    "10",
    "2-4-5",
    "3-5-6",
    "2-4-5-8",
    "3-5-6-9",
    "2-8",
    "3-9",
    "6-10",
    "4-7",
    "2-4-7",
    "3-6-10",
]


@pytest.mark.parametrize("text", PUBLISHED_SPLITS)
def test_published_splits_are_splits(text: str) -> None:
    assert is_split(leave(text))
    assert not is_washout(leave(text))


@pytest.mark.parametrize("text", PUBLISHED_WASHOUTS)
def test_published_washouts_are_washouts_not_splits(text: str) -> None:
    assert is_washout(leave(text))
    assert not is_split(leave(text))


@pytest.mark.parametrize("text", NOT_SPLITS)
def test_ordinary_leaves_are_not_splits(text: str) -> None:
    assert not is_split(leave(text))


@given(masks)
def test_a_leave_has_the_same_kind_in_the_mirror(mask: int) -> None:
    assert is_split(mask) == is_split(mirror(mask))
    assert is_washout(mask) == is_washout(mirror(mask))
    assert mirror(mirror(mask)) == mask
    assert pin_count(mirror(mask)) == pin_count(mask)


def test_the_mirror_swaps_the_corner_pins() -> None:
    assert pins_of(mirror(leave("3-6-10"))) == (2, 4, 7)
    assert mirror(leave("1-5")) == leave("1-5")


@given(masks)
def test_a_mask_survives_being_written_as_pins(mask: int) -> None:
    assert mask_of(pins_of(mask)) == mask


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("10", "10 pin"),
        ("2-8", "2-8 double wood"),
        ("3-5-6-9", "3-5-6-9 bucket"),
        ("3-10", "3-10 baby split"),
        ("7-10", "7-10 split"),
        ("1-2-10", "1-2-10 washout"),
        ("3-6-10", "3-6-10"),
    ],
)
def test_leaves_are_named_as_the_trade_names_them(text: str, name: str) -> None:
    assert leave_name(leave(text)) == name


def test_no_pins_left_is_a_strike_and_has_no_figures() -> None:
    assert leave_name(0) == "strike"
    assert dashed(0) == ""


@pytest.mark.parametrize("pins", [(0,), (11,), (3, 3)])
def test_impossible_pins_are_refused(pins: tuple[int, ...]) -> None:
    with pytest.raises(MotionError):
        mask_of(pins)
