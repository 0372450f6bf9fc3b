"""Balls as a reader may know them."""

from django import template

from arsenal.access import BallNames, Reader
from arsenal.models import Ball

register = template.Library()


@register.filter
def called_by(ball: Ball, reader: Reader) -> str:
    """The ball's name where the reader sees the ball, else whose it is: `{{ shot.ball|called_by:user }}`."""
    # Kept on the reader of this one request, so that a long list asks the database once.
    names: BallNames | None = getattr(reader, "_ball_names", None)
    if names is None:
        names = BallNames(reader)
        reader._ball_names = names  # type: ignore[union-attr]
    return names.of(ball.pk, ball.name, ball.bowler)
