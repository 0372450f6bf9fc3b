"""Who may see patterns; read by arsenal.access."""

from arsenal.access import Rule, register
from patterns.models import Pattern, PatternVersion

register(Pattern, Rule(team="team", shared=("shared_with_guests",), player_may_change=True))
register(
    PatternVersion,
    Rule(team="pattern__team", shared=("pattern__shared_with_guests",), player_may_change=True),
)
