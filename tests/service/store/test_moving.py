"""A database moved to the other kind holds the same to the last cell, or nothing at all."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from sqlalchemy import Engine, func, insert, inspect, select, text, update

from conftest import NEEDS_POSTGRES, POSTGRES
from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.store import engine as engine_room
from rootbound_service.store import moving_in, moving_snapshot
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.moving import move
from rootbound_service.store.moving_tables import tables_in_order
from rootbound_service.store.schema import metadata, person, risk, run
from service.store.moving_scene import EVERY, PAIRS, a_pair, has_rows, opened, rows
from service.store.rows_of_schema import ROWS, fill, row_of
from tables import a_schema, empty

KILLED = 77
DIES = f"""
import os, sys
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.moving import move

def die(step, done, total):
    if step == "Verifying" and done > total / 2:
        os._exit({KILLED})

move(make_engine(sys.argv[1]), make_engine(sys.argv[2]), die)
"""
"""A process that ends in the middle, as if its machine had lost power."""

pair = pytest.fixture(params=PAIRS, ids="-".join)(a_pair)


def test_every_table_of_the_schema_comes_after_those_it_points_at() -> None:
    names = [one.name for one in tables_in_order()]

    assert sorted(names) == EVERY
    for name, table in metadata.tables.items():
        targets = {key.column.table.name for key in table.foreign_keys} - {name}
        assert all(names.index(one) < names.index(name) for one in targets)


def test_every_cell_comes_over_as_it_was_and_the_old_database_stays(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    before = rows(old)

    compared = move(old, new)

    assert all(len(found) == len(ROWS) for found in before.values())
    assert rows(new) == before
    assert rows(old) == before
    assert sorted(one.table for one in compared) == EVERY
    assert all(one.same and one.old.rows == len(ROWS) for one in compared)


def test_what_was_null_and_what_was_a_json_null_stay_apart(pair: tuple[Engine, Engine]) -> None:
    old, new = pair
    nulls = text("SELECT count(*) FROM risk WHERE detail IS NULL")
    with old.begin() as conn:
        conn.execute(text("UPDATE risk SET detail = NULL WHERE season_id = 1"))
        conn.execute(update(risk).where(risk.c.season_id == 2).values(detail=None))

    move(old, new)

    with new.connect() as conn:
        assert conn.scalar(nulls) == 1


def test_afterwards_each_table_gives_new_numbers_past_those_that_came(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    with old.begin() as conn:
        conn.execute(insert(person).values(row_of(person, 3) | {"id": 900, "email_key": "far"}))

    move(old, new)

    with new.begin() as conn:
        for name, table in metadata.tables.items():
            if "id" in table.c:
                fresh = row_of(table, 3) | _unlike(name)
                del fresh["id"]
                got = conn.scalar(insert(table).values(fresh).returning(table.c.id))
                assert got == (901 if name == "person" else 4)


def _unlike(name: str) -> dict[str, object]:
    """Cells that no other row of a table has, where there may be only one like it."""
    table = metadata.tables[name]
    every = [
        column
        for one in table.constraints
        if type(one).__name__ == "UniqueConstraint"
        for column in one.columns
    ]
    return {
        one.name: "unlike" if one.type.python_type is str else 77
        for one in every
        if not one.foreign_keys and "CHECK" not in one.name and one.name != "channel"
    }


@NEEDS_POSTGRES
def test_a_database_without_tables_gets_them(request: pytest.FixtureRequest) -> None:
    old: Engine = request.getfixturevalue("_postgres")
    empty(old)
    fill(old)
    with a_schema(POSTGRES) as url, opened(url) as bare:
        assert inspect(bare).get_table_names() == []
        move(old, bare)

        assert rows(bare) == rows(old)


def test_a_new_database_with_a_row_is_refused_by_the_name_of_its_table(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    with new.begin() as conn:
        conn.execute(insert(run).values(row_of(run, 3)))

    with pytest.raises(RefusedInput, match="--to: its table run has rows already"):
        move(old, new)

    assert len(rows(new)["run"]) == 1
    assert rows(new)["person"] == []


@pytest.mark.parametrize("step", ["Copying", "Verifying"])
def test_a_move_interrupted_half_way_leaves_nothing_and_can_be_begun_again(
    pair: tuple[Engine, Engine], step: str
) -> None:
    old, new = pair

    def stop(at: str, done: int, total: int) -> None:
        if at == step and done > total / 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        move(old, new, stop)

    assert not has_rows(new)
    move(old, new)
    assert rows(new) == rows(old)


def test_an_old_database_of_another_step_is_refused_and_not_changed(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    with old.begin() as conn:
        conn.execute(text("UPDATE alembic_version SET version_num = '0004_people'"))
    try:
        with pytest.raises(RefusedInput, match="its tables are at 0004_people; give a database"):
            move(old, new)
    finally:
        with old.begin() as conn:
            kept = conn.scalar(text("SELECT version_num FROM alembic_version"))
            back = text("UPDATE alembic_version SET version_num = :head")
            conn.execute(back, {"head": HEAD})

    assert kept == "0004_people"


def test_a_move_whose_process_is_killed_leaves_nothing_and_can_be_begun_again(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    urls = [one.url.render_as_string(hide_password=False) for one in pair]
    begun = subprocess.run(
        [sys.executable, "-c", DIES, *urls], check=False, timeout=60, env=dict(os.environ)
    )

    assert begun.returncode == KILLED
    assert not has_rows(new)
    move(old, new)
    assert rows(new) == rows(old)


def test_the_last_of_the_progress_is_all_rows_of_both_steps(pair: tuple[Engine, Engine]) -> None:
    heard: list[tuple[str, int, int]] = []

    move(*pair, lambda *said: heard.append(said))

    total = len(EVERY) * len(ROWS)
    assert ("Copying", total, total) in heard
    assert heard[-1] == ("Verifying", total, total)


def test_nobody_writes_to_the_old_database_while_it_is_moved(
    pair: tuple[Engine, Engine],
) -> None:
    old, new = pair
    said: list[str] = []

    def write(*_: object) -> None:
        if not said:
            said.append(_try_to_write(old))

    move(old, new, write)

    assert "lock" in said[0]
    with new.connect() as conn:
        assert conn.scalar(select(func.count()).select_from(run)) == len(ROWS)


def _try_to_write(engine: Engine) -> str:
    """Say what a database answers to a writer who does not wait."""
    raw = engine.raw_connection()
    cursor = raw.cursor()
    lite = engine.dialect.name == "sqlite"
    try:
        cursor.execute("PRAGMA busy_timeout=0" if lite else "SET lock_timeout='50ms'")
        cursor.execute("DELETE FROM job_run")
    except Exception as error:  # noqa: BLE001 - each driver has its own
        return str(error)
    finally:
        raw.invalidate()
    return "written"


def test_a_move_does_not_begin_while_somebody_writes_to_the_old_database(
    pair: tuple[Engine, Engine], monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = pair
    monkeypatch.setattr(engine_room, "BUSY_TIMEOUT_S", 0.05)
    monkeypatch.setattr(moving_snapshot, "WAIT", "50ms")
    with opened(old.url.render_as_string(hide_password=False)) as hasty, old.begin() as conn:
        conn.execute(insert(run).values(row_of(run, 9)))

        with pytest.raises(ServiceError, match="somebody writes to the old database; stop"):
            move(hasty, new)

    assert not has_rows(new)


def test_a_move_does_not_begin_while_somebody_uses_the_new_database(
    pair: tuple[Engine, Engine], monkeypatch: pytest.MonkeyPatch
) -> None:
    old, new = pair
    monkeypatch.setattr(engine_room, "BUSY_TIMEOUT_S", 0.05)
    monkeypatch.setattr(moving_in, "WAIT", "50ms")
    with opened(new.url.render_as_string(hide_password=False)) as hasty, new.begin() as conn:
        conn.execute(insert(run).values(row_of(run, 9)))

        with pytest.raises(ServiceError, match="somebody uses the new database; stop"):
            move(old, hasty)

    assert len(rows(new)["run"]) == 1
