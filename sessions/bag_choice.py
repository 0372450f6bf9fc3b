"""Which balls advice may name for a bowler in a block."""

from dataclasses import dataclass

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


def carried_by(entry: BlockEntry) -> list[Carried]:
    """The bag of this block; where none was packed, every ball the bowler keeps in the bag.

    A spare ball is offered for first balls only when there is nothing else.
    """
    put_away = dict(entry.bag.values_list("ball_id", "put_away"))
    balls = Ball.objects.filter(bowler=entry.bowler_id).select_related("layout")
    chosen = list(balls.filter(pk__in=put_away) if put_away else balls.filter(in_bag=True))
    out = _altered_in_competition(entry)
    usable = [ball for ball in chosen if not put_away.get(ball.pk) and ball.pk not in out]
    others = any(ball.role != BagRole.SPARE for ball in usable)
    return [
        Carried(
            ball=ball,
            put_away=bool(put_away.get(ball.pk)) or ball.pk in out,
            spare_ball=ball.role == BagRole.SPARE and others,
        )
        for ball in chosen
    ]


def _altered_in_competition(entry: BlockEntry) -> set[int]:
    """Balls whose surface was altered while this event was being scored: out until competition ends."""
    event = entry.block.event
    altered = SurfaceEntry.objects.filter(
        ball__bowler=entry.bowler_id,
        kind__in=ALTERING,
        window=WindowKind.IN_COMPETITION,
        done_at__date__gte=event.starts_on,
        done_at__date__lte=event.ends_on,
        corrected_by=None,
    )
    return set(altered.values_list("ball_id", flat=True))
