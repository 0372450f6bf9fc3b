"""What the page of two layouts shows: the engine's comparison in pictures, a table and words."""

from dataclasses import dataclass

from arsenal.engine_inputs import ball_spec, release_spec
from arsenal.models import Ball, Layout, Release
from arsenal.surface_state import surface_state
from motion.errors import FloatArray
from motion.friction import mu_map
from motion.inertia import layout_of
from motion.inputs import BallSpec, Line, ReleaseSpec, own_side
from motion.layout_effect import effective
from motion.pictures.along import along_lane, path_svg
from motion.pictures.chance import PocketField, miss_room, pocket_field
from motion.pictures.chance_svg import chance_svg, chance_words
from motion.pictures.layouts import Difference, TwoLayouts, compare_layouts, layout_words, with_layout
from motion.pictures.layouts_svg import at_the_pins, layouts_svg, layouts_words, scatter_words
from motion.words import signed
from patterns.engine_inputs import film_for
from patterns.layout_form import LAYOUT
from patterns.models import PatternVersion

TARGET_FT = 15.0
# Where no line finds the pocket and none is typed: some line, so that there is something to see.
NO_POCKET_LINE = (22.0, 15.0)


@dataclass(frozen=True)
class Row:
    """One number of both layouts and the difference, as the table shows them."""

    name: str
    unit: str
    first: str
    second: str
    middle: str
    low: str
    high: str
    mark: str


@dataclass(frozen=True)
class Comparison:
    """Everything below the form."""

    first_words: str
    second_words: str
    line: Line
    line_is_ours: bool
    picture: str
    words: str
    scatter_words: str
    rows: list[Row]
    worlds: int
    in_gutter: bool
    field_picture: str
    field_words: str
    along_first: str
    along_second: str


def unknown_numbers(ball: Ball) -> list[str]:
    """Numbers of the ball's own layout that nobody entered and the engine replaces by usual ones."""
    layout: Layout | None = getattr(ball, "layout", None)
    usual = layout_of(BallSpec(weight_lb=15.0, rg_in=2.5))
    return [
        f"{Layout.LIMITS[name].label} {getattr(usual, name):g} {Layout.LIMITS[name].unit}"
        for name in LAYOUT
        if layout is None or getattr(layout, name) is None
    ]


def own_layout_words(ball: Ball) -> str:
    return layout_words(ball_spec(ball, surface_state(ball)))


def comparison(
    ball: Ball,
    version: PatternVersion,
    release: Release,
    layout: dict[str, float],
    laydown_board: float | None,
    target_board: float | None,
) -> Comparison:
    """Compare the ball's own layout with another; without a line, down the one the model likes best.

    Raises MotionError.
    """
    hand = ball.bowler.hand
    film, scale_sd = film_for(version)
    film_um = own_side(film, hand)
    spec, thrown = ball_spec(ball, surface_state(ball)), release_spec(release)
    mu = mu_map(film_um, spec)
    field, field_mu, field_release, k = _field(spec, thrown, film_um, mu, ball.bowler.laydown_ft)
    line = _line(laydown_board, target_board, field, ball.bowler.laydown_ft)
    two = compare_layouts(spec, with_layout(spec, **layout), thrown, line, film_um, film_scale_sd=scale_sd)
    room = None
    if field.best is not None:
        room = miss_room(
            field_mu,
            field.best,
            release=field_release,
            rg_in=spec.rg_in,
            diameter_in=spec.diameter_in,
            k=k,
        )
    along = [along_lane(each.path, mu, friction=each.path.friction) for each in (two.first, two.second)]
    return Comparison(
        first_words=layout_words(two.first.ball),
        second_words=layout_words(two.second.ball),
        line=line,
        line_is_ours=laydown_board is None,
        picture=layouts_svg(two, hand=hand),
        words=layouts_words(two),
        scatter_words=scatter_words(two),
        rows=_rows(two),
        worlds=two.worlds,
        in_gutter=at_the_pins(two) is None,
        field_picture=chance_svg(field, room, hand=hand, present=line),
        field_words=chance_words(field, room),
        along_first=path_svg(along[0], mu=mu, hand=hand, title="The first layout along the lane"),
        along_second=path_svg(along[1], mu=mu, hand=hand, title="The second layout along the lane"),
    )


def _field(
    ball: BallSpec, release: ReleaseSpec, film_um: FloatArray, mu: FloatArray, laydown_ft: float
) -> tuple[PocketField, FloatArray, ReleaseSpec, float]:
    """The pocket over lines for a drilled ball, by the reduced model, with what it was thrown on."""
    effect = effective(ball, release, film_um=film_um)
    on, thrown = effect.mu(mu), effect.release(release)
    field = pocket_field(
        on,
        release=thrown,
        rg_in=ball.rg_in,
        diameter_in=ball.diameter_in,
        k=effect.k,
        target_ft=TARGET_FT,
        laydown_ft=laydown_ft,
    )
    return field, on, thrown, effect.k


def _line(laydown: float | None, target: float | None, field: PocketField, laydown_ft: float) -> Line:
    if laydown is None or target is None:
        if field.best is not None:
            return field.best
        laydown, target = NO_POCKET_LINE
    return Line(laydown_board=laydown, target_board=target, target_ft=TARGET_FT, laydown_ft=laydown_ft)


def _mark(difference: Difference) -> str:
    """What a reader should not overlook about an interval."""
    places = difference.places
    if not (round(difference.low, places) or round(difference.high, places)):
        return "hardly any"
    return "" if difference.clear else "either way"


def _rows(two: TwoLayouts) -> list[Row]:
    return [
        Row(
            name=d.name,
            unit=d.unit,
            first=f"{d.first:.{d.places}f}",
            second=f"{d.second:.{d.places}f}",
            middle=signed(d.middle, d.places),
            low=signed(d.low, d.places),
            high=signed(d.high, d.places),
            mark=_mark(d),
        )
        for d in two.differences
    ]
