"""docs/physics.md shows the parameters and the friction table the code really has."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from motion.friction import mu_curve
from motion.inputs import BallSpec
from motion.parameters import as_markdown
from motion.units import UNIT_UM

TEXT = (Path(__file__).resolve().parents[2] / "docs" / "physics.md").read_text(encoding="utf-8")


def test_the_parameter_table_is_the_one_in_the_code():
    shown = re.search(r"<!-- parameters -->\n(.*)<!-- /parameters -->", TEXT, re.DOTALL)
    assert shown is not None and shown.group(1) == as_markdown()


@pytest.mark.parametrize(
    ("name", "cover", "roughness_um"),
    [
        ("reactive solid, Ra 0.9", "reactive_solid", 0.9),
        ("reactive solid, Ra 0.5", "reactive_solid", 0.5),
        ("reactive pearl, Ra 0.2", "reactive_pearl", 0.2),
        ("urethane, Ra 0.6", "urethane", 0.6),
        ("plastic, Ra 0.08", "plastic", 0.08),
    ],
)
def test_the_friction_table_is_what_the_law_gives(name, cover, roughness_um):
    row = next(line for line in TEXT.splitlines() if line.startswith(f"| {name}"))
    shown = [float(cell) for cell in row.strip("|").split("|")[1:]]
    film = np.array([0, 3, 5, 8, 12, 15, 20, 30, 40, 60, 80]) * UNIT_UM
    ball = BallSpec(weight_lb=15.0, rg_in=2.5, cover=cover, roughness_um=roughness_um)
    assert shown == pytest.approx(mu_curve(film, ball), abs=0.0006)
