"""Advice for the lanes a bowler is on: stay, move, change ball, and what to do to a surface later.

`advise` is a pure function of its request: equal content gives equal advice, bit for bit, whatever the ids,
the clock or the order in which the balls are listed; a left-hander's request is answered own-side.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from motion.advice_text import choice_reason, headline, pair_reason, state_reason, would_change_text
from motion.advice_types import (
    AdviceCancelled,
    AdviceRequest,
    Alternative,
    Candidate,
    Hand,
    LaneAdvice,
    LaneState,
)
from motion.belief import Layout, Worlds, representative
from motion.canonical import own_side_request
from motion.causes import arrival_of
from motion.compare import Compared, search
from motion.decide import HIGH, LOW, Gain, action_between, decide, ranked
from motion.errors import FloatArray
from motion.evidence import Evidence, gather, weigh
from motion.future import lasting
from motion.inputs import Line
from motion.lane_view import WORLDS as VIEW_WORLDS
from motion.lane_view import LookBack
from motion.line_error import line_error
from motion.lines import DEFAULT_TARGET_FT, feet_board, move_between
from motion.outcomes import FrameTable, frame_table
from motion.pair_contrast import contrast_of
from motion.replay import LaneHistory, replay
from motion.scene import Scene
from motion.streams import scatter_normals
from motion.surface_advice import SURFACE_CAUTIONS, surface_advice

__all__ = ["SURFACE_CAUTIONS", "AdviceCancelled", "advise"]


WORLDS = 32
SAMPLES = 64
SHOWN_ALTERNATIVES = 12

Progress = Callable[[float], None]
Cancelled = Callable[[], bool]


class _Work:
    """Counts chunks of work for the progress callback and stops between them when cancelled."""

    def __init__(self, chunks: int, progress: Progress | None, cancelled: Cancelled | None) -> None:
        self.chunks, self.done = max(chunks, 1), 0
        self.progress, self.cancelled = progress, cancelled

    def step(self) -> None:
        if self.cancelled is not None and self.cancelled():
            raise AdviceCancelled
        self.done += 1
        if self.progress is not None:
            self.progress(min(self.done / self.chunks, 1.0))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Setting:
    """What all lanes of one request share."""

    request: AdviceRequest  # own-side
    hand: Hand  # the bowler's real hand, for the answer
    worlds: Worlds
    effective: float
    evidence: list[Evidence]  # what the logged shots said, of all lanes
    table: FrameTable
    normals: FloatArray
    choices: list[Candidate]
    work: _Work


def advise(
    request: AdviceRequest,
    progress: Progress | None = None,
    cancelled: Cancelled | None = None,
    believed: Callable[[LookBack], None] | None = None,
) -> dict[str, LaneAdvice]:
    """Advise on every lane of the request marked for advice, keyed by lane id.

    progress: called with the share done, 0 to 1. cancelled: asked between chunks of work; when it answers
    True AdviceCancelled is raised. believed: given the lanes as they were worn and the worlds that the shots
    left, so that pictures of them need not be worked out again. What is missing for advice is named in the
    answer instead of raising; values out of range raise MotionError when the request is made. Units and
    signs: motion.advice_types.
    """
    own = own_side_request(request)
    asked = [lane for lane in own.lanes if lane.advise]
    choices = _choices(own)
    lots = sum(len(lane.traffic) // 4 + 1 for lane in own.lanes)
    work = _Work(lots + len(own.shots) + len(asked) * (2 * len(choices) + 20), progress, cancelled)
    table = frame_table(own.spares)
    histories = {lane.lane_id: replay(lane, work.step) for lane in own.lanes if lane.film_um is not None}
    evidence = gather(own.shots, histories, work.step)
    weighted = weigh(Layout(own), evidence, table, work.step)
    if believed is not None:
        believed(LookBack(histories=histories, worlds=representative(weighted, VIEW_WORLDS)))
    setting = _Setting(
        request=own,
        hand=request.hand,
        worlds=representative(weighted, WORLDS),
        effective=weighted.effective,
        evidence=evidence,
        table=table,
        normals=scatter_normals(SAMPLES),
        choices=choices,
        work=work,
    )
    result = {lane.lane_id: _lane_advice(setting, lane, histories.get(lane.lane_id)) for lane in asked}
    for left, right in _pairs(own, result):
        result |= _told_apart(setting, left, right, result, histories)
    if progress is not None:
        progress(1.0)
    return result


def _pairs(request: AdviceRequest, result: dict[str, LaneAdvice]) -> list[tuple[LaneState, LaneState]]:
    """The pairs both of whose lanes were advised on, left lane first, as they lie in the house."""
    advised = [
        lane for lane in request.lanes if lane.lane_id in result and result[lane.lane_id].status == "advised"
    ]
    return [
        (left, right)
        for place, left in enumerate(advised)
        for right in advised[place + 1 :]
        if left.pair_id == right.pair_id
    ]


def _told_apart(
    setting: _Setting,
    left: LaneState,
    right: LaneState,
    result: dict[str, LaneAdvice],
    histories: dict[str, LaneHistory],
) -> dict[str, LaneAdvice]:
    """The answers for a pair, each with a sentence on what tells the lanes apart where they differ."""
    answers = {lane.lane_id: result[lane.lane_id] for lane in (left, right)}
    if len({_what_to_do(answer) for answer in answers.values()}) == 1:
        return answers
    scenes = {lane.lane_id: _scenes(setting, lane, histories[lane.lane_id]) for lane in (left, right)}
    told = {}
    for here, other in ((left, right), (right, left)):
        present = _present(setting.request, here)
        mine, theirs = answers[here.lane_id], answers[other.lane_id]
        if present is None:
            return answers
        why = pair_reason(
            contrast_of(scenes[here.lane_id], scenes[other.lane_id], present, (LOW, HIGH)),
            is_left=here is left,
            same_line=mine.line_now == theirs.line_now,
            gains=(_best_gain(mine), _best_gain(theirs)),
            objective=setting.request.objective,
        )
        told[here.lane_id] = replace(mine, reasons=(*mine.reasons, why))
    return told


def _what_to_do(answer: LaneAdvice) -> tuple[object, ...]:
    moves = (answer.feet_move_boards, answer.target_move_boards)
    return (answer.action, answer.ball_id, answer.release_name, *moves)


def _best_gain(answer: LaneAdvice) -> float | None:
    """What the advised change brings, or the best one not advised; None where nothing else was in reach."""
    if answer.action != "stay":
        return answer.gain
    return answer.alternatives[0].gain if answer.alternatives else None


def _choices(request: AdviceRequest) -> list[Candidate]:
    """One candidate per usable ball and offered release, in an order of their content."""
    start = request.current_line or next(iter(request.current_lines.values()), None) or _SOME_LINE
    found = [
        Candidate(
            ball_id=ball.ball_id, ball=ball.spec, release_name=release.name, release=release.spec, line=start
        )
        for ball in request.balls
        if ball.usable
        for release in request.releases
        if release.offered
    ]
    return sorted(found, key=lambda choice: (repr(choice.ball), choice.release_name, choice.ball_id))


_SOME_LINE = Line(laydown_board=20.0, target_board=14.0, target_ft=DEFAULT_TARGET_FT)


def _present(request: AdviceRequest, lane: LaneState) -> Candidate | None:
    """What the bowler throws on this lane now, where ball, release and line are known."""
    ball = request.ball(request.current_ball_id)
    release = request.release(request.current_release)
    if release is None:
        release = next((item for item in request.releases if item.offered), None)
    line = request.line_on(lane.lane_id)
    if ball is None or release is None or line is None:
        return None
    return Candidate(
        ball_id=ball.ball_id, ball=ball.spec, release_name=release.name, release=release.spec, line=line
    )


def _missing(request: AdviceRequest, lane: LaneState) -> tuple[str, ...]:
    missing = []
    if lane.film_um is None:
        missing.append("the pattern sheet this lane was dressed with")
    if request.ball(request.current_ball_id) is None:
        missing.append("the ball thrown last")
    if not any(release.offered for release in request.releases):
        missing.append("a release with its speed, rev rate and axis")
    if request.line_on(lane.lane_id) is None:
        missing.append("the line played (laydown and target)")
    if not any(ball.usable for ball in request.balls):
        missing.append("a ball in the bag for the first ball")
    return tuple(missing)


def _lane_advice(setting: _Setting, lane: LaneState, history: LaneHistory | None) -> LaneAdvice:
    request, work = setting.request, setting.work
    present = _present(request, lane)
    missing = _missing(request, lane)
    if history is None or not setting.choices:
        return _not_enough(setting, lane, missing, ())
    scene, fresh_scene = _scenes(setting, lane, history)
    compared = search(
        scene,
        setting.choices,
        present,
        table=setting.table,
        objective=request.objective,
        normals=setting.normals,
        error=line_error(
            setting.evidence,
            lane.lane_id,
            lane.sheet_trust,
            None if present is None else present.line,
            scene.worlds.count,
        ),
        step=work.step,
    )
    if present is None:
        return _not_enough(setting, lane, missing, _without_present(setting, compared))
    stay, others = compared[0], compared[1:]
    gains = ranked(stay, others, request.objective)
    must_change = not _may_throw(request, present)
    advised = decide(stay, others, request.objective, must_change=must_change)
    return _answer(setting, lane, history, (scene, fresh_scene), stay, gains, advised, missing)


def _scenes(setting: _Setting, lane: LaneState, history: LaneHistory) -> tuple[Scene, Scene]:
    """A lane now and as dressed, in the believed worlds."""
    worlds = setting.worlds
    scales = (worlds.log_film[lane.lane_id], worlds.log_wear, worlds.log_carry)
    now, fresh = (star.mix(*scales) for star in (history.now, history.fresh))
    return (
        Scene(lane_id=lane.lane_id, films_um=now, worlds=worlds),
        Scene(lane_id=lane.lane_id, films_um=fresh, worlds=worlds),
    )


def _answer(
    setting: _Setting,
    lane: LaneState,
    history: LaneHistory,
    scenes: tuple[Scene, Scene],
    stay: Compared,
    gains: list[Gain],
    advised: Gain,
    missing: tuple[str, ...],
) -> LaneAdvice:
    request, present, chosen = setting.request, stay.candidate, advised.compared
    action = action_between(present, chosen.candidate)
    lasts = lasting(
        request,
        lane,
        scenes[0],
        chosen.candidate,
        table=setting.table,
        normals=setting.normals,
        step=setting.work.step,
    )
    surface = surface_advice(
        request,
        scenes,
        present,
        _name(request, present.ball_id),
        table=setting.table,
        normals=setting.normals,
        step=setting.work.step,
    )
    seen = arrival_of(history, *scenes, present, taught=bool(setting.evidence))
    why = choice_reason(
        action,
        stay,
        advised,
        gains[0] if gains else None,
        objective=request.objective,
        must_change=not _may_throw(request, present),
    )
    pocket_change = chosen.pocket_by_world - stay.pocket_by_world
    feet, target = move_between(present.line, chosen.candidate.line)
    name = _name(request, chosen.candidate.ball_id)
    return LaneAdvice(
        lane_id=lane.lane_id,
        status="advised",
        action=action,
        hand=setting.hand,
        headline=headline(action, present, chosen.candidate, name, request.gap_boards),
        reasons=(state_reason(seen), why),
        would_change=would_change_text(action, chosen, lasts),
        missing=missing,
        ball_id=chosen.candidate.ball_id,
        ball_name=name,
        release_name=chosen.candidate.release_name,
        line_now=present.line,
        line=chosen.candidate.line,
        feet_now_board=feet_board(present.line, request.gap_boards),
        feet_board=feet_board(chosen.candidate.line, request.gap_boards),
        feet_move_boards=feet,
        target_move_boards=target,
        breakpoint_board=chosen.outlook.breakpoint_board,
        breakpoint_ft=chosen.outlook.breakpoint_ft,
        now=stay.outlook,
        advised=chosen.outlook,
        pocket_now=stay.outlook.pocket,
        pocket_advised=chosen.outlook.pocket,
        pocket_gain_low=float(np.percentile(pocket_change, LOW)),
        pocket_gain_high=float(np.percentile(pocket_change, HIGH)),
        gain=advised.mean,
        gain_low=advised.low,
        gain_high=advised.high,
        chance_better=advised.chance,
        worst_tenth_now=stay.outlook.worst_tenth,
        worst_tenth_advised=chosen.outlook.worst_tenth,
        expected_frame_now=stay.outlook.expected_frame,
        expected_frame_advised=chosen.outlook.expected_frame,
        track_oil_left=None if seen.oil_lost is None else 1.0 - seen.oil_lost,
        lasts_games=lasts.games,
        alternatives=tuple(_alternative(request, gain) for gain in gains[:SHOWN_ALTERNATIVES]),
        surface=surface,
        worlds=WORLDS,
        effective_worlds=setting.effective,
        objective=request.objective,
    )


def _not_enough(
    setting: _Setting, lane: LaneState, missing: tuple[str, ...], alternatives: tuple[Alternative, ...]
) -> LaneAdvice:
    """An honest answer where something is not known: nothing is advised, what is missing is named."""
    request = setting.request
    ball = request.ball(request.current_ball_id)
    line = request.line_on(lane.lane_id)
    known = (
        "Balls and lines are compared below without it." if alternatives else "Nothing can be compared yet."
    )
    return LaneAdvice(
        lane_id=lane.lane_id,
        status="not enough known",
        action="stay",
        hand=setting.hand,
        headline="Not enough known to advise a change.",
        reasons=("Missing: " + "; ".join(missing) + ".", known),
        would_change="Enter what is missing, and advice will follow.",
        missing=missing,
        ball_id=None if ball is None else ball.ball_id,
        ball_name="" if ball is None else ball.name,
        release_name=request.current_release,
        line_now=line,
        line=line,
        feet_now_board=None if line is None else feet_board(line, request.gap_boards),
        feet_board=None if line is None else feet_board(line, request.gap_boards),
        alternatives=alternatives,
        worlds=WORLDS,
        effective_worlds=setting.effective,
        objective=request.objective,
    )


def _without_present(setting: _Setting, compared: list[Compared]) -> tuple[Alternative, ...]:
    """The balls by what their best line and release is worth, each set against the best of them all.

    For where no present line is known: a ball is listed once, on the line to begin with.
    """
    if not compared:
        return ()
    objective = setting.request.objective
    best = max(compared, key=lambda item: float(item.value(objective).mean()))
    gains = ranked(best, compared, objective)
    gains.sort(key=lambda gain: -gain.mean)
    of_ball: dict[str, Gain] = {}
    for gain in gains:
        of_ball.setdefault(gain.compared.candidate.ball_id, gain)
    return tuple(_alternative(setting.request, gain) for gain in list(of_ball.values())[:SHOWN_ALTERNATIVES])


def _alternative(request: AdviceRequest, gain: Gain) -> Alternative:
    candidate = gain.compared.candidate
    return Alternative(
        ball_id=candidate.ball_id,
        ball_name=_name(request, candidate.ball_id),
        release_name=candidate.release_name,
        line=candidate.line,
        feet_board=feet_board(candidate.line, request.gap_boards),
        outlook=gain.compared.outlook,
        gain=gain.mean,
        gain_low=gain.low,
        gain_high=gain.high,
    )


def _may_throw(request: AdviceRequest, choice: Candidate) -> bool:
    ball = request.ball(choice.ball_id)
    return ball is not None and ball.usable


def _name(request: AdviceRequest, ball_id: str) -> str:
    ball = request.ball(ball_id)
    return ball_id if ball is None else ball.name
