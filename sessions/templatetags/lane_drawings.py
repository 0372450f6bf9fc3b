"""Drawings used by the pages of the logbook."""

from typing import TYPE_CHECKING

from django import template
from django.utils.safestring import SafeString, mark_safe

from sessions.advice_cards import Chance, LaneCard
from sessions.drawings import chance_bar_svg, game_paths_svg, lane_picture_svg

if TYPE_CHECKING:
    from sessions.shot_paths import LanePaths

register = template.Library()


@register.simple_tag
def chance_bar(chance: Chance) -> SafeString:
    return mark_safe(chance_bar_svg(chance))  # noqa: S308  (numbers only, escaped where drawn)


@register.simple_tag
def lane_picture(card: LaneCard) -> SafeString:
    return mark_safe(lane_picture_svg(card))  # noqa: S308  (numbers only, escaped where drawn)


@register.simple_tag
def game_paths(lane: "LanePaths") -> SafeString:
    return mark_safe(game_paths_svg(lane))  # noqa: S308  (numbers only, escaped where drawn)
