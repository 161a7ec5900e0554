"""What a move would spoil is found, told by its place, and nothing of the move is left."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Date,
    Engine,
    Float,
    Integer,
    LargeBinary,
    Text,
    delete,
    event,
    select,
    text,
    update,
)

from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.store import moving
from rootbound_service.store.moving import Differs, move
from rootbound_service.store.moving_sums import Summing, TableSum
from rootbound_service.store.moving_tables import Portable, batches_of, tables_in_order
from rootbound_service.store.portable import UTCDateTime
from rootbound_service.store.schema import kept_weather, outbox, run
from service.store.moving_scene import FROM_SQLITE, PAIRS, TO_POSTGRES, a_pair, database, has_rows
from service.store.rows_of_schema import fill, row_of

pair = pytest.fixture(params=PAIRS, ids="-".join)(a_pair)
to_postgres = pytest.fixture(params=TO_POSTGRES, ids="-".join)(a_pair)


def test_a_cell_changed_on_the_way_is_found_and_nothing_is_left(
    pair: tuple[Engine, Engine], monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = pair
    real = moving.put_rows

    def spoil(conn, one, batches) -> None:
        real(conn, one, batches)
        if one.name == "outbox":
            conn.execute(update(outbox).where(outbox.c.id == 2).values(attempts=5))

    monkeypatch.setattr(moving, "put_rows", spoil)

    with pytest.raises(Differs, match=r"^outbox: 3 rows .* cells differ$"):
        move(old, new)

    assert not has_rows(new)


def test_a_row_lost_on_the_way_is_found_and_nothing_is_left(
    pair: tuple[Engine, Engine], monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = pair
    real = moving.put_rows

    def lose(conn, one, batches) -> None:
        real(conn, one, batches)
        if one.name == "run":
            conn.execute(delete(run).where(run.c.night == row_of(run, 2)["night"]))

    monkeypatch.setattr(moving, "put_rows", lose)

    with pytest.raises(Differs, match="run: 3 rows in the old database, 2 in the new"):
        move(old, new)

    assert not has_rows(new)


CHANGED = {
    Text: "changed",
    Integer: 4242,
    Float: 0.1 + 0.2,
    Boolean: True,
    Date: date(1823, 2, 4),
    UTCDateTime: datetime(1931, 12, 31, 23, 59, 59, 999998, tzinfo=UTC),
    LargeBinary: b"\0",
}
"""Beside the odd row: one day, one microsecond, one byte more."""


def test_the_checksum_sees_a_change_of_any_cell_of_any_table(tmp_path: Path) -> None:
    unseen: list[str] = []
    with database("sqlite", tmp_path / "new") as engine:
        fill(engine)
        with engine.connect() as conn:
            for pragma in ("foreign_keys=OFF", "ignore_check_constraints=ON"):
                conn.connection.cursor().execute(f"PRAGMA {pragma}")
            for one in tables_in_order():
                before = _sum(conn, one)
                unseen += [
                    f"{one.name}.{column.name}"
                    for column in one.table.columns
                    if _sum_with_a_change(conn, one, column) == before
                ]

    assert unseen == []


def _sum(conn: Connection, one: Portable) -> TableSum:
    summing = Summing(one)
    for batch in batches_of(conn, one):
        summing.add(batch)
    return summing.done()


def _sum_with_a_change(conn: Connection, one: Portable, column: Column[Any]) -> TableSum:
    with conn.begin_nested() as change:
        second = text(f"rowid = (SELECT rowid FROM {one.name} ORDER BY rowid LIMIT 1 OFFSET 1)")  # noqa: S608 - a table of ours
        values = {column.name: CHANGED[type(column.type)]}
        assert conn.execute(update(one.table).where(second).values(values)).rowcount == 1
        found = _sum(conn, one)
        change.rollback()
    return found


def test_the_checksum_does_not_ask_for_the_order_of_the_rows_but_counts_each() -> None:
    one = next(one for one in tables_in_order() if one.name == "job_run")
    at = datetime(2026, 7, 14, tzinfo=UTC)
    first, second = ("send", "2026-07-14", at), ("night", "2026-07-14", at)

    def summed(*given: tuple[object, ...]) -> TableSum:
        summing = Summing(one)
        summing.add(given)  # type: ignore[arg-type]  # a tuple is read as a row is
        return summing.done()

    assert summed(first, second) == summed(second, first)
    assert summed(first, first).checksum != summed(second, second).checksum
    assert summed(first, first).checksum != f"{0:032x}"


def test_a_nul_in_a_text_is_told_by_its_row_and_the_mend_works(
    to_postgres: tuple[Engine, Engine],
) -> None:
    old, new = to_postgres
    with old.begin() as conn:
        conn.execute(update(outbox).where(outbox.c.id == 2).values(subject="dry\0 soon"))

    with pytest.raises(RefusedInput) as refused:
        move(old, new)

    (problem,) = refused.value.problems
    assert problem.where == "outbox, id 2, subject"
    assert "NUL" in problem.what
    assert "dry" not in str(refused.value)
    assert not has_rows(new)
    with old.begin() as conn:
        found = re.search(r"set it to (CAST.* AS TEXT\))", problem.wanted)
        assert found is not None
        conn.execute(text(f"UPDATE outbox SET subject = {found[1]} WHERE id = 2"))  # noqa: S608 - our own words
    move(old, new)
    with new.connect() as conn:
        assert conn.scalar(select(outbox.c.subject).where(outbox.c.id == 2)) == "dry soon"


def test_a_number_too_large_for_postgresql_is_told_by_its_row(
    to_postgres: tuple[Engine, Engine],
) -> None:
    old, new = to_postgres
    with old.begin() as conn:
        conn.execute(update(outbox).where(outbox.c.id == 3).values(attempts=2**31))

    with pytest.raises(RefusedInput, match="outbox, id 3, attempts: is more than PostgreSQL"):
        move(old, new)

    assert not has_rows(new)


@pytest.mark.parametrize("pair", FROM_SQLITE, ids="-".join, indirect=True)
def test_a_row_that_points_at_nothing_is_told_by_its_number(pair: tuple[Engine, Engine]) -> None:
    old, new = pair
    raw = old.raw_connection()
    raw.cursor().execute("PRAGMA foreign_keys=OFF")
    raw.cursor().execute("UPDATE outbox_note SET note_id = 99 WHERE outbox_id = 2")
    raw.invalidate()

    with pytest.raises(RefusedInput) as refused:
        move(old, new)

    (problem,) = refused.value.problems
    assert problem.where == "outbox_note, row 2"
    assert problem.what == "points at a row of note that is not there"
    assert not has_rows(new)


def test_a_disk_that_fills_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    with database("sqlite", tmp_path / "old") as old, database("sqlite", tmp_path / "new") as new:
        fill(old)
        with old.begin() as conn:
            conn.execute(update(kept_weather).values(packed=b"0" * 400_000))
        event.listen(new, "connect", lambda raw, _: raw.execute("PRAGMA max_page_count=200"))

        with pytest.raises(ServiceError, match=r"kept_weather: .* database or disk is full"):
            move(old, new)

        assert not has_rows(new)
