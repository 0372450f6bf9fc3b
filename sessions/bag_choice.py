"""Which balls advice may name for a bowler in a block."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from arsenal.models import Ball, SurfaceEntry
from arsenal.models.ball import BagRole
from arsenal.models.surface import ALTERING, WindowKind
from sessions.models import BlockEntry


@dataclass(frozen=True)
class Carried:
    """A ball carried in the block: put away by choice, or out because it was altered in competition."""

    ball: Ball
    put_away: bool
    spare_ball: bool


def carried_by(entry: BlockEntry, thrown: Ball | None = None) -> list[Carried]:
    """The bag of this block; where none was packed, every ball the bowler keeps in the bag.

    A ball thrown last without being packed is plainly at hand too. A spare ball is offered for first balls
    only when there is nothing else.
    """
    put_away = dict(entry.bag.values_list("ball_id", "put_away"))
    balls = Ball.objects.filter(bowler=entry.bowler_id).select_related("layout")
    chosen = list(balls.filter(pk__in=put_away) if put_away else balls.filter(in_bag=True))
    if thrown is not None and thrown not in chosen:
        chosen.append(thrown)
    away = {ball.pk for ball in chosen if put_away.get(ball.pk)} | _altered_in_competition(entry)
    others = any(ball.role != BagRole.SPARE for ball in chosen if ball.pk not in away)
    return [
        Carried(ball, put_away=ball.pk in away, spare_ball=ball.role == BagRole.SPARE and others)
        for ball in chosen
    ]


def _altered_in_competition(entry: BlockEntry) -> set[int]:
    """Balls altered in competition on a day of this event: out until it is over, whatever is done since.

    (USBC General Playing Rule 18, found.) Days are those of the event's own time zone.
    """
    event = entry.block.event
    first, last = (datetime.combine(day, time.min, event.zone) for day in (event.starts_on, event.ends_on))
    altered = SurfaceEntry.objects.filter(
        ball__bowler=entry.bowler_id,
        kind__in=ALTERING,
        window=WindowKind.IN_COMPETITION,
        done_at__gte=first,
        done_at__lt=last + timedelta(days=1),
        corrected_by=None,
    )
    return set(altered.values_list("ball_id", flat=True))
