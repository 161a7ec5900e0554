"""Long lists in pieces that a database takes as the values of one ``IN``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

MOST = 5000
"""Values of one query: PostgreSQL's protocol counts them in 16 bits, SQLite stops at 32,766."""
T = TypeVar("T")


def slices(items: Iterable[T], most: int = MOST) -> Iterator[list[T]]:
    """Cut a list into pieces.

    Parameters
    ----------
    items
        Any number.
    most
        Of one piece.

    Yields
    ------
    list
        A piece, in order; none for an empty list.
    """
    every = list(items)
    for start in range(0, len(every), most):
        yield every[start : start + most]
