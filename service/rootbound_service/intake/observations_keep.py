"""Storing observations: typed ones, and those of a table, all of them or the good ones."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.observations import as_new
from rootbound_service.intake.observations_csv import (
    Observed,
    ObservedReport,
    read_observations,
    report_observations,
)
from rootbound_service.store.fields import find_field
from rootbound_service.store.observations import add_observation, every_observation

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection, Engine

    from rootbound_service.records import FieldRecord, ObservationRecord


def keep_typed(
    conn: Connection, season_id: int, records: Sequence[ObservationRecord]
) -> tuple[ObservationRecord, ...]:
    """Store what was typed or imported; the same thing said twice is stored once.

    Parameters
    ----------
    conn
        The caller's transaction.
    season_id
        The season.
    records
        What was told; one with a form_id of its own keeps it.

    Returns
    -------
    tuple of ObservationRecord
        As stored.
    """
    rows = every_observation(conn, season_id)
    return tuple(
        add_observation(conn, season_id, one if one.form_id else as_new(one, rows))
        for one in records
    )


def keep_table(engine: Engine, path: Path, now: datetime, *, keep_good: bool) -> ObservedReport:
    """Read a table of observations and store it in one transaction.

    Parameters
    ----------
    engine
        Where fields are found and observations stored.
    path
        A CSV file.
    now
        When it came in, aware.
    keep_good
        Store the good rows although others are refused.

    Returns
    -------
    ObservedReport
        ``good`` as stored, none if there was a problem and ``keep_good`` is False.

    Raises
    ------
    RefusedInput
        If the file as a whole cannot be understood.
    """
    rows = read_observations(path)
    with engine.connect() as conn:

        @cache  # a field has many rows
        def find(name: str) -> FieldRecord:
            return find_field(conn, name)

        report = report_observations(rows, find, now)
        if report.problems and not keep_good:
            return replace(report, good=())
        stored, problems = _keep_all(conn, report.good)
        if problems and not keep_good:
            conn.rollback()
            return replace(report, good=(), problems=tuple(problems))
        conn.commit()
    return replace(report, good=tuple(stored), problems=report.problems + tuple(problems))


def _keep_all(conn: Connection, good: Sequence[Observed]) -> tuple[list[Observed], list[Problem]]:
    """Store every row; one the store refuses joins the problems, with its place in the file."""
    stored: list[Observed] = []
    problems: list[Problem] = []
    for row in good:
        try:
            kept = keep_typed(conn, row.season_id, row.records)
        except RefusedInput as refused:
            problems += [
                replace(one, where=f"{row.place}, {one.where}") for one in refused.problems
            ]
        else:
            stored.append(replace(row, records=kept))
    return stored, problems
