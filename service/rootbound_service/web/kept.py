"""Pages kept while nothing on them has changed: most are looked at more often than they change."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock

MOST_BYTES = 96_000_000
"""Of one process; what was not asked for longest goes first."""
FORM_TOKEN = "\u0001form token\u0001"  # noqa: S105  stands for one
"""Stands in a kept page for the proof of its forms, which is of one session."""
FORM_ID = "\u0001form id\u0001"
"""Stands for the number of a form, which is new each time."""


class Kept:
    """Texts by what they rest on, up to a size."""

    def __init__(self, most: int = MOST_BYTES) -> None:
        self._most = most
        self._size = 0
        self._texts: OrderedDict[Hashable, str] = OrderedDict()
        self._lock = Lock()

    def text(self, key: Hashable, make: Callable[[], tuple[str, bool]]) -> str:
        """Give the text of a key, made if it is not kept.

        Parameters
        ----------
        key
            Everything that the text rests on.
        make
            Makes it, and says whether it may be kept.
        """
        with self._lock:
            found = self._texts.get(key)
            if found is not None:
                self._texts.move_to_end(key)
                return found
        made, lasting = make()
        if not lasting:
            return made
        with self._lock:
            self._size += len(made) - len(self._texts.pop(key, ""))
            self._texts[key] = made
            while self._size > self._most and len(self._texts) > 1:
                _, gone = self._texts.popitem(last=False)
                self._size -= len(gone)
        return made
