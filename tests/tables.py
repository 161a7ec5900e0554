"""Databases with all their tables, without every test paying for the steps that make them.

The steps themselves are walked by ``tests/service/store/test_migrate.py`` on empty databases.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

from sqlalchemy import Engine, inspect, make_url
from sqlalchemy.schema import CreateSchema, DropSchema

from once import copy_of
from rootbound_service.store.engine import make_engine, migrate
from rootbound_service.store.schema import metadata

FILE = "rootbound.db"


def put_tables(folder: Path) -> Path:
    """Put a database with all tables and no rows into a folder that has none; its file.

    Parameters
    ----------
    folder
        A data folder, as the settings name it.
    """
    if not (folder / FILE).exists():
        copy_of("tables", _make, folder)
    return folder / FILE


def _make(folder: Path) -> None:
    engine = make_engine(f"sqlite:///{folder / FILE}")
    migrate(engine)
    engine.dispose()


@contextmanager
def a_schema(server: str) -> Iterator[str]:
    """Make a schema without tables on a PostgreSQL server, and drop it afterwards; its URL.

    Parameters
    ----------
    server
        URL of a database there.
    """
    name = f"test_{uuid4().hex}"
    engine = make_engine(server)
    with engine.begin() as conn:
        conn.execute(CreateSchema(name))
    within = make_url(server).update_query_dict({"options": f"-csearch_path={name}"})
    yield within.render_as_string(hide_password=False)
    with engine.begin() as conn:
        conn.execute(DropSchema(name, cascade=True))
    engine.dispose()


def empty(engine: Engine) -> None:
    """Take every row out of a PostgreSQL database and let its numbers begin at 1 again.

    Parameters
    ----------
    engine
        Its tables must be as the steps made them.
    """
    tables = reversed(metadata.sorted_tables)
    rows = [str(table.delete()) for table in tables]
    with engine.begin() as conn:
        names = inspect(conn).get_sequence_names()
        numbers = [f"SELECT setval('{name}', 1, false)" for name in names]
        conn.exec_driver_sql(";".join(rows + numbers))
