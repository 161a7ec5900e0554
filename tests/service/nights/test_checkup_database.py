"""The database: its version, its tables, its log and its rows, each right and wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import text

from rootbound_service.nights.checkup_database import (
    SqliteFacts,
    check_sqlite,
    check_tables,
    look_at_sqlite,
    look_at_tables,
    steps,
)
from rootbound_service.store.engine import make_engine
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.sqlite_module import choose_sqlite

KNOWN = ("0001_a", "0002_b", "0003_c")
WELL = SqliteFacts((3, 46, 1), "wal", safe_log=True)


def bad(**changes):
    found = check_sqlite(replace(WELL, **changes))
    assert all(one.mend and one.why for one in found if not one.well)
    return [one for one in found if not one.well]


def test_the_last_step_known_is_where_the_program_wants_the_tables():
    assert steps()[-1] == HEAD


@pytest.mark.parametrize("auto", [True, False])
def test_tables_of_this_program_are_well(auto):
    assert check_tables("0003_c", KNOWN, auto=auto).well


@pytest.mark.parametrize("auto", [True, False])
def test_tables_behind_are_counted_and_a_backup_comes_first(auto):
    found = check_tables("0001_a", KNOWN, auto=auto)

    assert not found.well
    assert found.said == "2 steps behind this program (0001_a)"
    assert found.mend.startswith("make a backup; then ")
    assert found.run.endswith("rootbound fields")
    assert ("AUTO_MIGRATE=true" in found.run) is not auto
    assert check_tables("0002_b", KNOWN, auto=auto).said.startswith("1 step behind")


@pytest.mark.parametrize("auto", [True, False])
def test_tables_of_a_newer_program_are_bad(auto):
    found = check_tables("0004_d", KNOWN, auto=auto)

    assert not found.well
    assert "newer version of this program (0004_d)" in found.said
    assert "install the newer version" in found.mend


def test_tables_not_made_yet_are_well_where_the_start_makes_them():
    assert check_tables(None, KNOWN, auto=True).well
    assert not check_tables(None, KNOWN, auto=False).well


def test_a_new_sqlite_with_its_log_and_whole_rows_is_well():
    assert bad() == []
    assert bad(version=(3, 35, 0)) == []


def test_an_sqlite_without_returning_is_too_old():
    (found,) = bad(version=(3, 34, 1))

    assert "3.34.1 is too old" in found.said
    assert "RETURNING" in found.why


def test_a_log_that_may_be_used_and_is_not_is_bad():
    (found,) = bad(journal="delete")

    assert found.said == "delete instead of write-ahead"
    assert bad(journal="delete", safe_log=False) == []


def test_rows_that_point_at_nothing_are_bad():
    (found,) = bad(loose=2)

    assert found.said == "2 rows whose owner is gone"


def test_a_damaged_file_is_told_before_its_rows_and_without_its_words():
    (found,) = bad(loose=2, page_fault="row 7 of ada@quill.example is missing")

    assert "damaged" in found.said
    assert "quill" not in str(found)
    assert "backup" in found.mend


def test_a_real_database_is_well(store):
    assert look_at_tables(store, auto=True).well
    found = look_at_sqlite(store, safe_log=choose_sqlite().wal)

    assert all(one.well for one in found)
    assert len(found) == (3 if store.dialect.name == "sqlite" else 0)


def test_a_row_that_lost_its_field_is_found(tmp_path, store):
    if store.dialect.name != "sqlite":
        pytest.skip("PostgreSQL lets no such row in")
    raw = choose_sqlite().module.connect(store.url.database)
    raw.execute("INSERT INTO outbox_image (outbox_id, content_id, png) VALUES (77, 'x', x'00')")
    raw.commit()
    raw.close()
    found = look_at_sqlite(store, safe_log=choose_sqlite().wal)

    assert [one.said for one in found if not one.well] == ["1 row whose owner is gone"]


def test_a_database_that_was_never_made_is_not_made_by_looking(tmp_path):
    engine = make_engine(f"sqlite:///{tmp_path / 'none.db'}")

    assert look_at_tables(engine, auto=True).said.startswith("not made yet")
    assert list(tmp_path.iterdir()) == []


def test_a_database_marked_by_a_newer_program_is_found(walked_store):
    with walked_store.begin() as conn:
        conn.execute(text("UPDATE alembic_version SET version_num = '9999_later'"))

    assert "9999_later" in look_at_tables(walked_store, auto=True).said
