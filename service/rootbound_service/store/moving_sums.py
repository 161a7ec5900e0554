"""A checksum of a table that does not depend on the order of its rows or on the database."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Float, LargeBinary
from sqlalchemy.types import TypeEngine

from rootbound_service.store.moving_tables import Portable, Rows

BYTES = 16
FULL = 1 << (8 * BYTES)


@dataclass(frozen=True, slots=True)
class TableSum:
    """How many rows a table has, and their checksum in hexadecimal."""

    rows: int
    checksum: str


class Summing:
    """Sums the rows of a table as they go by.

    The hashes of the rows are added, not combined bit by bit: two equal rows would cancel out.

    Parameters
    ----------
    one
        The table.
    """

    def __init__(self, one: Portable) -> None:
        self.rows = 0
        self._sum = 0
        self._same = [
            (place, made)
            for place, column in enumerate(one.table.columns)
            if (made := _same_of(column.type)) is not None
        ]

    def add(self, rows: Rows) -> None:
        """Take rows into account.

        Parameters
        ----------
        rows
            As read through the portable table.
        """
        for row in rows:
            cells = list(row)
            for place, made in self._same:
                if cells[place] is not None:
                    cells[place] = made(cells[place])
            text = repr(cells).encode("utf-8", "surrogatepass")
            self._sum += int.from_bytes(hashlib.blake2b(text, digest_size=BYTES).digest(), "big")
        self._sum %= FULL
        self.rows += len(rows)

    def done(self) -> TableSum:
        """Give what came together."""
        return TableSum(self.rows, f"{self._sum:0{2 * BYTES}x}")


def _same_of(kind: TypeEngine[Any]) -> Callable[[Any], object] | None:
    """What makes equal values look equal: SQLite keeps no negative zero."""
    if isinstance(kind, Float):
        return lambda value: value + 0.0
    if isinstance(kind, LargeBinary):
        return lambda value: hashlib.sha256(value).digest()
    return None
