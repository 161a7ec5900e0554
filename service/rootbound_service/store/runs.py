"""Which nights were run and which periods of a job were taken on: each once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date, datetime
from enum import Enum
from typing import Literal

from sqlalchemy import Connection, delete, func, literal, select, update

from rootbound_service.errors import ServiceError
from rootbound_service.store.portable import UTCDateTime, insert_into
from rootbound_service.store.schema import job_run, run

CAME = "weather came for every cell"
"""What a run's ``weather`` begins with if no source failed."""


@dataclass(frozen=True, slots=True)
class RunRecord:
    """One nightly run; ``finished_at`` is None while it runs, or if it was cut off."""

    night: date
    started_at: datetime
    finished_at: datetime | None
    fields_ok: int
    fields_failed: int
    weather: str
    first_finished_at: datetime | None = None
    """When the night was done for the first time; it stays when the night is run again."""

    @property
    def weather_came(self) -> bool:
        """Whether every source answered for every cell."""
        return self.weather.startswith(CAME)


class Anything(Enum):
    """Stands for whatever a night's run has come to."""

    ANY = "any"


ANY = Anything.ANY
Seen = datetime | None | Literal[Anything.ANY]
"""When a night was finished last, None for a night that was not."""
COLUMNS = tuple(one.name for one in fields(RunRecord))


def start_run(conn: Connection, night: date, now: datetime, seen: Seen = ANY) -> bool:
    """Note that a night's run has begun; a night run again begins anew.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        The night.
    now
        The time.
    seen
        When the night had been finished last, by what this run read as it began.

    Returns
    -------
    bool
        False, and nothing noted, if somebody has finished the night since then.
    """
    values: dict[str, object] = {"night": night, "started_at": now, "finished_at": None}
    values |= {"fields_ok": 0, "fields_failed": 0, "weather": ""}  # the first finish stays
    same = None if seen is ANY else run.c.finished_at.is_not_distinct_from(seen)
    put = insert_into(conn, run).values(values)
    put = put.on_conflict_do_update(index_elements=["night"], set_=values, where=same)
    return conn.scalar(put.returning(run.c.night)) is not None


def finish_run(
    conn: Connection,
    night: date,
    now: datetime,
    fields_ok: int,
    fields_failed: int,
    weather: str,
) -> None:
    """Note that a night's run is done.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        The night.
    now
        The time.
    fields_ok, fields_failed
        How many fields were computed, how many could not be.
    weather
        In words: what the weather was like to get.

    Raises
    ------
    ServiceError
        If the night's run was never started.
    """
    values: dict[str, object] = {"finished_at": now, "weather": weather}
    values |= {"fields_ok": fields_ok, "fields_failed": fields_failed}
    values["first_finished_at"] = func.coalesce(run.c.first_finished_at, literal(now, UTCDateTime))
    done = conn.execute(update(run).where(run.c.night == night).values(values))
    if done.rowcount == 0:
        message = f"the run of {night} was never started"
        raise ServiceError(message)


def last_run(conn: Connection, *, finished_only: bool = False) -> RunRecord | None:
    """Give the run of the latest night.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    finished_only
        Leave out runs that are not finished.

    Returns
    -------
    RunRecord or None
        None before the first.
    """
    query = select(run).order_by(run.c.night.desc()).limit(1)
    if finished_only:
        query = query.where(run.c.finished_at.is_not(None))
    row = conn.execute(query).mappings().first()
    return None if row is None else RunRecord(**{name: row[name] for name in COLUMNS})


def run_of(conn: Connection, night: date) -> RunRecord | None:
    """Give the run of one night; None for one that was never begun.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night.
    """
    query = select(*(run.c[name] for name in COLUMNS)).where(run.c.night == night)
    row = conn.execute(query).one_or_none()
    return None if row is None else RunRecord(*row)


def finished_at(conn: Connection, night: date) -> datetime | None:
    """Give when a night was finished last; None for one that was not.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    night
        The night.
    """
    found = run_of(conn, night)
    return found.finished_at if found else None


def runs_listed(conn: Connection, most: int = 30) -> list[RunRecord]:
    """List the nights that were run, the latest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    most
        So many.
    """
    query = select(*(run.c[name] for name in COLUMNS)).order_by(run.c.night.desc()).limit(most)
    return [RunRecord(*row) for row in conn.execute(query)]


def weather_words(troubles: Iterable[str], told: Iterable[str], *, missed: bool) -> str:
    """Say in one line what the weather of a night was like to get.

    Parameters
    ----------
    troubles
        A sentence for each cell whose weather did not come.
    told
        What the sources did.
    missed
        Whether some source did not answer for some cell.
    """
    came = () if missed else (CAME,)
    return "; ".join((*came, *troubles, *told))


def claim_period(conn: Connection, job: str, period: str, now: datetime) -> bool:
    """Take on a job's work for a period, unless it was taken on before.

    Parameters
    ----------
    conn
        The transaction that also does the work or puts it in the outbox.
    job
        The job's name.
    period
        What it covers, such as ``2026-07-14`` or ``3 2026-W29``.
    now
        The time.

    Returns
    -------
    bool
        True for the one caller who is to do it.
    """
    values: dict[str, object] = {"job": job, "period": period, "claimed_at": now}
    new = insert_into(conn, job_run).values(values)
    new = new.on_conflict_do_nothing(index_elements=["job", "period"])
    return conn.scalar(new.returning(job_run.c.job)) is not None


def give_back_period(conn: Connection, job: str, period: str) -> None:
    """Let somebody take a job's work on again that was begun and not done.

    Parameters
    ----------
    conn
        The caller's transaction.
    job, period
        As taken on.
    """
    conn.execute(delete(job_run).where(job_run.c.job == job, job_run.c.period == period))


def claimed_periods(conn: Connection, job: str, ending: str) -> set[str]:
    """Give the periods of a job that were taken on and end so.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    job
        The job's name.
    ending
        Last part of the periods asked for, such as `` 2026-W29``.

    Returns
    -------
    set of str
        The periods, whole.
    """
    query = select(job_run.c.period).where(job_run.c.job == job, job_run.c.period.endswith(ending))
    return set(conn.scalars(query))
