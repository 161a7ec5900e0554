"""Two databases for the tests of a move: an old one, filled, and a new one without rows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from conftest import NEEDS_POSTGRES
from rootbound_service.store.engine import make_engine
from rootbound_service.store.schema import metadata
from service.store.rows_of_schema import fill
from tables import empty, put_tables

PAIRS = [
    ("sqlite", "sqlite"),
    pytest.param(("sqlite", "postgres"), marks=NEEDS_POSTGRES),
    pytest.param(("postgres", "sqlite"), marks=NEEDS_POSTGRES),
]
TO_POSTGRES, FROM_SQLITE = PAIRS[1:2], PAIRS[:2]
EVERY = sorted(metadata.tables)


@contextmanager
def opened(url: str) -> Iterator[Engine]:
    """An engine, closed afterwards."""
    engine = make_engine(url)
    yield engine
    engine.dispose()


@contextmanager
def database(kind: str, folder: Path, shared: Engine | None = None) -> Iterator[Engine]:
    """A database with all tables and no rows; ``shared``: that on the server."""
    if shared is not None and kind == "postgres":
        empty(shared)
        url = shared.url.render_as_string(hide_password=False)
    else:
        folder.mkdir()
        url = f"sqlite:///{put_tables(folder)}"
    with opened(url) as engine:
        yield engine


def a_pair(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[Engine, Engine]]:
    """A fixture's body: three rows in every table of the old one, none in the new."""
    kinds = request.param
    shared = request.getfixturevalue("_postgres") if "postgres" in kinds else None
    with (
        database(kinds[0], tmp_path / "old", shared) as old,
        database(kinds[1], tmp_path / "new", shared) as new,
    ):
        fill(old)
        yield old, new


def rows(engine: Engine) -> dict[str, list[tuple[object, ...]]]:
    """Every row as the program reads it, by the schema itself."""
    with engine.execution_options(ro=True).connect() as conn:
        return {
            name: [tuple(row) for row in conn.execute(select(one).order_by(*one.primary_key))]
            for name, one in metadata.tables.items()
        }


def has_rows(engine: Engine) -> bool:
    """Whether any table has any."""
    return any(rows(engine).values())
