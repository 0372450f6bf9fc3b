"""Which block a surface entry was made for. Blocks live in an app above, which plugs itself in here."""

from collections.abc import Callable

from arsenal.models import Ball, Person, SurfaceEntry

Choices = list[tuple[str, str]]


class _Plug:
    """Until an app that knows blocks is there, there is none to choose."""

    choices: Callable[[Ball, Person], Choices] | None = None
    link: Callable[[SurfaceEntry, str], None] | None = None


def block_key(entry: SurfaceEntry | None) -> str:
    """The key of the block an entry was made for: its uuid, or nothing."""
    work = getattr(entry, "work", None)
    return str(work.before_block.uuid) if work else ""


def register(
    choices: Callable[[Ball, Person], Choices] | None, link: Callable[[SurfaceEntry, str], None] | None
) -> None:
    """`choices(ball, person)` lists (uuid, label) of blocks; `link(entry, uuid)` stores the one chosen."""
    _Plug.choices, _Plug.link = (
        staticmethod(choices) if choices else None,
        staticmethod(link) if link else None,
    )


def block_choices(ball: Ball, person: Person) -> Choices:
    return _Plug.choices(ball, person) if _Plug.choices else []


def link_block(entry: SurfaceEntry, key: str) -> None:
    if _Plug.link:
        _Plug.link(entry, key)
