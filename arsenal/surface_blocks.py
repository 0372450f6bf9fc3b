"""Which block a surface entry was made for. Blocks live in an app above, which plugs itself in here."""

from collections.abc import Callable

from arsenal.models import Ball, Person, SurfaceEntry

Choices = list[tuple[str, str]]


class _Plug:
    """Until an app that knows blocks is there, there is none to choose."""

    choices: Callable[[Ball, Person], Choices] | None = None
    link: Callable[[SurfaceEntry, str], None] | None = None
    in_play: Callable[[Ball], str] | None = None


def block_key(entry: SurfaceEntry | None) -> str:
    """The key of the block an entry was made for: its uuid, or nothing."""
    work = getattr(entry, "work", None)
    return str(work.before_block.uuid) if work else ""


def register(
    choices: Callable[[Ball, Person], Choices] | None,
    link: Callable[[SurfaceEntry, str], None] | None,
    in_play: Callable[[Ball], str] | None = None,
) -> None:
    """`choices(ball, person)` lists (uuid, label) of blocks; `link(entry, uuid)` stores the one chosen.

    `in_play(ball)` names the running block that the ball is in the bag of, or is empty.
    """
    _Plug.choices = staticmethod(choices) if choices else None
    _Plug.link = staticmethod(link) if link else None
    _Plug.in_play = staticmethod(in_play) if in_play else None


def block_choices(ball: Ball, person: Person) -> Choices:
    return _Plug.choices(ball, person) if _Plug.choices else []


def link_block(entry: SurfaceEntry, key: str) -> None:
    if _Plug.link:
        _Plug.link(entry, key)


def in_play(ball: Ball) -> str:
    return _Plug.in_play(ball) if _Plug.in_play else ""
