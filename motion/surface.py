"""A ball's surface now, derived from its log: a roughness with a spread, not the number of the last pad.

Each sanding pulls the roughness toward the pad's own finish by a share; a scanner reading replaces it; games
smooth a sanded cover and dull a polished one toward a house level,
Ra(n) = Ra_inf + (Ra_0 - Ra_inf) exp(-n/n0) with n0 about 4 to 8 games (modelling practice, no published
figures). Every number of SurfaceModel is assumed unless it says otherwise. Corrected or withdrawn entries are
left out by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from motion.errors import MotionError, number, one_of
from motion.grit import check_grit, grit_to_ra_um, ra_um_to_grit, rms_um

Kind = Literal["sanded", "polished", "cleaned", "oil_removed", "machine", "scanner", "games_elsewhere"]
By = Literal["hand", "machine"]

KINDS: tuple[str, ...] = (
    "sanded",
    "polished",
    "cleaned",
    "oil_removed",
    "machine",
    "scanner",
    "games_elsewhere",
)
WORK_KINDS = frozenset(("sanded", "polished", "machine"))

CAUTIONS = (
    "Before competition, abrasive or polish goes on the whole ball, not the track only.",
    "Wear eye protection, and a particulate respirator when sanding dry; wet sanding keeps dust down.",
    "On a spinner: no loose sleeves, hair or gloves that can catch; hands flat; stop before changing pads.",
    "Cleaners and alcohol: fresh air, no flames or running motors, suitable gloves; lay rags flat to dry.",
)

# The log gives the roughness of a cover this range at most; it keeps the estimate inside what scanners read.
RA_MIN_UM, RA_MAX_UM = 0.05, 6.0


@dataclass(frozen=True, kw_only=True)
class SurfaceEvent:
    """One entry of the log. when: anything that sorts with the other entries and with the games.

    grits: pads in the order used. minutes: total over all pads, None when not noted. ra_um: a scanner's Ra.
    games: a count bowled elsewhere. Raises MotionError naming the field, the value and the range.
    """

    when: Any
    kind: Kind
    grits: tuple[int, ...] = ()
    by: By = "hand"
    wet: bool | None = None
    minutes: float | None = None
    ra_um: float | None = None
    games: float | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, KINDS)
        one_of("by", self.by, ("hand", "machine"))
        object.__setattr__(self, "grits", tuple(self.grits))
        if len(self.grits) > 12:
            raise MotionError("grits", len(self.grits), "at most 12 pads in one entry")
        for grit in self.grits:
            check_grit(grit, "grits")
        if self.kind == "sanded" and not self.grits:
            raise MotionError("grits", "none", "at least one pad for a sanding")
        if self.minutes is not None:
            number("minutes", self.minutes, 0.05, 120.0, "minutes")
        if self.kind == "scanner" and self.ra_um is None:
            raise MotionError("ra_um", None, "the scanner's Ra in µm")
        if self.ra_um is not None:
            number("ra_um", self.ra_um, RA_MIN_UM, RA_MAX_UM, "µm")
        if self.kind == "games_elsewhere" and self.games is None:
            raise MotionError("games", None, "how many games were bowled")
        if self.games is not None:
            number("games", self.games, 0.0, 500.0, "games")


@dataclass(frozen=True, kw_only=True)
class SurfaceModel:
    """What the derivation leans on; every value assumed unless its comment says otherwise."""

    # Nothing known of the cover yet: about a 2000 finish, anywhere from 500 to polished.
    start_ra_um: float = 0.57
    start_rel_sd: float = 0.5
    # Where long play leads; the belief may replace it by the house's own level.
    house_ra_um: float = 0.50
    house_rel_sd: float = 0.30
    # Modelling practice: about 4 to 8 games.
    decay_games: float = 6.0
    decay_games_sd: float = 2.0
    polish_ra_um: float = 0.15
    # Shares per minute as 1 - exp(-rate * minutes). The hand rate is calibrated: one published trial rubbed a
    # ball reading about 3000 with a 500 pad and it then read 1651 on average (USBC blog,
    # blogs.bowl.com/hot-off-the-press-issue-6, found), taken as two minutes because the trial states no time.
    hand_rate_per_min: float = 0.221
    machine_rate_per_min: float = 2.3
    hand_minutes: float = 2.0
    machine_minutes: float = 1.5
    # Water carries the cut-off material away: a slightly finer finish than the same pad dry.
    wet_finish_factor: float = 0.94
    dry_finish_factor: float = 1.06
    # A fine pad takes the peaks off a rough cover more slowly than a coarse pad scratches a smooth one.
    slow_smoothing_power: float = 0.5
    pad_rel_sd: float = 0.20
    share_rel_sd_hand: float = 0.40
    share_rel_sd_machine: float = 0.10
    scanner_rel_sd: float = 0.08
    oil_removal_rel_sd: float = 0.05


@dataclass(frozen=True, slots=True)
class SurfaceState:
    """Roughness now: Ra and its standard deviation [um], the same as RMS [um], and what led to it.

    ra_um is BallSpec.roughness_um. games_since counts games since sanding, polish or machine work (None: no
    such work logged). measured: a scanner reading stands behind it.
    """

    ra_um: float
    sd_um: float
    games_since: float | None
    last_work: SurfaceEvent | None
    measured: bool

    @property
    def rms_um(self) -> float:
        """RMS roughness [um], which the friction law works with."""
        return rms_um(self.ra_um)

    @property
    def grit(self) -> float:
        """The grit whose full finish would be this rough."""
        return ra_um_to_grit(self.ra_um)

    @property
    def grit_range(self) -> tuple[float, float]:
        """Coarse and fine end of one standard deviation, in grit."""
        spread = 1.0 + self.sd_um / self.ra_um
        return ra_um_to_grit(self.ra_um * spread), ra_um_to_grit(self.ra_um / spread)


GamesBowled = tuple[Any, float]

DEFAULT_MODEL = SurfaceModel()


def surface_now(
    events: Iterable[SurfaceEvent],
    games: Iterable[GamesBowled] = (),
    *,
    model: SurfaceModel = DEFAULT_MODEL,
    now: Any = None,
) -> SurfaceState:
    """The surface after all entries and games in time order; work comes before games of the same moment.

    events: the log, any order. games: (when, count) pairs bowled with this ball. now: when given, an entry
    after it raises MotionError ("when"). The state is an estimate; its spread says how good.
    """
    log = sorted(events, key=lambda event: event.when)
    games = list(games)
    mean, rel_sd = model.start_ra_um, model.start_rel_sd
    measured = False
    for step in _in_order(log, games, now):
        if isinstance(step, SurfaceEvent):
            mean, rel_sd = _after_event(mean, rel_sd, step, model)
            measured = step.kind == "scanner" or (measured and step.kind not in WORK_KINDS)
        else:
            mean, rel_sd = _after_games(mean, rel_sd, step, model)
    work = [event for event in log if event.kind in WORK_KINDS]
    return SurfaceState(
        ra_um=mean,
        sd_um=mean * rel_sd,
        games_since=games_since(log, games) if work else None,
        last_work=work[-1] if work else None,
        measured=measured,
    )


def games_since(events: Iterable[SurfaceEvent], games: Iterable[GamesBowled] = ()) -> float:
    """Games since the last sanding, polish or machine work, those elsewhere included; all games if none."""
    count = 0.0
    for step in _in_order(events, games, None):
        if not isinstance(step, SurfaceEvent):
            count += step
        elif step.kind in WORK_KINDS:
            count = 0.0
        elif step.kind == "games_elsewhere":
            count += step.games or 0.0
    return count


def describe_surface(state: SurfaceState) -> str:
    """The surface in one plain phrase with its spread: "about 1,700 grit, likely 1,300 to 2,200"."""
    coarse, fine = (_round_grit(grit) for grit in state.grit_range)
    middle = _round_grit(state.grit)
    origin = "from a scanner reading" if state.measured else "an estimate"
    if state.ra_um < grit_to_ra_um(5000):
        text = "as smooth as polish, finer than a 5,000 pad leaves it"
    else:
        finer = f"{fine:,}" if fine < 5000 else "polish"
        text = f"about {middle:,} grit, likely {coarse:,} to {finer}"
    since = "" if state.games_since is None else f"; {state.games_since:g} games since surface work"
    return f"{text} (Ra {state.ra_um:.2f} ± {state.sd_um:.2f} µm, {origin}){since}"


def _in_order(
    events: Iterable[SurfaceEvent], games: Iterable[GamesBowled], now: Any
) -> list[SurfaceEvent | float]:
    steps: list[tuple[Any, int, int, SurfaceEvent | float]] = []
    for event in events:
        if now is not None and event.when > now:
            raise MotionError("when", event.when, f"not in the future (now {now})")
        steps.append((event.when, 0, len(steps), event))
    for when, count in games:
        steps.append((when, 1, len(steps), number("games", count, 0.0, 500.0, "games")))
    # The running number keeps entries of one moment in the order they were given.
    return [step[3] for step in sorted(steps, key=lambda step: step[:3])]


def _after_event(mean: float, rel_sd: float, event: SurfaceEvent, model: SurfaceModel) -> tuple[float, float]:
    if event.kind == "scanner" and event.ra_um is not None:
        return event.ra_um, model.scanner_rel_sd
    if event.kind == "games_elsewhere":
        return _after_games(mean, rel_sd, event.games or 0.0, model)
    if event.kind == "oil_removed":
        # Heat or solvent is not meant to change the finish, but may lift a little of it.
        return mean, math.hypot(rel_sd, model.oil_removal_rel_sd)
    if event.kind == "machine" and not event.grits:
        # A machine without its pads noted: the finish is as unknown as on a new ball.
        return model.start_ra_um, model.start_rel_sd
    targets = [grit_to_ra_um(grit) * _wet_factor(event, model) for grit in event.grits]
    if event.kind == "polished":
        targets.append(model.polish_ra_um)
    machine = event.by == "machine" or event.kind == "machine"
    for target in targets:
        mean, rel_sd = _pulled(
            mean, rel_sd, target, _minutes(event, machine, len(targets), model), machine, model
        )
    return mean, rel_sd


def _minutes(event: SurfaceEvent, machine: bool, steps: int, model: SurfaceModel) -> float:
    if event.minutes is not None:
        return event.minutes / steps
    return model.machine_minutes if machine else model.hand_minutes


def _wet_factor(event: SurfaceEvent, model: SurfaceModel) -> float:
    if event.wet is None:
        return 1.0
    return model.wet_finish_factor if event.wet else model.dry_finish_factor


def _pulled(
    mean: float, rel_sd: float, target: float, minutes: float, machine: bool, model: SurfaceModel
) -> tuple[float, float]:
    """One pad: the logarithm of Ra moves toward the pad's by a share, and the spreads add up."""
    rate = model.machine_rate_per_min if machine else model.hand_rate_per_min
    if target < mean:
        rate *= (target / mean) ** model.slow_smoothing_power
    share = 1.0 - math.exp(-rate * minutes)
    gap = math.log(target / mean)
    share_sd = share * (1.0 - share) * (model.share_rel_sd_machine if machine else model.share_rel_sd_hand)
    spread = math.hypot((1.0 - share) * rel_sd, share * model.pad_rel_sd, share_sd * gap)
    return mean * math.exp(share * gap), spread


def _after_games(mean: float, rel_sd: float, count: float, model: SurfaceModel) -> tuple[float, float]:
    house = model.house_ra_um
    left = math.exp(-count / model.decay_games)
    after = house + (mean - house) * left
    rate_sd = left * count / model.decay_games * model.decay_games_sd / model.decay_games
    sd = math.hypot(mean * rel_sd * left, house * model.house_rel_sd * (1.0 - left), (mean - house) * rate_sd)
    return after, sd / after


def _round_grit(grit: float) -> int:
    step = 100 if grit >= 1000 else 20
    return round(grit / step) * step


# --- windows ----------------------------------------------------------------------------------------------

WindowVerdict = Literal["allowed", "not allowed", "ask the tournament director"]
AWAY = "away from any event"
WINDOW_MOMENTS: tuple[str, ...] = (
    AWAY,
    "before the event",
    "official practice",
    "between rounds",
    "in competition",
)


@dataclass(frozen=True, kw_only=True)
class WindowRule:
    """What an event's own rules say about altering surfaces at one moment."""

    moment: str
    allowed: bool
    by_hand: bool = True
    by_machine: bool = False
    confirmed_by: str = ""

    def __post_init__(self) -> None:
        one_of("moment", self.moment, WINDOW_MOMENTS)


@dataclass(frozen=True, slots=True)
class WindowAnswer:
    """Whether a surface may be altered then, and the sentence to show."""

    verdict: WindowVerdict
    text: str


def surface_window(rules: Sequence[WindowRule] | None, moment: str, by: By) -> WindowAnswer:
    """Whether a surface may be altered at that moment by hand or machine, under the event's own rules.

    rules None or silent about the moment: before the event only, otherwise ask. In competition never: a ball
    altered after scoring has begun is out until competition ends (USBC General Playing Rule 18,
    geusbc.org/usbc-changes-to-rule-18-altering-surfaces, found).
    """
    one_of("moment", moment, WINDOW_MOMENTS)
    one_of("by", by, ("hand", "machine"))
    if moment == AWAY:
        return WindowAnswer("allowed", "Away from any event a surface may be changed at will.")
    if moment == "in competition":
        return WindowAnswer(
            "not allowed",
            "Not in competition: a ball altered once scoring has begun is out until the competition is over.",
        )
    rule = next((rule for rule in rules or () if rule.moment == moment), None)
    if rule is None:
        if moment == "before the event":
            return WindowAnswer(
                "allowed",
                "The event has not stated its rules: taken as before the event only. "
                "Ask the tournament director to be sure.",
            )
        return WindowAnswer(
            "ask the tournament director",
            f"The event has not stated its rules for {moment}: ask the tournament director first.",
        )
    ways = [name for name, open_to in (("hand", rule.by_hand), ("machine", rule.by_machine)) if open_to]
    if not rule.allowed or by not in ways:
        how = f" by {by}" if rule.allowed else ""
        return WindowAnswer("not allowed", f"This event's rules do not allow it {moment}{how}.")
    confirmed = (
        f", confirmed by {rule.confirmed_by}" if rule.confirmed_by else ", not confirmed by anybody yet"
    )
    return WindowAnswer("allowed", f"This event's rules allow it {moment} by {by}{confirmed}.")
