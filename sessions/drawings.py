"""Small drawings of the logbook: numbers in, one SVG text out; colours come from classes in desk.css."""

from html import escape
from typing import TYPE_CHECKING

from patterns.pictures import Path, film_plan_svg
from sessions.lane_picture import unpack_film

if TYPE_CHECKING:
    from sessions.advice_cards import Chance, LaneCard

BAR_WIDTH, BAR_HEIGHT, BAR_MARGIN = 320.0, 38.0, 10.0


def chance_bar_svg(chance: "Chance") -> str:
    """The chance of the pocket from 0 to 100 %: now as a stroke, advised as a dot on its interval."""

    def x(percent: float) -> str:
        return f"{BAR_MARGIN + (BAR_WIDTH - 2 * BAR_MARGIN) * percent / 100.0:.1f}"

    marks = "".join(
        f'<line class="tick" x1="{x(p)}" x2="{x(p)}" y1="18" y2="24"/>'
        f'<text x="{x(p)}" y="36" text-anchor="middle">{p}</text>'
        for p in (0, 25, 50, 75, 100)
    )
    parts = [f'<line class="track" x1="{x(0)}" x2="{x(100)}" y1="14" y2="14"/>{marks}']
    if chance.is_change:
        wide = float(x(chance.high)) - float(x(chance.low))
        parts.append(
            f'<rect class="interval" x="{x(chance.low)}" y="9" width="{wide:.1f}" height="10" rx="3"/>'
        )
    now = x(chance.now)
    parts.append(f'<line class="now" x1="{now}" x2="{now}" y1="4" y2="24"/>')
    parts.append(f'<circle class="advised" cx="{x(chance.advised)}" cy="14" r="5"/>')
    return (
        f'<svg class="chance-bar" viewBox="0 0 {BAR_WIDTH:g} {BAR_HEIGHT:g}" role="img" '
        f'aria-label="{escape(chance.words, quote=True)}" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(chance.words)}</title>{''.join(parts)}</svg>"
    )


def lane_picture_svg(card: "LaneCard") -> str:
    """The film the model believes in, with the path now and the path advised between its scatter."""
    picture = card.picture
    film_um = unpack_film(picture["film"])
    feet = [float(foot) for foot in range(len(picture["now"] or picture["advised"]["mid"]))]
    paths: list[Path] = []
    if picture.get("advised"):
        advised = picture["advised"]
        paths += [(feet, advised["low"], "band"), (feet, advised["high"], "band")]
        paths.append((feet, advised["mid"], "advised"))
    if picture["now"]:
        paths.append((feet, picture["now"], "now"))
    return film_plan_svg(
        film_um,
        length_ft=float(card.inputs["length_ft"]),
        paths=[(list(f), [_number(b) for b in boards], css) for f, boards, css in paths],
        own_side="left" if card.hand == "left" else "right",
        title=f"Lane {card.lane.number}: film as the model believes it, and the path",
    )


def _number(value: float | None) -> float:
    """Boards behind the gutter or the pins are stored as null; they are not drawn."""
    return float("nan") if value is None else float(value)
