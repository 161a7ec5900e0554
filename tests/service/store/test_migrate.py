"""The steps in migrations/ make exactly the tables of schema.py, on either database."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, event, exists, inspect, select, text

from rootbound_service.errors import ServiceError
from rootbound_service.store.engine import make_engine, migrate
from rootbound_service.store.migrate import FOLDER, revision_of
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.schema import metadata


def _shape(engine: Engine) -> dict[str, Any]:
    """Read what alembic's comparison leaves out: primary keys and check constraints."""
    with engine.connect() as conn:
        look = inspect(conn)
        return {
            table: {
                "key": look.get_pk_constraint(table),
                "checks": sorted(look.get_check_constraints(table), key=lambda one: one["name"]),
            }
            for table in sorted(set(look.get_table_names()) - {"alembic_version"})
        }


def test_an_empty_database_is_brought_to_the_newest_step(empty_store: Engine) -> None:
    assert revision_of(empty_store) is None

    migrate(empty_store)

    assert revision_of(empty_store) == HEAD
    with empty_store.connect() as conn:
        rows = [conn.scalar(select(exists().select_from(one))) for one in metadata.sorted_tables]
    assert not any(rows)


def test_the_migrated_tables_equal_the_schema(walked_store: Engine) -> None:
    with walked_store.connect() as conn:
        context = MigrationContext.configure(conn, opts={"compare_server_default": True})
        difference = compare_metadata(context, metadata)

    assert difference == []


def test_the_migrated_keys_and_checks_equal_the_schema(walked_store: Engine) -> None:
    migrated = _shape(walked_store)
    with walked_store.begin() as conn:
        metadata.drop_all(conn)
        metadata.create_all(conn)

    assert migrated == _shape(walked_store)
    assert set(migrated) == set(metadata.tables)


def test_a_database_up_to_date_is_only_read(walked_store: Engine) -> None:
    said: list[str] = []
    event.listen(walked_store, "before_cursor_execute", lambda *args: said.append(args[2]))

    migrate(walked_store)

    assert any("alembic_version" in statement for statement in said)
    assert not [one for one in said if one.split()[0] in {"CREATE", "ALTER", "INSERT", "UPDATE"}]


def test_two_starts_at_once_migrate_once(empty_store: Engine) -> None:
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(migrate, [empty_store, empty_store]))

    assert revision_of(empty_store) == HEAD


def test_a_database_of_a_newer_version_is_refused_and_left_alone(walked_store: Engine) -> None:
    with walked_store.begin() as conn:
        conn.execute(text("UPDATE alembic_version SET version_num = '9999_later'"))

    with pytest.raises(ServiceError, match=r"cannot migrate .*9999_later"):
        migrate(walked_store)

    assert revision_of(walked_store) == "9999_later"


def test_sqlite_enforces_foreign_keys_again_after_a_migration(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'rootbound.db'}")

    migrate(engine)

    with engine.connect() as conn:
        assert conn.execute(text("PRAGMA foreign_keys")).scalar_one() == 1
    engine.dispose()


def test_the_newest_step_in_the_folder_is_the_one_the_code_expects() -> None:
    config = Config()
    config.set_main_option("script_location", str(FOLDER))

    assert ScriptDirectory.from_config(config).get_heads() == [HEAD]
