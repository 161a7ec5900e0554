"""Forecasts' issues between the drawer that keeps them and a backup."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from rootbound_service.weather.drawer import Drawer


def copy_out(drawer: Drawer, folder: Path) -> int:
    """Copy every issue into a folder; what comes while it is copied may be left out.

    Parameters
    ----------
    drawer
        That keeps them.
    folder
        Made if there is anything.

    Returns
    -------
    int
        How many there are.
    """
    many = 0
    for place in drawer.folders():
        for name in drawer.names(place):
            content = drawer.read(f"{place}/{name}")
            if content is not None:
                (folder / place).mkdir(parents=True, exist_ok=True)
                (folder / place / name).write_bytes(content)
                many += 1
    return many


def put_back(drawer: Drawer, files: Mapping[str, Callable[[], bytes]]) -> int:
    """Put issues into a drawer that it has not; an issue never changes.

    Parameters
    ----------
    drawer
        That keeps them.
    files
        How each is read, by its name in the drawer.

    Returns
    -------
    int
        How many were new.
    """
    there = {
        f"{place}/{name}"
        for place in {name.partition("/")[0] for name in files}
        for name in drawer.names(place)
    }
    new = [name for name in files if name not in there]
    for name in new:
        drawer.put(name, files[name]())
    return len(new)
