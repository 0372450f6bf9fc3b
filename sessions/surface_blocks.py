"""Offers the bowler's blocks to the surface form and stores the one chosen.

The form lives in an app below, which knows no blocks; `sessions.apps` plugs these functions in.
"""

import uuid

from arsenal import surface_blocks
from arsenal.access import visible
from arsenal.models import Ball, Person, SurfaceEntry
from sessions.models import Block, SurfaceWork

NEWEST = 20


def choices(ball: Ball, person: Person) -> surface_blocks.Choices:
    """The newest blocks this ball's bowler is entered in, as (uuid, label)."""
    blocks = visible(person, Block).filter(entries__bowler=ball.bowler).select_related("event")
    return [(str(block.uuid), f"{block.event}: {block}") for block in blocks.order_by("-starts_at")[:NEWEST]]


def link(entry: SurfaceEntry, key: str) -> None:
    """Remember the block; once per entry, however often it is sent."""
    SurfaceWork.objects.get_or_create(
        surface_entry=entry, defaults={"before_block": Block.objects.get(uuid=uuid.UUID(key))}
    )


def in_play(ball: Ball) -> str:
    """The running block that has this ball in a bag; empty where none has."""
    running = Block.objects.filter(state=Block.State.OPEN, entries__bag__ball=ball).select_related("event")
    block = running.order_by("-starts_at", "-pk").first()
    return f"{block.event}: {block}" if block else ""


def plug_in() -> None:
    surface_blocks.register(choices, link, in_play)
