"""A whole database copied into another of either kind, and held against it cell by cell.

All of it is one transaction of the new database, verified before it ends: whatever stops a
move, a difference, a full disk or a pulled plug, leaves the new database empty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass

from sqlalchemy import Connection, Engine

from rootbound_service.errors import Problem, RefusedInput, ServiceError
from rootbound_service.store.migrate import migrate, revision_of
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.moving_in import NotTaken, end_filling, filling, put_rows
from rootbound_service.store.moving_refused import not_held
from rootbound_service.store.moving_snapshot import snapshot
from rootbound_service.store.moving_sums import Summing, TableSum
from rootbound_service.store.moving_tables import (
    Portable,
    Rows,
    batches_of,
    count_of,
    first_with_rows,
    tables_in_order,
)

Told = Callable[[str, int, int], None]
"""Is told the step, how many rows are done, and of how many."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One table on both sides."""

    table: str
    old: TableSum
    new: TableSum

    @property
    def same(self) -> bool:
        """Whether rows and checksum agree."""
        return self.old == self.new


class Differs(ServiceError):
    """The two databases do not hold the same.

    Parameters
    ----------
    compared
        Every table.
    """

    def __init__(self, compared: Sequence[Compared]) -> None:
        self.compared = tuple(compared)
        lines = [
            f"{one.table}: {one.old.rows} rows in the old database, {one.new.rows} in the new"
            + (", and their cells differ" if one.old.rows == one.new.rows else "")
            for one in compared
            if not one.same
        ]
        super().__init__("\n".join(lines))


def quiet(_step: str, _done: int, _total: int) -> None:
    """Tell nobody."""


def move(source: Engine, target: Engine, told: Told = quiet) -> list[Compared]:
    """Copy every row into an empty database, and verify it before it counts.

    Parameters
    ----------
    source
        Nothing is changed there; nobody can write to it meanwhile.
    target
        Without our tables, or with them and without rows.
    told
        Is told how far it is.

    Returns
    -------
    list of Compared
        Every table, all the same on both sides.

    Raises
    ------
    RefusedInput
        If the target has rows, the source is not up to date, or a row cannot be held there.
    Differs
        If the verification finds a difference; the target is empty again.
    ServiceError
        If somebody uses either database, or the target refuses rows; it is empty again.
    """
    tables = tables_in_order()
    _must_be_ours(source)
    with target.execution_options(ro=True).connect() as conn:
        _must_be_empty(conn, tables)
    migrate(target)
    with snapshot(source, tables, alone=True) as old, filling(target, tables) as new:
        _must_be_empty(new, tables)
        try:
            compared = _fill(old, new, tables, told)
            end_filling(new, tables)
        except (NotTaken, Differs):
            if problems := not_held(old, tables, new.dialect.name):
                raise RefusedInput(problems) from None
            raise
    return compared


def compare(old: Engine, new: Engine, told: Told = quiet) -> list[Compared]:
    """Hold every table of two databases against each other; changes neither.

    Parameters
    ----------
    old, new
        The databases; each is read in one snapshot.
    told
        Is told how far it is.

    Returns
    -------
    list of Compared
        Every table, the same or not.

    Raises
    ------
    RefusedInput
        If one of them is not up to date.
    """
    tables = tables_in_order()
    _must_be_ours(old)
    _must_be_ours(new)
    with snapshot(old, tables) as left, snapshot(new, tables) as right:
        before = _summed(left, tables, told, "Reading the old")
        after = _summed(right, tables, told, "Reading the new")
    return _side_by_side(before, after)


def _fill(
    old: Connection, new: Connection, tables: Sequence[Portable], told: Told
) -> list[Compared]:
    total, done = sum(count_of(old, one) for one in tables), 0
    before: dict[str, TableSum] = {}
    for one in tables:
        summing = Summing(one)
        with closing(batches_of(old, one)) as batches:
            put_rows(new, one, _passing(batches, summing, done, total, told))
        before[one.name] = summing.done()
        done += summing.rows
    compared = _side_by_side(before, _summed(new, tables, told, "Verifying"))
    if not all(one.same for one in compared):
        raise Differs(compared)
    return compared


def _passing(
    batches: Iterator[Rows], summing: Summing, done: int, total: int, told: Told
) -> Iterator[Rows]:
    for rows in batches:
        summing.add(rows)
        yield rows
        told("Copying", done + summing.rows, total)


def _summed(
    conn: Connection, tables: Sequence[Portable], told: Told, step: str
) -> dict[str, TableSum]:
    total, done = sum(count_of(conn, one) for one in tables), 0
    sums: dict[str, TableSum] = {}
    for one in tables:
        summing = Summing(one)
        with closing(batches_of(conn, one)) as batches:
            for rows in batches:
                summing.add(rows)
                told(step, done + summing.rows, total)
        done += summing.rows
        sums[one.name] = summing.done()
    return sums


def _side_by_side(before: dict[str, TableSum], after: dict[str, TableSum]) -> list[Compared]:
    return [Compared(name, one, after[name]) for name, one in before.items()]


def _must_be_ours(engine: Engine) -> None:
    found = revision_of(engine)
    if found == HEAD:
        return
    what = f"its tables are at {found}" if found else "it holds no tables of Rootbound"
    wanted = f"give a database at {HEAD}; any other command brings an older one up to date"
    raise RefusedInput((Problem(f"database ({engine.dialect.name})", what, wanted),))


def _must_be_empty(conn: Connection, tables: Sequence[Portable]) -> None:
    name = first_with_rows(conn, tables)
    if name is not None:
        wanted = "give a database that is empty: nothing there is overwritten"
        raise RefusedInput((Problem("--to", f"its table {name} has rows already", wanted),))
