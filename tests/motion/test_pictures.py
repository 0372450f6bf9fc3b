"""Pictures of the engine: well-formed, finite, saying in words what they show, true to what was computed."""

import math
import re
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from motion import parameters
from motion.engine import march
from motion.errors import MotionError
from motion.film import Sheet, film_from_sheet, volume_ml
from motion.friction import mu_map
from motion.full_ball import solve_full_ball
from motion.inputs import BallSpec, Line, ReleaseSpec, Scatter
from motion.layout_effect import effective
from motion.path import PathResult, solve_path
from motion.pictures import chance, layouts
from motion.pictures.along import along_lane, path_svg
from motion.pictures.chance_svg import chance_svg, chance_words
from motion.pictures.contour import contour
from motion.pictures.layouts_svg import layouts_svg, layouts_words, scatter_words
from motion.pictures.steps import CHANGE, cells, film_steps
from motion.pictures.svg import px
from motion.pictures.traffic import traffic, traffic_svg
from motion.pocket import POCKET_ANGLE_DEG, POCKET_WINDOW_BOARDS
from motion.units import UNIT_UM, units_to_um
from motion.wear import Passes, apply_traffic
from script import draw_physics

SVG = "{http://www.w3.org/2000/svg}"
BALL = BallSpec(
    weight_lb=15, rg_in=2.5, differential_in=0.05, pin_to_pap_in=4.5, drilling_angle_deg=60, val_angle_deg=40
)
RELEASE = ReleaseSpec(speed_mph=17.5, rev_rate_rpm=350, axis_rotation_deg=50, axis_tilt_deg=12)
LINE = Line(laydown_board=24, target_board=16)


def house_film() -> np.ndarray:
    across = np.clip(1.0 - (np.abs(np.arange(1, 40) - 20) - 8) / 10, 0.1, 1.0)
    oil = np.array([40.0, 35, 25, 15, 8])[:, None] * across
    return film_from_sheet(Sheet(length_ft=40, distances_ft=np.array([0, 8, 20, 32, 40.0]), oil=oil))


FILM = house_film()
MU = mu_map(FILM, BALL)


def solved(mu: np.ndarray, line: Line = LINE, **release: float) -> PathResult:
    numbers = {"speed_mph": 17.5, "rev_rate_rpm": 350.0, "axis_rotation_deg": 50.0, **release}
    return solve_path(mu, launch_deg=line.launch_deg, laydown_board=line.laydown_board, rg_in=2.5, **numbers)


def checked(svg: str) -> ET.Element:
    """Parse a picture; it must have its words, no number that is not one, and nothing but classes."""
    root = ET.fromstring(svg)  # noqa: S314  (our own output)
    assert root.find(f"{SVG}title").text
    assert len(root.find(f"{SVG}desc").text) > 20
    assert not re.search(r"\b(nan|inf)\b", svg, re.IGNORECASE)
    assert "style=" not in svg and "fill=" not in svg
    return root


def test_a_coordinate_that_is_no_number_is_refused() -> None:
    for bad in (math.nan, math.inf):
        with pytest.raises(MotionError, match="finite"):
            px(bad)
    assert px(-0.01) == "0"


def test_friction_met_is_what_the_lane_has_under_the_ball() -> None:
    lane = np.tile(np.linspace(0.01, 0.2, 61)[:, None], (1, 39))
    along = along_lane(solved(lane), lane)
    assert np.allclose(along.friction, np.interp(along.y_ft, np.arange(61), lane[:, 0]))


def test_friction_met_is_that_of_the_balls_own_cover_where_it_brings_oil() -> None:
    """Energy falls by friction times slip (standard mechanics): the path tells the friction it met."""
    film = np.full((61, 39), 1.0)
    rough = replace(BALL, roughness_um=0.9)
    mu = mu_map(film, rough)
    full = solve_full_ball(
        mu, rough, RELEASE, film_um=film, start_cover_um=0.0, launch_deg=2.0, laydown_board=25.0
    )
    along = along_lane(full, mu, friction=full.friction)
    lane = along_lane(full, mu).friction
    assert np.array_equal(along.friction, full.friction)
    assert full.roll_start_ft is None
    sliding = slice(2, 118)
    power = -np.gradient(full.energy, full.time_s)[sliding]
    met = power / (9.80665 * full.slip_mph[sliding] * 0.44704)
    # The median, because friction jumps where a turn ends and the next meets its track.
    missed = [np.median(np.abs(met / there[sliding] - 1.0)) for there in (full.friction, lane)]
    assert missed[0] < 0.02 < 0.04 < missed[1]
    with pytest.raises(MotionError, match="friction"):
        along_lane(full, MU, friction=full.friction[1:])
    plain = solve_full_ball(MU, BALL, RELEASE, launch_deg=2.0, laydown_board=20.0)
    assert np.allclose(plain.friction, along_lane(plain, MU).friction, rtol=1e-12)


def test_phases_follow_the_path_and_its_words() -> None:
    """On a lane of two zones the ball turns where the dry part begins, and rolls where the solver says."""
    lane = np.where(np.arange(61)[:, None] < 40, 0.005, 0.2) * np.ones((61, 39))
    path = solved(lane)
    along = along_lane(path, lane)
    assert 38.0 <= along.skid_to_ft <= 42.0
    assert along.roll_from_ft == path.roll_start_ft
    assert f"skids to {along.skid_to_ft:.0f} feet, hooks to {path.roll_start_ft:.0f} feet" in along.words
    root = checked(path_svg(along, mu=lane))
    assert [t.text for t in root.iter(f"{SVG}text") if t.get("class") == "phase-name"] == [
        "skid",
        "hook",
        "roll",
    ]


def test_a_ball_that_never_rolls_and_one_in_the_gutter_are_drawn_too() -> None:
    slick = np.full((61, 39), 0.01)
    along = along_lane(solved(slick), slick)
    assert along.roll_from_ft is None and "does not come to roll" in along.words
    checked(path_svg(along, mu=slick))
    lost = along_lane(solved(slick, Line(laydown_board=5, target_board=1)), slick)
    assert lost.gutter_ft is not None and lost.y_ft[-1] <= lost.gutter_ft
    assert "in the gutter at" in lost.words
    checked(path_svg(lost, film_um=FILM, hand="left"))
    # No slip at all, so no friction either: a ball that rolls from the start.
    checked(path_svg(along_lane(solved(np.zeros((61, 39))), np.zeros((61, 39)))))


def test_a_left_hander_sees_the_mirror_image() -> None:
    along = along_lane(solved(MU), MU)
    of = {hand: checked(path_svg(along, hand=hand)) for hand in ("right", "left")}

    def across(root: ET.Element) -> np.ndarray:
        line = next(e for e in root.iter(f"{SVG}polyline") if e.get("class") == "path first")
        return np.array([float(pair.split(",")[0]) for pair in line.get("points").split()])

    assert np.allclose(across(of["right"]) + across(of["left"]), 2 * 24.0 + 128.0, atol=0.11)


def worn(passes: int = 30) -> np.ndarray:
    track = np.tile(np.linspace(22.0, 8.0, 61), (passes, 1))
    return apply_traffic(FILM, Passes(track_board=track, lift=0.04, kept=0.8)).film_um


def test_what_was_lifted_is_laid_down_or_gone_with_the_balls() -> None:
    after = worn()
    seen = traffic(FILM, after)
    assert seen.lifted_ml == pytest.approx(seen.laid_down_ml + seen.carried_off_ml, rel=1e-9)
    assert seen.carried_off_ml == pytest.approx(volume_ml(FILM) - volume_ml(after))
    assert 0.0 < seen.beyond_ml <= seen.laid_down_ml
    root = checked(traffic_svg(seen))
    assert f"{seen.carried_off_ml:.2f} left with the balls" in root.find(f"{SVG}desc").text
    assert {f"change-{k}" for k in (0, 1, 2, 4)} <= {e.get("class") for e in root.iter(f"{SVG}path")}
    assert "nothing moved" in checked(traffic_svg(traffic(FILM, FILM))).find(f"{SVG}desc").text


def test_the_words_name_the_board_with_the_side_it_counts_from() -> None:
    after = FILM.copy()
    after[10, 34] -= units_to_um(1.0)  # own-side board 35
    after[10, 4] += units_to_um(1.0)
    assert "most on board 5L at 10 feet" in traffic_svg(traffic(FILM, after), hand="right")
    assert "most on board 5R at 10 feet" in traffic_svg(traffic(FILM, after), hand="left")


def test_steps_of_change_are_alike_both_ways_and_leave_the_middle_plain() -> None:
    values = units_to_um(np.array([-20.0, -2.0, -0.5, 0.0, 0.5, 2.0, 20.0]))
    assert CHANGE.level(values).tolist() == [0, 1, 2, 3, 4, 5, 6]
    films = units_to_um(np.array([0.0, 1.0, 36.0]))
    assert film_steps([films]).level(films).tolist() == [0, 1, 6]


def test_cells_cover_every_node_once() -> None:
    levels = np.random.default_rng(4).integers(0, 3, (9, 7))
    svg = cells(levels, np.arange(8.0), np.arange(10.0), "k")
    seen = np.full(levels.shape, -1)
    for level, d in re.findall(r'class="k-(\d)" d="([^"]*)"', svg):
        for x0, y0, x1, y1 in re.findall(r"M([\d.]+) ([\d.]+)H([\d.]+)V([\d.]+)", d):
            part = (slice(int(float(y0)), int(float(y1))), slice(int(float(x0)), int(float(x1))))
            assert (seen[part] == -1).all()
            seen[part] = int(level)
    assert np.array_equal(seen, levels)


def test_a_contour_of_a_plane_and_of_a_cone_lie_where_they_should() -> None:
    x, y = np.linspace(-2, 2, 41), np.linspace(-3, 3, 61)
    plane = x[None, :] + 2 * y[:, None]
    assert all(abs(px_ + 2 * py - 0.3) < 1e-12 for piece in contour(plane, x, y, 0.3) for px_, py in piece)
    cone = np.hypot(x[None, :], y[:, None])
    radii = [math.hypot(*point) for piece in contour(cone, x, y, 1.5) for point in piece]
    assert len(radii) > 50 and max(abs(r - 1.5) for r in radii) < 0.01
    saddle = np.array([[1.0, -1.0], [-1.0, 1.0]])
    assert len(contour(saddle, np.arange(2.0), np.arange(2.0), 0.0)) == 2
    assert contour(np.array([[np.nan, 1.0], [-1.0, 1.0]]), np.arange(2.0), np.arange(2.0), 0.0) == []


def small_field(release: ReleaseSpec = RELEASE, mu: np.ndarray = MU) -> chance.PocketField:
    return chance.pocket_field(mu, release=release, rg_in=2.5, draws=128)


def test_the_chance_agrees_with_plain_random_throws() -> None:
    """Monte Carlo with the generator of NumPy and the window written out again; 4000 throws, 4 sigma."""
    field = small_field()
    assert field.best is not None
    rng, scatter, n = np.random.default_rng(7), RELEASE.scatter, 4000
    met = march(
        MU,
        rng.normal(17.5, scatter.sd_speed_mph, n),
        rng.normal(350, scatter.sd_rev_rate_rpm, n),
        rng.normal(50, scatter.sd_axis_rotation_deg, n),
        field.best.launch_deg + rng.normal(0, scatter.sd_launch_deg, n),
        field.best.laydown_board + rng.normal(0, scatter.sd_laydown_boards, n),
        2.5,
        axis_tilt_deg=12.0,
    )
    near = (met.contact_offset_boards >= POCKET_WINDOW_BOARDS[0]) & (
        met.contact_offset_boards <= POCKET_WINDOW_BOARDS[1]
    )
    steep = (met.contact_angle_deg >= POCKET_ANGLE_DEG[0]) & (met.contact_angle_deg <= POCKET_ANGLE_DEG[1])
    plain = float((near & steep).mean())
    assert abs(field.best_chance - plain) < 4 * math.sqrt(0.25 / n) + field.error


def test_the_error_of_a_chance_is_what_other_draws_make_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The best line with 60 sets of draws that nothing else uses; an estimate of 8 sets is good to a half."""
    field = small_field()
    lay, aim = (np.array([board]) for board in (field.best.laydown_board, field.best.target_board))
    usual = chance.scatter_normals
    chances = []
    for other in range(60):
        monkeypatch.setattr(
            chance, "scatter_normals", lambda n, scramble=0, at=1000 + 100 * other: usual(n, scramble=at)
        )
        one = chance.pocket_field(MU, release=RELEASE, rg_in=2.5, laydown_board=lay, target_board=aim)
        chances.append(one.best_chance)
    assert 0.5 < field.error / np.std(chances, ddof=1) < 2.0
    # Even draws are better than so many random ones, and a single worst case tells nothing of either.
    assert 0.0 < field.error < 0.8 * math.sqrt(field.best_chance * (1 - field.best_chance) / 128)


def test_a_release_that_never_varies_has_no_error_of_draws() -> None:
    sure = Scatter(
        sd_speed_mph=0, sd_launch_deg=0, sd_laydown_boards=0, sd_rev_rate_rpm=0, sd_axis_rotation_deg=0
    )
    assert small_field(replace(RELEASE, scatter=sure)).error == 0.0


def test_the_pocket_of_a_drilled_ball_may_turn_with_more_than_a_legal_radius() -> None:
    heavy = {"rg_in": 2.8, "k": (2.84 / 4.275) ** 2}
    field = chance.pocket_field(MU, release=RELEASE, **heavy)
    assert field.best is not None and field.best != chance.pocket_field(MU, release=RELEASE, rg_in=2.46).best
    assert chance.miss_room(MU, field.best, release=RELEASE, **heavy) is not None


def test_the_words_name_the_best_line_and_the_room_to_miss() -> None:
    field = small_field()
    room = chance.miss_room(MU, field.best, release=RELEASE, rg_in=2.5)
    words = chance_words(field, room)
    assert f"laid down on board {field.best.laydown_board:g} over board {field.best.target_board:g}" in words
    assert re.search(r"standard error by the throws tried (\d points|one point|under a point)", words)
    assert "throws tried 7 points" in chance_words(replace(field, error=0.07))
    root = checked(chance_svg(field, room, present=LINE))
    assert root.find(f"{SVG}desc").text == words
    for hand in ("left", "right"):
        checked(chance_svg(field, None, hand=hand))


def test_the_miss_room_ends_where_the_intended_throw_leaves_the_pocket() -> None:
    """A release that never varies turns the chance into yes or no, thrown here by the single-path solver."""
    sure = Scatter(
        sd_speed_mph=0, sd_launch_deg=0, sd_laydown_boards=0, sd_rev_rate_rpm=0, sd_axis_rotation_deg=0
    )
    release = replace(RELEASE, scatter=sure)
    field = small_field(release)
    assert field.best_chance == 1.0
    room = chance.miss_room(MU, field.best, release=release, rg_in=2.5)

    def hits(off: float) -> bool:
        line = Line(laydown_board=field.best.laydown_board, target_board=field.best.target_board + off)
        path = solved(MU, line, axis_tilt_deg=12.0)
        return (
            1.5 <= (path.contact_offset_boards or 99.0) <= 3.5
            and 2.0 <= (path.contact_angle_deg or 0.0) <= 8.0
        )

    assert hits(0.0) and room.inside_boards + room.outside_boards > 0.0
    assert hits(room.inside_boards - 0.05) and not hits(room.inside_boards + 0.15)
    assert hits(-room.outside_boards + 0.05) and not hits(-room.outside_boards - 0.15)


def test_no_line_to_the_pocket_is_said_and_not_drawn_as_one() -> None:
    slick = np.zeros((61, 39))  # a straight ball never enters at two degrees from these targets
    field = chance.pocket_field(
        slick, release=RELEASE, rg_in=2.5, laydown_board=np.array([30.0, 31]), target_board=np.array([2.0, 3])
    )
    assert field.best is None and "No line" in chance_words(field)
    checked(chance_svg(field))


def test_odd_questions_are_refused_by_name() -> None:
    for wrong, name in (
        ({"laydown_board": np.array([99.0])}, "laydown_board"),
        ({"target_board": np.array([np.nan])}, "target_board"),
        ({"draws": 100}, "draws"),
        ({"target_ft": 2.0}, "target_ft"),
    ):
        with pytest.raises(MotionError, match=name):
            chance.pocket_field(MU, release=RELEASE, rg_in=2.5, **wrong)
    with pytest.raises(MotionError, match="before_um"):
        traffic(np.full((61, 39), np.nan), FILM)
    with pytest.raises(MotionError, match="hand"):
        path_svg(along_lane(solved(MU), MU), hand="both")


@pytest.fixture(scope="module")
def two() -> layouts.TwoLayouts:
    other = layouts.with_layout(BALL, pin_to_pap_in=1.0, drilling_angle_deg=20, val_angle_deg=20)
    return layouts.compare_layouts(BALL, other, RELEASE, LINE, FILM, film_scale_sd=0.1)


def test_two_layouts_differ_visibly_with_their_spread(two: layouts.TwoLayouts) -> None:
    flare = next(d for d in two.differences if d.name.startswith("Flare"))
    assert flare.clear and flare.middle < 0.0  # a pin near the axis flares less
    assert (two.apart_low <= two.apart_board).all() and (two.apart_board <= two.apart_high).all()
    assert two.apart_high[-1] - two.apart_low[-1] > 0.0
    for each in (two.first, two.second):
        assert (each.low_board[:55] <= each.path.board[::2][:55] + 1e-9).all()
        assert (each.path.board[::2][:55] <= each.high_board[:55] + 1e-9).all()
    root = checked(layouts_svg(two))
    curve = next(e for e in root.iter(f"{SVG}polyline") if e.get("class") == "curve first")
    x = [float(pair.split(",")[0]) for pair in curve.get("points").split()]
    assert max(x) - min(x) > 15.0  # pixels of a picture 340 wide
    assert "80 % interval" in layouts_words(two) and "one standard deviation" in scatter_words(two)


def test_the_paths_drawn_are_those_of_the_reference_at_its_own_tolerance(two: layouts.TwoLayouts) -> None:
    fine = solve_full_ball(
        MU, BALL, RELEASE, launch_deg=LINE.launch_deg, laydown_board=LINE.laydown_board, film_um=FILM
    )
    assert two.first.path.board_at_60 == pytest.approx(fine.board_at_60, abs=0.03)
    assert two.first.path.breakpoint_ft == pytest.approx(fine.breakpoint_ft, abs=0.1)


def test_one_layout_twice_differs_in_nothing() -> None:
    same = layouts.compare_layouts(BALL, BALL, RELEASE, LINE, FILM)
    assert not same.apart_board.any() and not same.apart_low.any()
    assert all(d.middle == d.low == d.high == 0.0 and not d.clear for d in same.differences)
    checked(layouts_svg(same))


def test_the_heaviest_legal_ball_is_compared_and_nothing_is_said_of_numbers_nobody_typed() -> None:
    """Its effective radius of gyration, 2.82 in, is more than a rule allows to list."""
    heavy = BallSpec(weight_lb=15, rg_in=2.78, differential_in=0.05, pin_to_pap_in=5.0, roughness_um=0.5)
    assert np.sqrt(effective(heavy, RELEASE).k) * 4.275 > 2.8
    two = layouts.compare_layouts(heavy, replace(heavy, pin_to_pap_in=1.0), RELEASE, LINE, FILM)
    assert np.isfinite(two.first.sd_at_pins_boards)
    assert (two.first.low_board <= two.first.high_board).all()


def test_possible_worlds_have_the_widths_of_the_table() -> None:
    worlds = layouts.possible_worlds(200, 0.2)
    logs = np.log([world.physics.lambda_half for world in worlds])
    expected = parameters.PARAMETERS["lambda_half"]
    assert logs.mean() == pytest.approx(math.log(expected.value), abs=0.01)
    assert logs.std() == pytest.approx(expected.prior_sd, rel=0.02)
    assert np.log([world.physics.film_scale for world in worlds]).std() == pytest.approx(0.2, rel=0.02)
    turns = np.sort([world.phase_deg for world in worlds])
    assert np.allclose(np.diff(turns), 1.8)
    assert layouts.possible_worlds(3, 0.1) == layouts.possible_worlds(3, 0.1)


def test_the_interval_holds_four_new_worlds_in_five() -> None:
    """Coverage of the prediction interval against normal draws (SciPy's generator as the outside)."""
    draws = stats.norm.rvs(size=(4, 20000), random_state=1)
    _, low, high = layouts.interval(draws)
    new = stats.norm.rvs(size=20000, random_state=2)
    assert float(((new >= low) & (new <= high)).mean()) == pytest.approx(0.8, abs=0.012)


def lightness(colour: str) -> float:
    """CIE 1976 L* of an sRGB colour (IEC 61966-2-1 and CIE 15, both from memory)."""
    levels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in levels]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16


@pytest.mark.parametrize(("name", "count"), [("grip", 6), ("chance", 5)])
def test_colour_runs_are_even_in_lightness(name: str, count: int) -> None:
    """Even and steep in lightness alone, so they read the same to every kind of colour vision and in grey."""
    css = (Path(__file__).parents[2] / "static/css/tokens.css").read_text(encoding="utf-8")
    run = [lightness(re.search(rf"--{name}-{k}: (#\w+);", css).group(1)) for k in range(count)]
    steps = -np.diff(run)
    assert steps.min() > 12.0 and steps.max() / steps.min() < 1.1


def test_lifted_and_laid_down_are_told_apart_by_equal_lightness_and_by_hue() -> None:
    css = (Path(__file__).parents[2] / "static/css/tokens.css").read_text(encoding="utf-8")
    colours = [re.search(rf"--change-{k}: (#\w+);", css).group(1) for k in range(7)]
    for k in range(3):
        assert lightness(colours[k]) == pytest.approx(lightness(colours[6 - k]), abs=1.0)
        # Orange against blue, which the common kinds of colour blindness keep apart.
        lifted, laid = (int(c[1:3], 16) - int(c[5:7], 16) for c in (colours[k], colours[6 - k]))
        assert lifted > 40 and laid < -40


def test_every_class_of_a_picture_has_a_colour() -> None:
    css = "".join(
        (Path(__file__).parents[2] / f"static/css/{name}.css").read_text(encoding="utf-8")
        for name in ("film", "pictures")
    )
    field = small_field()
    drawn = (
        path_svg(along_lane(solved(MU), MU), mu=MU)
        + traffic_svg(traffic(FILM, worn()))
        + chance_svg(field, present=LINE)
    )
    for used in set(re.findall(r'class="([^"]*)"', drawn)):
        assert any(f".{word}" in css for word in used.split()) or used.startswith("picture"), used


def test_unit_of_the_traffic_words_is_the_units_of_oil() -> None:
    after = FILM.copy()
    after[20, 19] -= 5.0 * UNIT_UM
    assert "(−5.0 units)" in traffic_svg(traffic(FILM, after))


def test_the_pictures_of_the_docs_stand_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn anew they carry every colour they use; the shipped ones are of the same kinds."""
    monkeypatch.setattr(sys, "argv", ["draw_physics.py", str(tmp_path)])
    draw_physics.main()
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == sorted(path.name for path in draw_physics.FOLDER.iterdir()) == sorted(draw_physics.NAMES)
    for folder in (tmp_path, draw_physics.FOLDER):
        for name in names:
            svg = (folder / name).read_text(encoding="utf-8")
            root = ET.fromstring(svg)  # noqa: S314  (our own output)
            style = root.find(f"{SVG}style").text
            assert set(re.findall(r"var\((--[\w-]+)\)", style)) <= set(re.findall(r"(--[\w-]+):", style))
            assert not re.search(r"\b(nan|inf)\b|https?://(?!www\.w3\.org)", svg)
            assert len(root.find(f"{SVG}desc").text) > 20


def test_where_one_layout_falls_in_the_gutter_nothing_is_compared_beyond() -> None:
    other = layouts.with_layout(BALL, pin_to_pap_in=1.0, drilling_angle_deg=20, val_angle_deg=20)
    lost = layouts.compare_layouts(BALL, other, RELEASE, Line(laydown_board=8, target_board=1), FILM)
    ends = min(lost.first.path.gutter_ft or 60.0, lost.second.path.gutter_ft or 60.0)
    assert ends < 60.0
    assert np.array_equal(np.isnan(lost.apart_board), lost.y_ft > ends)
    assert [d.name for d in lost.differences] == ["Flare, first to last track"]
    assert "falls in the gutter" in layouts_words(lost) and scatter_words(lost) == ""
    checked(layouts_svg(lost))
