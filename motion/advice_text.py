"""The sentences of an advice: plain words around numbers that were computed. Boards are own-side."""

from __future__ import annotations

from motion.advice_types import Action, Candidate, Objective
from motion.causes import Arrival, Cause
from motion.compare import Compared
from motion.decide import COSTS, Gain
from motion.future import Lasting
from motion.lines import feet_board, move_between
from motion.pair_contrast import Contrast
from motion.pocket import POCKET_OFFSET_BOARDS
from motion.words import boards_words, games_words, percent, share_words, signed

NOTICED_BOARDS = 0.5  # smaller differences are not worth a word
NOTICED_SHARE = 0.05


def move_words(feet: float, target: float) -> str:
    """A move of feet and target: "feet 2 boards inside, target 1 board inside"."""
    return f"feet {_direction(feet)}, target {_direction(target)}"


def headline(action: Action, before: Candidate, after: Candidate, name: str, gap_boards: float) -> str:
    """What to do, in one short line."""
    feet, target = move_between(before.line, after.line)
    release = "" if before.release_name == after.release_name else f", {after.release_name} release"
    if action == "stay":
        return f"Stay: {name}, same line."
    where = f"feet {feet_board(after.line, gap_boards):g}, target {after.line.target_board:g}"
    if action == "move" and feet == 0.0 and target == 0.0:
        return f"Same line, {after.release_name} release."
    if action == "move":
        return f"Move {move_words(feet, target)} ({where}){release}."
    return f"Change to {name}: {where}{release}."


def arrival(offset_boards: float) -> str:
    """Where a line arrives against the middle of the pocket: "2 boards high"."""
    high = POCKET_OFFSET_BOARDS - offset_boards
    if abs(high) < NOTICED_BOARDS:
        return "in the pocket"
    return f"{boards_words(high)} {'high' if high > 0 else 'light'}"


def state_reason(seen: Arrival) -> str:
    """The first sentence: where the present line arrives and what makes it do so."""
    cause = _telling_cause(seen)
    if cause is not None:
        return _taught_reason(seen, cause)
    now = arrival(seen.offset_boards)
    moved = seen.offset_boards - seen.fresh_offset_boards
    if seen.oil_lost is None:
        return f"This line is expected to arrive {now}."
    if seen.oil_lost < NOTICED_SHARE and abs(moved) < NOTICED_BOARDS:
        return f"The lane along your track is nearly as dressed; this line is expected to arrive {now}."
    return _worn_reason(seen, now, moved)


def _telling_cause(seen: Arrival) -> Cause | None:
    """What the shots taught, where that rather than wear is what puts the line off the pocket."""
    off = seen.offset_boards - POCKET_OFFSET_BOARDS
    cause = seen.learned
    if cause is None or abs(off) < NOTICED_BOARDS or abs(cause.shift_boards) < NOTICED_BOARDS:
        return None
    side = 1.0 if off > 0.0 else -1.0
    by_wear = side * (seen.offset_boards - seen.fresh_offset_boards)
    # It has to make up most of the miss; a line that is off on the sheet already is not the lane's doing.
    return cause if side * cause.shift_boards > max(by_wear, 0.5 * abs(off)) else None


def _taught_reason(seen: Arrival, cause: Cause) -> str:
    now = arrival(seen.offset_boards)
    oil = ""
    if seen.oil_lost is not None and seen.oil_lost >= NOTICED_SHARE:
        oil = f"your track has lost {share_words(seen.oil_lost)} of its oil"
    why = _cause_words(cause)
    if cause.shift_boards > 0.0:
        return f"From your shots {why}, so this line arrives {now}{f' although {oil}' if oil else ''}."
    return f"From your shots {why}{f' and {oil}' if oil else ''}, so this line arrives {now}."


def _cause_words(cause: Cause) -> str:
    """What the shots say of one kind of unknown: "this lane plays slicker than its sheet (...)"."""
    light = cause.shift_boards > 0.0
    share = percent(abs(cause.amount))
    if cause.kind == "speed" and light == (cause.amount > 0.0):
        return f"you throw about {abs(cause.amount):.1f} mph {'faster' if light else 'slower'} than recorded"
    if cause.kind == "revs" and light == (cause.amount < 0.0):
        return f"you throw about {share} {'fewer' if light else 'more'} revs than recorded"
    if cause.kind == "ball" and light == (cause.amount < 0.0):
        grip = f"friction about {share} {'lower' if light else 'higher'}"
        return f"this ball hooks {'less' if light else 'more'} than its numbers say ({grip})"
    grip = (
        f" (friction about {share} {'lower' if light else 'higher'})" if light == (cause.amount < 0.0) else ""
    )
    return f"this lane plays {'slicker' if light else 'drier'} than its sheet{grip}"


def _worn_reason(seen: Arrival, now: str, moved: float) -> str:
    lost = f"has lost {share_words(max(seen.oil_lost or 0.0, 0.0))} of its oil since the dressing"
    off = seen.offset_boards - POCKET_OFFSET_BOARDS
    if abs(off) < NOTICED_BOARDS:
        was_in = abs(seen.fresh_offset_boards - POCKET_OFFSET_BOARDS) < NOTICED_BOARDS
        return f"Your track {lost}; this line {'still' if was_in else 'now'} arrives {now}."
    if abs(moved) < NOTICED_BOARDS:
        return f"Your track {lost}; this line arrives {now}, much as it did on the fresh oil."
    if off < 0.0 and moved < 0.0:
        return f"Your track {lost}, so this line now arrives {now}."
    if moved < 0.0:
        was = arrival(seen.fresh_offset_boards)
        return f"Your track {lost}, but this line was {was} on the fresh oil and is still {now}."
    lighter = f"{boards_words(moved)} lighter than on the fresh oil"
    return f"Your track {lost}, yet this line arrives {now}, {lighter}."


def choice_reason(
    action: Action,
    present: Compared,
    advised: Gain,
    best_other: Gain | None,
    *,
    objective: Objective = "score",
    must_change: bool = False,
) -> str:
    """The second sentence: why this choice and not another."""
    pocket = percent(present.outlook.pocket)
    if action == "stay":
        found = f"It finds the pocket on {pocket} of shots"
        if best_other is None:
            return f"{found}, and nothing else was in reach."
        if round(best_other.mean, 1) <= 0.0:
            return f"{found}, and nothing in reach looks better."
        return (
            f"{found}; the best change would bring {_gain_words(best_other, objective)}, "
            f"{_not_enough(best_other)}."
        )
    after = percent(advised.compared.outlook.pocket)
    start = "The ball thrown so far is put away; the change" if must_change else "The change"
    return f"{start} takes the pocket from {pocket} to {after} of shots, {_gain_words(advised, objective)}."


def pair_reason(
    seen: Contrast,
    *,
    is_left: bool,
    same_line: bool,
    gains: tuple[float | None, float | None],
    objective: Objective = "score",
) -> str:
    """Why the two lanes of a pair get different advice, from the side of one of them.

    is_left: whether this is the left lane. same_line: whether both are played on one line now. gains: pins a
    frame that the best change would bring here and on the other lane, None where nothing else was in reach.
    """
    other = "right" if is_left else "left"
    size = abs(seen.higher_boards)
    if size >= NOTICED_BOARDS:
        more = seen.higher_boards > 0.0
        sign = 1.0 if more else -1.0
        ends = sorted((sign * seen.low, sign * seen.high))
        low, high = (signed(end).lstrip("+") for end in ends)
        doubt = f"80 % likely {low} to {high}"
        since = sign * (seen.higher_boards - seen.fresh_boards)
        worn = ", most of it since the dressing" if since > 0.5 * size else ""
        return (
            f"The {other} lane hooks {'more' if more else 'less'}: {boards_words(size)} "
            f"{'higher' if more else 'lighter'} on this same line ({doubt}){worn}."
        )
    alike = f"This line arrives within half a board of the same place on the {other} lane"
    if not same_line:
        return f"{alike}; the advice differs because you play another line there."
    if None in gains:
        return f"{alike}; the advice differs because little else is in reach on one of them."
    here, there = (signed(gain or 0.0) for gain in gains)
    worth = f"the best change is worth {here} {_pins_words(objective)}"
    if here == there:
        return f"{alike}; {worth} on both, so what differs is which change that is and how surely it pays."
    return f"{alike}; the advice differs because {worth} here and {there} there."


def would_change_text(action: Action, chosen: Compared, lasting: Lasting | None) -> str:
    """What would put this advice in doubt, and how long it should hold."""
    far = max(1.5, round(0.85 * chosen.outlook.sd_offset_boards * 2.0) / 2.0)
    expected = chosen.outlook.mean_offset_boards
    aim = "the pocket" if abs(expected - POCKET_OFFSET_BOARDS) < NOTICED_BOARDS else "where it is expected"
    shots = "Two shots in a row" if action == "stay" else "Two shots in a row on the new line"
    text = f"{shots} more than {far:g} boards high or light of {aim} would put this in doubt."
    if lasting is None:
        return text
    if lasting.to_the_end:
        return f"{text} At the present wear it should last the rest of the block."
    games = games_words(lasting.games)
    lasts = f"{games} or more" if lasting.at_least else f"about {games}"
    return f"{text} At the present wear it should last {lasts}."


def _gain_words(gain: Gain, objective: Objective) -> str:
    """A gain with its interval: "+1.0 pins a frame (80 % likely −0.6 to +2.7)"."""
    likely = f"(80 % likely {signed(gain.low)} to {signed(gain.high)})"
    return f"{signed(gain.mean)} {_pins_words(objective)} {likely}"


def _pins_words(objective: Objective) -> str:
    """What a value counts: either objective is in pins a frame, over all frames or over the worst of them."""
    return "pins a frame in your worst tenth of frames" if objective == "floor" else "pins a frame"


def _not_enough(gain: Gain) -> str:
    """What a change that is not advised falls short of: what it must bring, or how surely."""
    must = f"the {gain.cost:.1f} pins a change of this size must bring"
    if gain.mean < gain.cost:
        return f"{'just short of' if f'{gain.mean:.1f}' == f'{gain.cost:.1f}' else 'less than'} {must}"
    # Rounded down: what is not sure enough never reads as the share that is needed.
    sure = f"{int(100.0 * gain.chance_pays + 1e-9)} %"
    return f"but only {sure} likely to bring {must}, and {percent(COSTS.chance_needed)} is needed"


def _direction(boards: float) -> str:
    if boards == 0.0:
        return "the same"
    return f"{boards_words(boards)} {'inside' if boards > 0 else 'outside'}"


# Every phrase in which a sentence of an advice addresses its bowler, and how another reader is told the same.
_TOLD_OF = (
    ("Your track", "The bowler’s track"),
    ("your track", "the bowler’s track"),
    ("From your shots", "From the bowler’s shots"),
    ("you throw about", "the bowler throws about"),
    ("in your worst tenth", "in the bowler’s worst tenth"),
    ("because you play another line", "because the bowler plays another line"),
)


def told_to_another(sentence: str) -> str:
    """A sentence of an advice for a reader who is not its bowler."""
    for said, told in _TOLD_OF:
        sentence = sentence.replace(said, told)
    return sentence
