"""Drawings used by the pages of the logbook."""

from django import template
from django.utils.safestring import SafeString, mark_safe

from sessions.advice_cards import Chance, LaneCard
from sessions.drawings import chance_bar_svg, lane_picture_svg

register = template.Library()


@register.simple_tag
def chance_bar(chance: Chance) -> SafeString:
    return mark_safe(chance_bar_svg(chance))  # noqa: S308  (numbers only, escaped where drawn)


@register.simple_tag
def lane_picture(card: LaneCard) -> SafeString:
    return mark_safe(lane_picture_svg(card))  # noqa: S308  (numbers only, escaped where drawn)
