"""The shape of one step of an explanation: figures with units and sources, and a table of days."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from rootbound_rules.tables import cite, load_table

Value = float | int | str | None
CHOICE = "our choice"
FAO = "FAO-56 "
WORK = re.compile(r"(.*?) (\d{4}), (.*)")
"""Authors, year and title, as ``cite`` puts them."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a step."""

    name: str
    value: Value
    unit: str = ""
    source: str = ""
    """Where the equation or the number is from, in a few words."""


@dataclass(frozen=True, slots=True)
class Days:
    """A table: what changes from day to day, or from rung to rung."""

    heads: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way from weather and spade to a note."""

    title: str
    figures: tuple[Figure, ...] = ()
    table: Days | None = None
    words: tuple[str, ...] = ()
    """Sentences: what the figures come to."""
    cites: tuple[str, ...] = field(default=())
    """Keys of the works behind the step, of ``data/sources.toml``."""

    @property
    def works(self) -> tuple[str, ...]:
        """The works as a reader would look them up; of several parts of one only the first."""
        found: dict[str, str] = {}
        for key in self.cites:
            parts = WORK.fullmatch(cite(key))
            authors, year, title = parts.groups() if parts else (cite(key), "", "")
            first, *others = authors.split(", ")
            who = f"{first} and others" if len(others) > 1 else " and ".join((first, *others))
            found.setdefault(f"{who} {year}", title)
        return tuple(f"{who}, {title}" for who, title in found.items())


def row_figure(name: str, table: str, key: str) -> Figure:
    """Give a number of the tables with its unit and its source.

    Parameters
    ----------
    name
        What it is called in the step.
    table, key
        The table and its row.
    """
    row = load_table(table).row(key)
    source = CHOICE if row.tag == "choice" else ", ".join(row.source)
    return Figure(name, row.number, row.unit, source)
