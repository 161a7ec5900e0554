"""A table as CSV with named columns: what cannot be a header or a row is told with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_records import Record, records
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.labels import line
from rootbound_service.intake.report import Row
from rootbound_service.intake.wrong import unknown_key


@dataclass(frozen=True, slots=True)
class Columns:
    """What a table of one kind may and must have."""

    known: Sequence[str]
    must_have: Sequence[str]
    names: str
    """Sentence that tells which columns are wanted."""
    add: str
    """What to do where there is no row."""


def read_table(path: Path, columns: Columns) -> list[Row]:
    """Read the rows of a table, not yet checked.

    Parameters
    ----------
    path
        The file; its first line that is not blank names the columns.
    columns
        What it may and must have.

    Returns
    -------
    list[Row]
        A broken row carries its problem and no values; blank lines are left out.

    Raises
    ------
    RefusedInput
        If no row can be understood: no header, an unknown, doubled or missing column.
    """
    rows = [row for row in records(read_text_file(path)) if row.broken or any(row.cells)]
    if not rows:
        raise RefusedInput((Problem(path.name, "is empty", columns.names),))
    head = [cell.lower() for cell in rows[0].cells]
    _check_header(head, rows[0].line, columns)
    if len(rows) == 1:
        raise RefusedInput((Problem(path.name, "has no row under its header", columns.add),))
    return [_row(row, head) for row in rows[1:]]


def _check_header(head: list[str], at: int, columns: Columns) -> None:
    """Refuse a header with a nameless, doubled, unknown or missing column."""
    found: list[Problem] = []
    for index, column in enumerate(head):
        if not column:
            found.append(Problem(f"line {at}", f"column {index + 1} has no name", columns.names))
        elif column in head[:index]:
            found.append(Problem(f"line {at}, {column}", "stands twice", "name each column once"))
        elif column not in columns.known:
            found.append(unknown_key(column, columns.known, line(at)))
    missing = [column for column in columns.must_have if column not in head]
    if missing:
        what = f"the column {', '.join(missing)} is missing from the header"
        found.append(Problem(f"line {at}", what, columns.names))
    if found:
        raise RefusedInput(tuple(found))


def _row(record: Record, head: list[str]) -> Row:
    """One row by the names of its columns."""
    place = f"line {record.line}"
    if record.broken:
        wanted = "give every column one cell and close every quotation mark"
        problem = Problem(place, f"the row is broken, {record.broken}", wanted)
        return Row(place, line(record.line), {}, (problem,))
    return Row(place, line(record.line), dict(zip(head, record.cells, strict=True)))
