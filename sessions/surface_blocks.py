"""Offers the bowler's blocks to the surface form and stores the one chosen.

The form lives in an app below, which knows no blocks; `sessions.apps` plugs these two functions in.
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


def plug_in() -> None:
    surface_blocks.register(choices, link)
