"""Storing what a file of fields brought: all of it, or the good rows where that is wanted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.report import ImportReport
from rootbound_service.records import FieldRecord
from rootbound_service.store.fields import add_field

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

Besides = Callable[["Connection", ImportReport], None]
"""Stores what goes with the fields, in their transaction."""


def keep(
    engine: Engine,
    report: ImportReport,
    *,
    keep_good: bool,
    now: datetime | None = None,
    account_id: int = 0,
    besides: Besides | None = None,
) -> ImportReport:
    """Store the good fields of a report in one transaction.

    Parameters
    ----------
    engine
        Where to store them.
    report
        From :func:`rootbound_service.intake.many.import_file`.
    keep_good
        Store the good rows although others are refused.
    now
        When the soils were entered, if that is to be kept.
    account_id
        Where they are enrolled; 0: found by their people.
    besides
        Called with what is about to be kept; what it raises keeps everything out.

    Returns
    -------
    ImportReport
        ``good`` are the fields as stored, none if there was a problem and ``keep_good`` is
        False; ``problems`` has those of the report and those the store found.
    """
    here = tuple(replace(one, account_id=account_id) for one in report.good)
    with engine.connect() as conn:
        stored, problems = _try_all(conn, replace(report, good=here), now)
        if problems and not keep_good:
            conn.rollback()
            return replace(report, good=(), places=(), problems=tuple(problems))
        kept, places = tuple(field for field, _ in stored), tuple(place for _, place in stored)
        done = replace(report, good=kept, places=places, problems=tuple(problems))
        if besides is not None:
            besides(conn, done)
        conn.commit()
    return done


def _try_all(
    conn: Connection, report: ImportReport, now: datetime | None
) -> tuple[list[tuple[FieldRecord, str]], list[Problem]]:
    """Add every field; one the store refuses joins the problems, with its place in the file."""
    stored: list[tuple[FieldRecord, str]] = []
    problems = list(report.problems)
    for field, place in zip(report.good, report.places, strict=True):
        try:
            stored.append((add_field(conn, field, now), place))
        except RefusedInput as refused:
            problems += [
                replace(problem, where=f"{place}, {problem.where}") for problem in refused.problems
            ]
    return stored, problems
