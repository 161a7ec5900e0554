"""Typed rows of ``data/*.toml``: every number with its unit, source and range."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, cast

from rootbound_rules.errors import TableError


@dataclass(frozen=True, slots=True)
class Row:
    """One cited number (or list of numbers) that agronomists can review."""

    key: str
    value: float | tuple[float, ...]
    unit: str
    source: tuple[str, ...]
    tag: str
    low: float | None
    high: float | None
    why: str

    @property
    def number(self) -> float:
        """The single value of the row."""
        if isinstance(self.value, tuple):
            raise TableError(f"{self.key} is a list of {len(self.value)} numbers, not one number")
        return self.value

    @property
    def numbers(self) -> tuple[float, ...]:
        """The values of a row that holds a list."""
        return self.value if isinstance(self.value, tuple) else (self.value,)

    def within(self, share: float) -> float:
        """Return the value at ``share`` (0-1) of the row's range, the row's value if it has none.

        Parameters
        ----------
        share
            Position in the range from its low end to its high end. [0-1]
        """
        if self.low is None or self.high is None:
            return self.number
        return self.low + share * (self.high - self.low)


class Table:
    """The rows of one file, by dotted key.

    Parameters
    ----------
    name
        File name in ``data/`` without its ending.
    rows
        The rows by key.
    """

    def __init__(self, name: str, rows: dict[str, Row]) -> None:
        self.name = name
        self.rows = rows

    def __contains__(self, key: str) -> bool:
        return key in self.rows

    def row(self, key: str) -> Row:
        """Return one row; a :class:`TableError` names the nearest group when it is missing."""
        try:
            return self.rows[key]
        except KeyError:
            known = ", ".join(sorted(self.rows))
            raise TableError(f"no row {key!r} in {self.name}.toml; there are: {known}") from None

    def number(self, key: str) -> float:
        """Return the single number of a row."""
        row = self.rows.get(key)
        if row is not None and isinstance(row.value, float):  # asked some dozens of times a field
            return row.value
        return self.row(key).number

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return the list of numbers of a row."""
        return self.row(key).numbers


@cache
def load_table(name: str) -> Table:
    """Read ``data/<name>.toml``.

    Raises
    ------
    TableError
        If there is no such file or a row is malformed.
    """
    path = files("rootbound_rules").joinpath("data", f"{name}.toml")
    if not path.is_file():
        raise TableError(f"there is no table {name!r} in rules/rootbound_rules/data")
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    return Table(name, dict(_rows(document, "")))


@cache
def cite(key: str) -> str:
    """Name a work as a reader would look it up: authors, year, title.

    Parameters
    ----------
    key
        Of ``data/sources.toml``.

    Raises
    ------
    TableError
        If no work has this key.
    """
    path = files("rootbound_rules").joinpath("data", "sources.toml")
    works = tomllib.loads(path.read_text(encoding="utf-8"))
    if key not in works:
        raise TableError(f"no work {key!r} in sources.toml")
    work = works[key]
    return f"{work['authors']} {work['year']}, {work['title']}"


def _rows(node: dict[str, Any], prefix: str) -> list[tuple[str, Row]]:
    """Walk nested tables; one with ``value`` or ``values`` is a row."""
    found: list[tuple[str, Row]] = []
    for name, held in node.items():
        if not isinstance(held, dict):
            continue
        child = cast("dict[str, Any]", held)
        key = f"{prefix}{name}"
        if "value" in child or "values" in child:
            found.append((key, _row(key, child)))
        else:
            found.extend(_rows(child, f"{key}."))
    return found


def _row(key: str, cells: dict[str, Any]) -> Row:
    """Turn the cells of one row into a value."""
    source = cells.get("source", ())
    low, high = cells.get("range", (None, None))
    many = cast("list[float]", cells.get("values", []))
    value = float(cells["value"]) if "value" in cells else tuple(float(v) for v in many)
    return Row(
        key=key,
        value=value,
        unit=str(cells.get("unit", "-")),
        source=(source,) if isinstance(source, str) else tuple(cast("list[str]", source)),
        tag=str(cells.get("tag", "")),
        low=low,
        high=high,
        why=str(cells.get("why", "")),
    )
