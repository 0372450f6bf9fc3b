"""Small drawings of the logbook: numbers in, one SVG text out; colours come from classes in desk.css."""

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from patterns.pictures import Path, film_plan_svg
from sessions.lane_picture import unpack_film

if TYPE_CHECKING:
    from sessions.advice_cards import Chance, LaneCard
    from sessions.shot_paths import LanePaths

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
    """The film the model believes in, with the path now and the path advised, one with its scatter."""
    picture = card.picture
    now, advised = picture["now"], picture["advised"]
    paths: list[Path] = []
    if (banded := advised or now) is not None:
        paths += [_path(banded["low"], "band"), _path(banded["high"], "band")]
    if advised is not None:
        paths.append(_path(advised["mid"], "advised"))
    if now is not None:
        paths.append(_path(now["mid"], "now"))
    return film_plan_svg(
        unpack_film(picture["film"]),
        length_ft=float(card.inputs["length_ft"]),
        paths=paths,
        own_side="left" if card.hand == "left" else "right",
        title=f"Lane {card.lane.number}: film as the model believes it, with the path",
    )


def _path(boards: Sequence[float | None], css: str) -> Path:
    """One board per foot; null, beyond a gutter, is left out."""
    known = [(float(foot), board) for foot, board in enumerate(boards) if board is not None]
    return ([foot for foot, _ in known], [board for _, board in known], css)


def game_paths_svg(lane: "LanePaths") -> str:
    """The paths of one game on one lane, with a mark at the pins where each ball was seen to hit."""
    paths: list[Path] = [_path(path.boards, "shot") for path in lane.paths]
    paths += [
        ([58.0, 60.0], [path.hit_board, path.hit_board], "hit")
        for path in lane.paths
        if path.hit_board is not None
    ]
    return film_plan_svg(
        lane.film_um,
        length_ft=lane.length_ft,
        paths=paths,
        own_side=lane.hand,
        title=f"Lane {lane.lane.number}: paths of the game",
    )
