"""Measure the pin table and draw its carry for docs/pins.md: python script/report_pins.py

Writes docs/pins_carry.svg and prints the tables of the page: carry and leaves by offset and angle, and how
far the table is from the model between its nodes.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from motion.leaves import FULL_RACK, dashed, is_split, is_washout, mask_of
from motion.pins import simulate_aimed, simulate_rack
from motion.rack_table import RACK_SAMPLES, SPARE_AIMS, SPARE_ANGLES, SPARE_SAMPLES, RackTable, rack_table

PICTURE = Path(__file__).resolve().parent.parent / "docs" / "pins_carry.svg"
SHOWN_OFFSETS = (-3.5, -2.5, -1.5, -0.5, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0)
SHOWN_ANGLES = (0, 2, 4, 5, 6, 8, 10)
BALLS = 2000
LEAVES = ((10,), (7,), (6, 10), (3, 10), (2, 4, 5, 8), (1, 2, 10), (4, 6, 7, 10))
INK, GREY, PUBLISHED = "#222", "#888", "#cfe3d4"
LINES = {2: "#8a6d3b", 4: "#2b6cb0", 6: "#b5352a", 8: "#6b46a1"}


def carry_table(table: RackTable) -> None:
    """Strike share in percent by offset and angle, then the leaves at 5 degrees."""
    print("| board | offset | " + " | ".join(f"{angle}°" for angle in SHOWN_ANGLES) + " |")
    print("| --- " * (len(SHOWN_ANGLES) + 2) + "|")
    for offset in SHOWN_OFFSETS:
        row = int(np.flatnonzero(table.offset_boards == offset)[0])
        shares = " | ".join(f"{100 * table.share[row, angle, 0]:.0f}" for angle in SHOWN_ANGLES)
        print(f"| {20 - offset:g} | {offset:g} | {shares} |")
    print("\n| offset | most common at 5 degrees, percent | split | washout |\n| --- | --- | --- | --- |")
    split = np.array([is_split(mask) for mask in range(FULL_RACK + 1)])
    washout = np.array([is_washout(mask) for mask in range(FULL_RACK + 1)])
    for offset in SHOWN_OFFSETS:
        share = table.share[int(np.flatnonzero(table.offset_boards == offset)[0]), 5]
        common = ", ".join(
            f"{dashed(int(mask)) or 'strike'} {100 * share[mask]:.0f}" for mask in np.argsort(-share)[:7]
        )
        print(
            f"| {offset:g} | {common} | {100 * share[split].sum():.0f} | {100 * share[washout].sum():.0f} |"
        )


def between_nodes(table: RackTable) -> None:
    """Root mean square distance of the table from the model half-way between nodes, beside mere chance."""
    apart: dict[str, list[tuple[float, float]]] = {"strike": [], "10": [], "4": [], "6-10": []}
    masks = {"strike": 0, "10": mask_of((10,)), "4": mask_of((4,)), "6-10": mask_of((6, 10))}
    for offset in np.arange(-3.875, 6.0, 0.25):
        for angle in (2.5, 4.5, 6.5):
            left = simulate_rack(offset_boards=offset, entry_angle_deg=angle, seed=5, samples=BALLS)
            said = table.look(table.share, np.array([offset]), np.array([angle]))[0]
            for name, mask in masks.items():
                share = float(said[mask])
                # A mean of four nodes has a quarter of one's variance.
                chance = share * (1.0 - share) * (1.0 / BALLS + 0.25 / RACK_SAMPLES)
                apart[name].append((share - float((left == mask).mean()), chance))
    print(
        "\n| full rack, half-way in both | rms apart | by chance alone | largest |\n| --- | --- | --- | --- |"
    )
    for name, pairs in apart.items():
        print(_apart_row(name, pairs))
    print("\n| leave, cleared, half-way in both | rms apart | by chance alone | largest |")
    print("| --- | --- | --- | --- |")
    for pins in LEAVES:
        print(_apart_row(dashed(mask_of(pins)), _leave_apart(table, pins)))


def _leave_apart(table: RackTable, pins: tuple[int, ...]) -> list[tuple[float, float]]:
    after = table.after(mask_of(pins))
    cleared = after.share[:, :, after.masks == 0].sum(axis=2)
    pairs = []
    for row in range(len(SPARE_AIMS) - 1):
        for column in (2, 3):
            said = float(cleared[row : row + 2, column : column + 2].mean())
            aim = 0.5 * (SPARE_AIMS[row] + SPARE_AIMS[row + 1])
            angle = 0.5 * (SPARE_ANGLES[column] + SPARE_ANGLES[column + 1])
            left = simulate_aimed(mask_of(pins), aim_boards=aim, entry_angle_deg=angle, seed=6, samples=400)
            share = float((left == 0).mean())
            if 0.0 < said < 1.0 or 0.0 < share < 1.0:
                middle = 0.5 * (said + share)
                pairs.append((said - share, middle * (1.0 - middle) * (1 / 400 + 0.25 / SPARE_SAMPLES)))
    return pairs


def _apart_row(name: str, pairs: list[tuple[float, float]]) -> str:
    apart, chance = np.array(pairs).T
    rms, mere = np.sqrt((apart**2).mean()), np.sqrt(chance.mean())
    return f"| {name} | {rms:.3f} | {mere:.3f} | {np.abs(apart).max():.3f} |"


def draw(table: RackTable) -> str:
    """Strikes by offset for four angles, the published good range shaded, as an SVG picture."""
    left, top, wide, high, low, top_offset = 52.0, 24.0, 560.0, 260.0, -5.0, 7.0

    def x(offset: float) -> float:
        return left + (offset - low) / (top_offset - low) * wide

    def y(share: float) -> float:
        return top + (1.0 - share) * high

    parts = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 340" role="img" font-family="sans-serif" '
        'font-size="12">',
        "<title>Share of strikes in the pin model by board at the head pin and entry angle</title>",
        "<desc>A right-hander's boards run from right to left as on the lane. Shaded: boards 17 to 18, the "
        "published good range. The model peaks there for 4 to 8 degrees; a second, lower hill is the crossed "
        "over hit.</desc>",
        '<rect width="640" height="340" fill="#fff"/>',
        f'<rect x="{x(2):.1f}" y="{top}" width="{x(3) - x(2):.1f}" height="{high}" fill="{PUBLISHED}"/>',
    ]
    for tenth in range(0, 11, 2):
        level = y(tenth / 10)
        parts.append(
            f'<line x1="{left}" y1="{level:.1f}" x2="{left + wide}" y2="{level:.1f}" stroke="#ddd"/>'
            f'<text x="{left - 8}" y="{level + 4:.1f}" text-anchor="end" fill="{INK}">{10 * tenth} %</text>'
        )
    for offset in range(int(low), int(top_offset) + 1):
        parts.append(
            f'<text x="{x(offset):.1f}" y="{top + high + 18}" text-anchor="middle" fill="{INK}">'
            f"{20 - offset}</text>"
        )
    parts.append(
        f'<text x="{left + wide / 2}" y="{top + high + 38}" text-anchor="middle" fill="{INK}">board of the '
        "ball's centre when it touches the head pin (right-hander)</text>"
    )
    parts.append(f'<text x="{x(2.5):.1f}" y="{top - 8}" text-anchor="middle" fill="{GREY}">published</text>')
    rows = (table.offset_boards >= low) & (table.offset_boards <= top_offset)
    for place, (angle, colour) in enumerate(LINES.items()):
        column = int(np.flatnonzero(table.entry_angle_deg == angle)[0])
        points = " ".join(
            f"{x(offset):.1f},{y(share):.1f}"
            for offset, share in zip(table.offset_boards[rows], table.share[rows, column, 0], strict=True)
        )
        parts.append(f'<polyline points="{points}" fill="none" stroke="{colour}" stroke-width="2"/>')
        parts.append(f'<text x="{left + 10}" y="{top + 16 + 16 * place}" fill="{colour}">{angle}°</text>')
    return "\n".join([*parts, "</svg>", ""])


if __name__ == "__main__":
    shipped = rack_table()
    PICTURE.write_text(draw(shipped), encoding="utf-8")
    carry_table(shipped)
    between_nodes(shipped)
