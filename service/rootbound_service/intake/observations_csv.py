"""A table of what people saw and did, as CSV: every bad cell is told, and no good row lost."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_records import Record, records
from rootbound_service.intake.files import read_text_file
from rootbound_service.intake.labels import line
from rootbound_service.intake.observations import KEYS, observation_records
from rootbound_service.intake.report import Row
from rootbound_service.intake.wrong import unknown_key
from rootbound_service.records import FieldRecord, ObservationRecord

COLUMNS = ("field", *KEYS, "form_id")
MUST_HAVE = ("field", "date", "by")
NAMES = f"the first line names the columns: {', '.join(MUST_HAVE)} and of {', '.join(KEYS[1:6])}"

FindField = Callable[[str], FieldRecord]
"""Finds an enrolled field by name or number, or refuses with the names near it."""


@dataclass(frozen=True, slots=True)
class Observed:
    """Observations of one row of a table: where it stands, whose season, what was told."""

    place: str
    season_id: int
    records: tuple[ObservationRecord, ...]


@dataclass(frozen=True, slots=True)
class ObservedReport:
    """What came of reading a table of observations."""

    good: tuple[Observed, ...]
    problems: tuple[Problem, ...]
    rows: int


def read_observations(path: Path) -> list[Row]:
    """Read the rows of a table of observations, not yet checked.

    Parameters
    ----------
    path
        The file; its first line that is not blank names the columns.

    Raises
    ------
    RefusedInput
        If no row can be understood: no header, an unknown, doubled or missing column.
    """
    rows = [row for row in records(read_text_file(path)) if row.broken or any(row.cells)]
    if not rows:
        raise RefusedInput((Problem(path.name, "is empty", NAMES),))
    columns = [cell.lower() for cell in rows[0].cells]
    _check_header(columns, rows[0].line)
    if len(rows) == 1:
        wanted = "add a line for each thing seen or done"
        raise RefusedInput((Problem(path.name, "has no row under its header", wanted),))
    return [_row(row, columns) for row in rows[1:]]


def report_observations(rows: Iterable[Row], find: FindField, now: datetime) -> ObservedReport:
    """Check every row, going on past every bad one.

    Parameters
    ----------
    rows
        From :func:`read_observations`.
    find
        Finds the field that a row names.
    now
        When the table came in, aware.

    Returns
    -------
    ObservedReport
        Nothing is stored.
    """
    good: list[Observed] = []
    problems: list[Problem] = []
    count = 0
    for row in rows:
        count += 1
        try:
            good.append(_observed(row, find, now))
        except RefusedInput as refused:
            problems += refused.problems
    return ObservedReport(tuple(good), tuple(problems), count)


def _observed(row: Row, find: FindField, now: datetime) -> Observed:
    """Check one row."""
    if row.problems:
        raise RefusedInput(row.problems)
    values = dict(row.values)
    name = str(values.pop("field", "") or "").strip()
    if not name:
        wanted = "give the name or number of an enrolled field"
        raise RefusedInput((Problem(row.label("field"), "is missing", wanted),))
    try:
        field = find(name)
    except RefusedInput as refused:
        raise RefusedInput(
            tuple(Problem(row.label("field"), one.what, one.wanted) for one in refused.problems)
        ) from None
    return Observed(row.place, field.season_id, observation_records(values, field, now, row.label))


def _check_header(columns: list[str], at: int) -> None:
    """Refuse a header that leaves any column in doubt."""
    found: list[Problem] = []
    for index, column in enumerate(columns):
        if not column:
            found.append(Problem(f"line {at}", f"column {index + 1} has no name", NAMES))
        elif column in columns[:index]:
            found.append(Problem(f"line {at}, {column}", "stands twice", "name each column once"))
        elif column not in COLUMNS:
            found.append(unknown_key(column, COLUMNS, line(at)))
    missing = [column for column in MUST_HAVE if column not in columns]
    if missing:
        what = f"the column {', '.join(missing)} is missing from the header"
        found.append(Problem(f"line {at}", what, NAMES))
    if found:
        raise RefusedInput(tuple(found))


def _row(record: Record, columns: list[str]) -> Row:
    place = f"line {record.line}"
    if record.broken:
        wanted = "give every column one cell and close every quotation mark"
        problem = Problem(place, f"the row is broken, {record.broken}", wanted)
        return Row(place, line(record.line), {}, (problem,))
    return Row(place, line(record.line), dict(zip(columns, record.cells, strict=True)))
