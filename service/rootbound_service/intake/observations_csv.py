"""A table of what people saw and did, as CSV: every bad cell is told, and no good row lost."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.csv_table import Columns, read_table
from rootbound_service.intake.observations import KEYS, observation_records
from rootbound_service.intake.report import Row
from rootbound_service.records import FieldRecord, ObservationRecord

COLUMNS = ("field", *KEYS, "form_id")
MUST_HAVE = ("field", "date", "by")
NAMES = f"the first line names the columns: {', '.join(MUST_HAVE)} and of {', '.join(KEYS[1:6])}"

TABLE = Columns(COLUMNS, MUST_HAVE, NAMES, "add a line for each thing seen or done")

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
    return read_table(path, TABLE)


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
