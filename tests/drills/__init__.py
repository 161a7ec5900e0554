"""Faults brought on at chosen moments, and whether the next start heals them by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drills.held import Tally
    from drills.world import World

Drill = Callable[["World", int], "Iterator[Tally]"]


def _of(room: str, *names: str) -> Drill:
    """A drill that loads its room when it is wanted."""

    def run(world: World, times: int) -> Iterator[Tally]:
        found = import_module(f"drills.{room}")
        return (getattr(found, name)(world, times) for name in names)

    return run


DRILLS: dict[str, Drill] = {
    "worker": _of("kills", "worker"),
    "sender": _of("kills", "sender"),
    "web": _of("kills_web", "web"),
    "postgres": _of("server_stop", "server_stop"),
    "disk": _of("full_disk", "full_disk"),
    "chunk": _of("chunk", "chunk"),
    "clock": _of("clock_back", "clock_back"),
    "two": _of("two", "killed", "taken", "asleep", "sending"),
    "power": _of("power", "rollback", "ahead"),
}
"""By name, in the order of the table."""
