"""Surface advice: only for windows the rules allow, never in competition, and only when it is worth it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from motion.advice import SURFACE_CAUTIONS, advise
from motion.advice_types import SurfaceWindow
from motion.errors import MotionError
from motion.inputs import Line
from motion.surface_advice import LEAST_GAIN, next_window, roughness_after
from tests.motion.advice_cases import BALLS, SOLID, made_up_film, request_on

LINE = Line(laydown_board=21.0, target_board=15.0)


def test_unset_rules_mean_before_the_event_only() -> None:
    before = next_window(request_on(LINE, now="before the event"))
    assert before.text == "before the event"
    assert "tournament director" in before.permission
    during = next_window(request_on(LINE, now="in competition"))
    assert during.text == "before the next event"
    assert "not stated" in during.permission and "tournament director" in during.permission


def test_before_the_event_stays_open_where_only_other_windows_are_stated() -> None:
    stated = (SurfaceWindow(moment="official practice", allowed=True),)
    found = next_window(request_on(LINE, now="before the event", windows=stated))
    assert found.text == "before the event" and "tournament director" in found.permission
    closed = (SurfaceWindow(moment="before the event", allowed=False), *stated)
    assert next_window(request_on(LINE, now="before the event", windows=closed)).text == "official practice"


def test_the_next_allowed_window_is_named_with_who_confirmed_it() -> None:
    windows = (
        SurfaceWindow(moment="before the event", allowed=True, upcoming=False),
        SurfaceWindow(moment="official practice", allowed=False),
        SurfaceWindow(
            moment="between rounds",
            allowed=True,
            by_machine=False,
            where="work room",
            confirmed_by="R. Adler",
        ),
    )
    found = next_window(request_on(LINE, windows=windows))
    assert found.text == "between rounds (work room)"
    assert found.by == "hand"
    assert "R. Adler" in found.permission
    assert not found.on_fresh_film


def test_rules_without_a_further_window_point_to_a_later_event() -> None:
    found = next_window(request_on(LINE, windows=(SurfaceWindow(moment="official practice", allowed=False),)))
    assert found.text == "before the next event"
    assert "no further window" in found.permission


def test_a_window_in_competition_cannot_be_allowed() -> None:
    with pytest.raises(MotionError, match="never altered in competition"):
        SurfaceWindow(moment="in competition", allowed=True)


@pytest.mark.parametrize("now", ["before the event", "official practice", "between rounds", "in competition"])
def test_surface_advice_never_names_competition_as_its_window(now: str) -> None:
    answer = advise(request_on(LINE, balls=BALLS[:1], now=now))["5"]
    assert answer.surface is not None
    assert "in competition" not in answer.surface.window
    assert answer.surface.cautions == SURFACE_CAUTIONS
    assert "tournament director" in answer.surface.permission


def test_a_light_step_pulls_toward_the_pad_without_reaching_it() -> None:
    rough = 0.9
    after = roughness_after(rough, 4000)
    assert 0.3 < after < rough
    assert roughness_after(0.2, 500) > 0.2


def test_a_step_that_is_surely_worth_it_is_suggested_with_its_grits_effect_and_reason() -> None:
    # A ball left far too rough for a flat lane nobody has bowled on: the more a ball hooks, the further apart
    # it arrives on the lanes this one may be, and one pad takes nearly half of such a surface away.
    line = Line(laydown_board=16.0, target_board=11.0)
    film = made_up_film(length_ft=50, middle_um=12.0, outside_um=11.0)
    ball = replace(BALLS[0], spec=replace(SOLID, roughness_um=8.0))
    surface = advise(request_on(line, film=film, balls=(ball,), now="before the event"))["5"].surface
    assert surface is not None and surface.suggested
    assert surface.from_grit == "about 100" and surface.to_grit == "500 pad, lightly"
    assert surface.effect.startswith("On the same line it would turn ") and " ft later" in surface.effect
    assert surface.effect.endswith(" lighter.")
    worth = re.match(r"Worth about (\d\.\d) pins a frame on this pattern as dressed\.", surface.why)
    assert worth is not None and float(worth[1]) >= LEAST_GAIN


@pytest.mark.parametrize("roughness_um", [0.15, 1.8])
def test_a_step_that_is_not_surely_worth_it_is_not_suggested(roughness_um: float) -> None:
    ball = replace(BALLS[0], spec=replace(SOLID, roughness_um=roughness_um))
    surface = advise(request_on(LINE, balls=(ball,), now="before the event"))["5"].surface
    assert surface is not None and not surface.suggested
    assert surface.to_grit == "" and surface.effect == ""
    assert surface.why == "No light step on Kestrel is surely better on this pattern as dressed."


def test_the_cautions_name_the_usual_dangers() -> None:
    text = " ".join(SURFACE_CAUTIONS)
    for word in ("eye protection", "respirator", "fresh air", "whole ball", "competition"):
        assert word in text
