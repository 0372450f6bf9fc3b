"""The call that DEVELOPERS.md shows runs as pasted and answers the reference problem."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.motion import reference_ball
from tests.motion.maps import FEET, uniform

ROOT = Path(__file__).resolve().parents[2]


def _snippet() -> str:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = re.search(r"A ball on a friction map.*?```python\n(.*?)```", text, re.DOTALL)
    assert found is not None
    return found.group(1)


def test_the_snippet_is_five_lines_that_run_in_a_fresh_interpreter_and_agree_with_an_integration():
    snippet = _snippet()
    assert len(snippet.splitlines()) == 5
    run = subprocess.run(
        [sys.executable, "-c", snippet], cwd=ROOT, capture_output=True, text=True, check=False, timeout=300
    )
    assert run.returncode == 0, run.stderr
    board, angle, speed, roll_ft, time_s, turns = (float(word) for word in run.stdout.split())
    want = reference_ball.solve(
        np.where(FEET < 40, uniform(0.04), uniform(0.20)),
        speed_mph=17.9,
        rev_rate_rpm=300.0,
        axis_rotation_deg=45.0,
        axis_tilt_deg=10.0,
        launch_deg=1.8,
        laydown_board=15.0,
        rg_in=2.5,
        diameter_in=8.55,
    )
    assert want.roll_ft is not None
    # Against SciPy's solve_ivp on the vector equations, to what the model description asks for.
    assert board == pytest.approx(want.board, abs=0.1)
    assert angle == pytest.approx(want.angle_deg, abs=0.05)
    assert speed == pytest.approx(want.speed_mph, abs=0.01)
    assert roll_ft == pytest.approx(want.roll_ft, abs=0.05)
    assert time_s == pytest.approx(want.time_s, abs=0.001)
    assert turns == pytest.approx(want.turns, abs=0.02)
