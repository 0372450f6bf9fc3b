"""Whether a light surface step is worth making, and in which window the event's own rules allow it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from motion.advice_types import AdviceRequest, Candidate, SurfaceAdvice, SurfaceWindow
from motion.compare import Compared, coarse_lines, look_closely
from motion.decide import COSTS, gain_over
from motion.errors import FloatArray
from motion.grit import grit_to_ra_um, ra_um_to_grit
from motion.outcomes import FrameTable
from motion.scene import Scene
from motion.surface import CAUTIONS, SurfaceEvent, WindowRule, surface_now, surface_window
from motion.words import boards_words

SURFACE_CAUTIONS: tuple[str, ...] = (
    *CAUTIONS,
    "The rule book in force and the tournament director decide; a ball altered once scoring has begun is out "
    "until the competition is over.",
)

PADS = (500, 1000, 1500, 2000, 3000, 4000)  # grades sold as pads for balls; common practice
LEAST_GAIN = 0.25  # pins per frame; assumed
LEAST_TURN_FT, LEAST_ARRIVAL_BOARDS = 0.25, 0.25  # smaller differences are not worth a word
WORLDS = 12
SAMPLES = 32


@dataclass(frozen=True, kw_only=True)
class NextWindow:
    """The next window in which a surface may be changed, or a later event's."""

    text: str
    by: str
    permission: str
    on_fresh_film: bool


def next_window(request: AdviceRequest) -> NextWindow:
    """The first window of `request.windows` that is to come and allowed.

    Rules that nobody stated, all of them or those of the time before the event, allow only that time.
    """
    stated = {window.moment for window in request.windows or ()}
    if request.now == "before the event" and "before the event" not in stated:
        answer = surface_window(None, "before the event", "hand")
        return NextWindow(
            text="before the event", by="hand or machine", permission=answer.text, on_fresh_film=True
        )
    for window in request.windows or ():
        if window.upcoming and window.allowed and (window.by_hand or window.by_machine):
            by = _by(window)
            answer = surface_window([_rule(window)], window.moment, "machine" if by == "machine" else "hand")
            where = f" ({window.where})" if window.where else ""
            return NextWindow(
                text=window.moment + where,
                by=by,
                permission=answer.text + " " + _ASK,
                on_fresh_film=window.moment != "between rounds",
            )
    reason = (
        "This event has not stated its rules: taken as before the event only."
        if request.windows is None
        else "This event's rules leave no further window."
    )
    return NextWindow(
        text="before the next event",
        by="hand or machine",
        permission=f"{reason} {_ASK}",
        on_fresh_film=True,
    )


_ASK = "Ask the tournament director before altering a ball."


def surface_advice(
    request: AdviceRequest,
    scenes: tuple[Scene, Scene],
    present: Candidate,
    name: str,
    *,
    table: FrameTable,
    normals: FloatArray,
    step: Callable[[], None] = lambda: None,
) -> SurfaceAdvice:
    """Weigh one light step finer and one coarser on the ball in play, on the film as it will be then.

    scenes: the lane now and as dressed. Never for use inside competition: the window says when.
    """
    window = next_window(request)
    scene = (scenes[1] if window.on_fresh_film else scenes[0]).first(WORLDS)
    now = _best(scene, present, table, request, normals)
    step()
    options: list[tuple[float, float, int, Compared]] = []
    for pad in _light_steps(present.ball.roughness_um):
        changed = replace(
            present, ball=replace(present.ball, roughness_um=roughness_after(present.ball.roughness_um, pad))
        )
        then = _best(scene, changed, table, request, normals)
        gain = gain_over(now, then, request.objective)
        options.append((gain.mean, gain.chance, pad, then))
        step()
    best_gain, chance, pad, then = max(options, key=lambda option: (option[0], -option[2]))
    counted = "in your worst tenth of frames" if request.objective == "floor" else "a frame"
    lane_words = "on this pattern as dressed" if window.on_fresh_film else "on the lanes as they are now"
    from_grit = f"about {_rounded(ra_um_to_grit(present.ball.roughness_um)):,}"
    suggested = best_gain >= LEAST_GAIN and chance >= COSTS.chance_needed
    if not suggested:
        return SurfaceAdvice(
            suggested=False,
            window=window.text,
            ball_id=present.ball_id,
            ball_name=name,
            from_grit=from_grit,
            to_grit="",
            by=window.by,
            effect="",
            why=f"No light step on {name} is surely better {lane_words}.",
            permission=window.permission,
            cautions=SURFACE_CAUTIONS,
        )
    return SurfaceAdvice(
        suggested=True,
        window=window.text,
        ball_id=present.ball_id,
        ball_name=name,
        from_grit=from_grit,
        to_grit=f"{pad:,} pad, lightly",
        by=window.by,
        effect=_effect(now, _same_line(scene, then, now, table, normals)),
        why=(
            f"Worth about {best_gain:.1f} pins {counted} {lane_words}. "
            "A light change is preferred: tomorrow's lane is not today's."
        ),
        permission=window.permission,
        cautions=SURFACE_CAUTIONS,
    )


def roughness_after(roughness_um: float, pad: int) -> float:
    """Ra [um] after a light step by hand with one pad, wet, as the surface log would derive it."""
    events = [
        SurfaceEvent(when=0, kind="scanner", ra_um=float(np.clip(roughness_um, 0.05, 6.0))),
        SurfaceEvent(when=1, kind="sanded", grits=(pad,), by="hand", wet=True),
    ]
    return surface_now(events).ra_um


def _light_steps(roughness_um: float) -> list[int]:
    """The nearest pad clearly finer and the nearest clearly coarser than the surface now."""
    finer = [pad for pad in PADS if grit_to_ra_um(pad) < 0.9 * roughness_um]
    coarser = [pad for pad in PADS if grit_to_ra_um(pad) > 1.1 * roughness_um]
    return [*finer[:1], *coarser[-1:]]


def _best(
    scene: Scene, choice: Candidate, table: FrameTable, request: AdviceRequest, normals: FloatArray
) -> Compared:
    """The choice on the best line found for it on this film."""
    found = coarse_lines(scene, choice, choice.line, table, request.objective)[:3]
    seen = [look_closely(scene, candidate, normals[:SAMPLES], table) for candidate in found or [choice]]
    return max(seen, key=lambda compared: float(compared.value(request.objective).mean()))


def _same_line(
    scene: Scene, then: Compared, now: Compared, table: FrameTable, normals: FloatArray
) -> Compared:
    return look_closely(scene, replace(then.candidate, line=now.candidate.line), normals[:SAMPLES], table)


def _effect(now: Compared, then: Compared) -> str:
    later = then.outlook.breakpoint_ft - now.outlook.breakpoint_ft
    high = now.outlook.mean_offset_boards - then.outlook.mean_offset_boards
    turn = "turn at the same place"
    if abs(later) >= LEAST_TURN_FT:
        turn = f"turn {abs(later):.1f} ft {'later' if later > 0 else 'earlier'}"
    arrive = "arrive at the same place"
    if abs(high) >= LEAST_ARRIVAL_BOARDS:
        arrive = f"arrive {boards_words(high)} {'higher' if high > 0 else 'lighter'}"
    return f"On the same line it would {turn} and {arrive}."


def _by(window: SurfaceWindow) -> str:
    if window.by_hand and window.by_machine:
        return "hand or machine"
    return "hand" if window.by_hand else "machine"


def _rule(window: SurfaceWindow) -> WindowRule:
    return WindowRule(
        moment=window.moment,
        allowed=window.allowed,
        by_hand=window.by_hand,
        by_machine=window.by_machine,
        confirmed_by=window.confirmed_by,
    )


def _rounded(grit: float) -> int:
    return round(grit / 100.0) * 100
