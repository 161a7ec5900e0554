"""Clears away the pieces of a weather store that no version anybody reads names any more.

A version's change leaves a list of what it replaced. An hour later, by the store's own clock, the
list and what stands in it go. What a writer left that died, or was overtaken, stands in no list:
it is looked for now and then, among all pieces of versions that are past.
"""

from __future__ import annotations

import gzip
import json
from contextlib import suppress
from datetime import timedelta
from typing import TYPE_CHECKING

from rootbound_service.errors import ServiceError
from rootbound_service.weather.grid_head import (
    HEAD,
    Head,
    unpack_head,
    unpack_index,
    version_in,
)

if TYPE_CHECKING:
    from rootbound_service.weather.objects import Objects

GONE = "gone"
KEPT = timedelta(hours=1)
"""No read takes as long; one that does reads the newest version instead. Our choice."""
CLEARED_EVERY = 32
SWEPT_EVERY = 512


def clear(objects: Objects, version: int, replaced: list[str]) -> None:
    """Note what a change replaced, and now and then clear away what earlier ones did.

    The change is told already: should the store fail here, the sweep finds what is left.

    Parameters
    ----------
    objects
        Of the source.
    version
        The one just told.
    replaced
        Names that it no longer has.
    """
    with suppress(ServiceError):
        if replaced:
            content = gzip.compress(json.dumps(replaced).encode(), mtime=0)
            objects.put(f"{GONE}/{version:08d}.json.gz", content)
        if version % CLEARED_EVERY == 0:
            clear_due(objects)
        if version % SWEPT_EVERY == 0:
            sweep(objects)


def clear_due(objects: Objects) -> int:
    """Remove what was replaced long enough before the newest change.

    Parameters
    ----------
    objects
        Of the source.

    Returns
    -------
    int
        How many pieces and indexes went.
    """
    lists = objects.listed(GONE)
    newest = max((one.at for one in lists), default=None)
    due = [one.name for one in lists if newest is not None and one.at <= newest - KEPT]
    if not due:
        return 0
    named = _named(objects)[1]  # an earlier head may have been put back
    names = {name for one in due for name in _told(objects, one)} - named
    objects.remove(sorted(names))
    objects.remove(due)
    return len(names)


def sweep(objects: Objects) -> int:
    """Remove what writers left that died or were overtaken.

    Parameters
    ----------
    objects
        Of the source.

    Returns
    -------
    int
        How many pieces and indexes went.
    """
    head, named = _named(objects)
    waiting = {name for one in objects.listed(GONE) for name in _told(objects, one.name)}
    there = [one.name for folder in ("piece", "index") for one in objects.listed(folder)]
    left = [
        name
        for name in there
        if version_in(name) <= head.version and name not in named and name not in waiting
    ]
    objects.remove(left)
    return len(left)


def _named(objects: Objects) -> tuple[Head, set[str]]:
    """The newest head, and everything that it names."""
    found = objects.get(HEAD)
    head = Head() if found is None else unpack_head(found.content, found.tag, objects.url)
    names = set(head.indexes.values())
    for index in head.indexes.values():
        content = objects.get(index)
        if content is None:
            message = f"{objects.url}/{index}: another writer went on; nothing is cleared"
            raise ServiceError(message)
        names |= set(unpack_index(content.content).values())
    return head, names


def _told(objects: Objects, name: str) -> list[str]:
    """What stands in a list of replaced names; nothing where another has cleared it."""
    found = objects.get(name)
    told: list[str] = [] if found is None else json.loads(gzip.decompress(found.content))
    return told
