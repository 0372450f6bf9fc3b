"""A pair is two lanes: the odd one on the left and the even one beside it."""

from collections.abc import Iterator

from django.core.exceptions import ValidationError

from arsenal.limits import Limit
from sessions.models import House, Lane


def lane_of(house: House, number: int, field: str = "lane_number") -> Lane:
    found = house.lanes.filter(number=number).first()
    if found is None:
        raise ValidationError({field: f"Lane {number} is not allowed: {house.name} has lanes {span(house)}."})
    return found


def left_number(lane_number: int) -> int:
    """The odd lane of the pair that a lane belongs to."""
    return lane_number - 1 + lane_number % 2


def pair_of(house: House, lane_number: int) -> tuple[Lane, Lane]:
    """Both lanes of the pair with this lane; raises ValidationError when the house has no such lane."""
    left = left_number(lane_number)
    lanes = {lane.number: lane for lane in house.lanes.filter(number__in=(left, left + 1))}
    if len(lanes) != 2:
        raise ValidationError(
            {"lane": f"Lane {lane_number} is not allowed: {house.name} has lanes {span(house)}."}
        )
    return lanes[left], lanes[left + 1]


def span(house: House) -> str:
    numbers = list(house.lanes.order_by("number").values_list("number", flat=True))
    return f"{numbers[0]} to {numbers[-1]}" if numbers else "none yet"


def crossing(start: int, move_pairs: int, games: int, first: int, last: int) -> Iterator[int]:
    """The left lane of each game: so many pairs on each time, and round from the last pair to the first."""
    low, high = left_number(first), left_number(last)
    pairs = (high - low) // 2 + 1
    at = (left_number(start) - low) // 2
    for game in range(games):
        yield low + 2 * ((at + game * move_pairs) % pairs)


def check_span(start: int, first: int, last: int) -> dict[str, str]:
    """Why a crossing from `start` within lanes `first` to `last` cannot be, by field."""
    wrong: dict[str, str] = {}
    if last < first:
        wrong["last_lane"] = f"Last lane {last} is not allowed: {first}, the first lane used, or higher."
    elif why := Limit("Starting lane", left_number(first), left_number(last) + 1, whole=True).refusal(start):
        wrong["start_lane"] = why
    return wrong
