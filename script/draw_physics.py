"""Draw the pictures of docs/physics.md: python script/draw_physics.py [folder]

One made-up ball, release and pattern: a path with what it meets, the film before and after sixty balls, the
pocket over lines, and two layouts of the ball. Each picture carries its colours, so that it stands alone.
"""

import re
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from motion.draws import release_samples
from motion.engine import march
from motion.errors import FloatArray
from motion.film import Sheet, film_from_sheet
from motion.friction import mu_map
from motion.inputs import BallSpec, Line, ReleaseSpec, Scatter
from motion.path import solve_path
from motion.pictures.along import along_lane, path_svg
from motion.pictures.chance import miss_room, pocket_field
from motion.pictures.chance_svg import chance_svg
from motion.pictures.layouts import compare_layouts, with_layout
from motion.pictures.layouts_svg import layouts_svg
from motion.pictures.traffic import traffic, traffic_svg
from motion.streams import scatter_normals
from motion.wear import Passes, apply_traffic, lift_and_kept

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
NAMES = ("path.svg", "traffic.svg", "pocket.svg", "layouts.svg")
STYLES = ("tokens", "film", "pictures")

BALL = BallSpec(
    weight_lb=15.0,
    rg_in=2.50,
    differential_in=0.050,
    cover="reactive_solid",
    roughness_um=0.5,
    pin_to_pap_in=4.5,
    drilling_angle_deg=60.0,
    val_angle_deg=40.0,
)
OTHER_LAYOUT = {"pin_to_pap_in": 1.5, "drilling_angle_deg": 25.0, "val_angle_deg": 20.0}
RELEASE = ReleaseSpec(
    speed_mph=17.0,
    rev_rate_rpm=350.0,
    axis_rotation_deg=47.0,
    axis_tilt_deg=12.0,
    scatter=Scatter(sd_launch_deg=0.15, sd_laydown_boards=0.6),
)
LOTS, LOT = 4, 16  # balls between two looks at how the lane has changed


def pattern_um() -> FloatArray:
    """A made-up house-like film of 40 ft: 8 to 1, thinning toward the end."""
    from_middle = np.abs(np.arange(1, 40) - 20)
    across = np.clip(1.0 - (from_middle - 8) / 9.0, 0.125, 1.0)
    along = np.array([27.0, 24.0, 16.0, 9.0, 5.0])
    oil = along[:, None] * across
    sheet = Sheet(length_ft=40.0, distances_ft=np.array([0.0, 8.0, 22.0, 34.0, 40.0]), oil=oil)
    return film_from_sheet(sheet)


def worn(film_um: FloatArray, line: Line) -> FloatArray:
    """The film after LOTS x LOT balls down one line with the release's own scatter."""
    lift, kept = lift_and_kept(BALL)
    draws = release_samples(RELEASE, scatter_normals(LOTS * LOT))
    for lot in range(LOTS):
        some = slice(lot * LOT, (lot + 1) * LOT)
        tracks = march(
            mu_map(film_um, BALL),
            draws.speed_mph[some],
            draws.rev_rate_rpm[some],
            draws.axis_rotation_deg[some],
            line.launch_deg + draws.launch_off_deg[some],
            line.foul_line_board + draws.laydown_off_boards[some],
            BALL.rg_in,
            BALL.diameter_in,
            axis_tilt_deg=draws.axis_tilt_deg[some],
            tracks=True,
        ).tracks()
        passes = Passes(track_board=tracks, lift=np.full(LOT, lift), kept=np.full(LOT, kept))
        film_um = apply_traffic(film_um, passes).film_um
    return film_um


def pictures() -> dict[str, str]:
    """Every picture by its file's name."""
    film_um = pattern_um()
    mu = mu_map(film_um, BALL)
    field = pocket_field(mu, release=RELEASE, rg_in=BALL.rg_in, diameter_in=BALL.diameter_in)
    line = field.best or Line(laydown_board=22.0, target_board=15.0)
    room = miss_room(mu, line, release=RELEASE, rg_in=BALL.rg_in, diameter_in=BALL.diameter_in)
    path = solve_path(
        mu,
        speed_mph=RELEASE.speed_mph,
        rev_rate_rpm=RELEASE.rev_rate_rpm,
        axis_rotation_deg=RELEASE.axis_rotation_deg,
        axis_tilt_deg=RELEASE.axis_tilt_deg,
        launch_deg=line.launch_deg,
        laydown_board=line.foul_line_board,
        rg_in=BALL.rg_in,
        diameter_in=BALL.diameter_in,
    )
    two = compare_layouts(BALL, with_layout(BALL, **OTHER_LAYOUT), RELEASE, line, film_um, film_scale_sd=0.10)
    drawn = (
        path_svg(along_lane(path, mu), mu=mu),
        traffic_svg(traffic(film_um, worn(film_um, line))),
        chance_svg(field, room),
        layouts_svg(two),
    )
    return dict(zip(NAMES, drawn, strict=True))


def standing_alone(svg: str) -> str:
    """The picture on paper, with the rules of the style sheets that it uses."""
    rules = "".join((ROOT / f"static/css/{name}.css").read_text(encoding="utf-8") for name in STYLES)
    rules = re.sub(r"/\*.*?\*/", "", rules, flags=re.DOTALL)
    dark = rules.index("@media")
    light = rules[:dark] + rules[_end_of_block(rules, dark) :]
    used = set(re.findall(r"[\w-]+", " ".join(re.findall(r'class="([^"]*)"', svg))))
    kept = [rule for rule in re.findall(r"[^{}]+\{[^{}]*\}", light) if _concerns(rule, used)]
    style = re.sub(r"\s+", " ", "".join(kept)).strip()
    variables = set(re.findall(r"var\((--[\w-]+)\)", re.sub(r":root \{[^}]*\}", "", style)))
    style = re.sub(r" ?(--[\w-]+): [^;]+;", lambda m: m.group() if m.group(1) in variables else "", style)
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert box is not None  # noqa: S101  (every picture has one)
    paper = f'<rect x="0" y="0" width="{box.group(1)}" height="{box.group(2)}" fill="#ffffff"/>'
    return (
        svg.replace("<title>", f"<style>{style}</style><title>", 1).replace("</desc>", f"</desc>{paper}", 1)
        + "\n"
    )


def _end_of_block(text: str, start: int) -> int:
    depth = 0
    for at in range(text.index("{", start), len(text)):
        depth += {"{": 1, "}": -1}.get(text[at], 0)
        if depth == 0:
            return at + 1
    return len(text)


def _concerns(rule: str, used: set[str]) -> bool:
    selector = rule.partition("{")[0].strip()
    names = re.findall(r"\.([\w-]+)", selector)
    return selector == ":root" or (
        bool(names) and any(set(re.findall(r"\.([\w-]+)", one)) <= used for one in selector.split(","))
    )


def main() -> int:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for name, svg in pictures().items():
        (folder / name).write_text(standing_alone(svg), encoding="utf-8")
        print(f"wrote {name}, {(folder / name).stat().st_size // 1000} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main())
