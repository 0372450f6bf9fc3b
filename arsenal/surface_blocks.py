"""Which block a surface entry was made for. Blocks live in an app above, which plugs itself in here."""

from collections.abc import Callable

from arsenal.models import Ball, Person, SurfaceEntry

Choices = list[tuple[str, str]]


class _Plug:
    """Until an app that knows blocks is there, there is none to choose."""

    choices: Callable[[Ball, Person], Choices] | None = None
    link: Callable[[SurfaceEntry, str], None] | None = None


def register(
    choices: Callable[[Ball, Person], Choices] | None, link: Callable[[SurfaceEntry, str], None] | None
) -> None:
    """`choices(ball, person)` lists (key, label) of blocks to choose from; `link(entry, key)` stores one."""
    _Plug.choices, _Plug.link = (
        staticmethod(choices) if choices else None,
        staticmethod(link) if link else None,
    )


def block_choices(ball: Ball, person: Person) -> Choices:
    return _Plug.choices(ball, person) if _Plug.choices else []


def link_block(entry: SurfaceEntry, key: str) -> None:
    if _Plug.link:
        _Plug.link(entry, key)
