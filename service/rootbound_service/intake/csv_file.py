"""A table of fields as CSV: comma or semicolon, quoted or not, byte order mark or none."""

from __future__ import annotations

from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_records import Record, records
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.labels import line
from rootbound_service.intake.report import Row
from rootbound_service.intake.sections import FIELD_KEYS
from rootbound_service.intake.wrong import unknown_key

MUST_HAVE = ("name", "lat", "lon", "planted", "grower")


def read_csv(path: Path) -> list[Row]:
    """Read a table of fields.

    Parameters
    ----------
    path
        The file; its first line that is not blank names the columns.

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
        raise RefusedInput((Problem(path.name, "is empty", _columns()),))
    columns = [cell.lower() for cell in rows[0].cells]
    _check_header(columns, rows[0].line)
    if len(rows) == 1:
        raise RefusedInput((Problem(path.name, "has no row under its header", "add fields"),))
    return [_row(row, columns) for row in rows[1:]]


def _check_header(columns: list[str], at: int) -> None:
    found: list[Problem] = []
    for index, column in enumerate(columns):
        if not column:
            found.append(Problem(f"line {at}", f"column {index + 1} has no name", _columns()))
        elif column in columns[:index]:
            found.append(Problem(f"line {at}, {column}", "stands twice", "name each column once"))
        elif column not in FIELD_KEYS:
            found.append(unknown_key(column, FIELD_KEYS, line(at)))
    missing = [column for column in MUST_HAVE if column not in columns]
    if missing:
        what = f"the column {', '.join(missing)} is missing from the header"
        found.append(Problem(f"line {at}", what, _columns()))
    if found:
        raise RefusedInput(tuple(found))


def _row(record: Record, columns: list[str]) -> Row:
    place = f"line {record.line}"
    if record.broken:
        wanted = "give every column one cell and close every quotation mark"
        problem = Problem(place, f"the row is broken, {record.broken}", wanted)
        return Row(place, line(record.line), {}, (problem,))
    return Row(place, line(record.line), dict(zip(columns, record.cells, strict=True)))


def _columns() -> str:
    return f"the first line names the columns: {', '.join(MUST_HAVE)} and the others"
