"""What tests of several rooms share: a fresh store on each database, and a clock to set."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from sqlalchemy import URL, Engine, make_url
from sqlalchemy.schema import CreateSchema, DropSchema

from rootbound_service.clock import SetClock
from rootbound_service.store.engine import make_engine, migrate

POSTGRES = os.environ.get("ROOTBOUND_TEST_POSTGRES", "")
NEEDS_POSTGRES = pytest.mark.skipif(
    not POSTGRES,
    reason="ROOTBOUND_TEST_POSTGRES names no server; run under deploy/with-postgres",
)
DATABASES = ["sqlite", pytest.param("postgres", marks=NEEDS_POSTGRES)]


@pytest.fixture
def clock() -> SetClock:
    """A clock that stands at a July morning until it is set."""
    return SetClock(datetime(2026, 7, 14, 11, 0, tzinfo=UTC))


@pytest.fixture(params=DATABASES)
def empty_store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """A database without tables: a temporary file, then a schema of its own on a server."""
    if request.param == "sqlite":
        yield from _engine(f"sqlite:///{tmp_path / 'rootbound.db'}")
        return
    with _fresh_schema() as url:
        yield from _engine(url.render_as_string(hide_password=False))


@pytest.fixture
def store(empty_store: Engine) -> Engine:
    """A database with all tables and no rows."""
    migrate(empty_store)
    return empty_store


def _engine(url: str) -> Iterator[Engine]:
    engine = make_engine(url)
    yield engine
    engine.dispose()


@contextmanager
def _fresh_schema() -> Iterator[URL]:
    name = f"test_{uuid4().hex}"
    server = make_engine(POSTGRES)
    with server.begin() as conn:
        conn.execute(CreateSchema(name))
    yield make_url(POSTGRES).update_query_dict({"options": f"-csearch_path={name}"})
    with server.begin() as conn:
        conn.execute(DropSchema(name, cascade=True))
    server.dispose()
