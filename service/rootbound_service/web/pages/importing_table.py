"""The rows of a file as a page shows them, and as a table to mend."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rootbound_service.feeds.table import FORMULA
from rootbound_service.intake.cells import NUMBER
from rootbound_service.intake.report import ImportReport, Row

OURS = ("adviser", "units")
"""Filled in by the page where the file says nothing; shown only where it did."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell, with what is wrong with it."""

    head: str
    text: str
    problem: str


@dataclass(frozen=True, slots=True)
class Line:
    """One row."""

    place: str
    cells: tuple[Cell, ...]
    problem: str
    """What is wrong with the row as a whole, or with a cell that has no column."""

    @property
    def bad(self) -> bool:
        """Whether it needs a look."""
        return bool(self.problem) or any(one.problem for one in self.cells)


def heads_of(rows: Iterable[Row]) -> list[str]:
    """Columns that the rows have, in their order."""
    found: dict[str, None] = {}
    for row in rows:
        found |= dict.fromkeys(name for name in row.values if name not in OURS)
    return list(found)


def lines_of(rows: Iterable[Row], heads: Sequence[str], report: ImportReport) -> list[Line]:
    """Give the rows with what is wrong beside each cell.

    Parameters
    ----------
    rows
        As read and filled in.
    heads
        The columns shown.
    report
        What came of checking them.
    """
    wrong: dict[str, list[str]] = {}
    for one in report.problems:
        wrong.setdefault(one.where, []).append(f"{one.what}; {one.wanted}")
    return [_line(row, heads, wrong) for row in rows]


def _line(row: Row, heads: Sequence[str], wrong: dict[str, list[str]]) -> Line:
    at = {head: " ".join(wrong.get(row.label(head), ())) for head in heads}
    cells = tuple(Cell(head, _text(row.values.get(head)), at[head]) for head in heads)
    shown = {row.label(head) for head in heads}
    begin = f"{row.place}, "
    rest = [
        f"{where.removeprefix(begin)}: {text}" if where != row.place else text
        for where, texts in wrong.items()
        if where not in shown and (where == row.place or where.startswith(begin))
        for text in texts
    ]
    return Line(row.place, cells, " ".join(rest))


def table_to_mend(lines: Iterable[Line], heads: Sequence[str]) -> str:
    """Write the rows that need a look as CSV, RFC 4180.

    Parameters
    ----------
    lines
        From :func:`lines_of`.
    heads
        The columns.
    """
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows([safe(cell.text) for cell in line.cells] for line in lines if line.bad)
    return out.getvalue()


def safe(text: str) -> str:
    """A cell that no spreadsheet computes; a number stays one.

    Parameters
    ----------
    text
        As somebody typed it.
    """
    if text.lstrip(" ").startswith(FORMULA) and not NUMBER.fullmatch(text.strip()):
        return f"'{text}"
    return text


def _text(value: object) -> str:
    return "" if value is None else str(value)
