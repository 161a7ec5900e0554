"""What tests of several rooms share: a store on each database, and a clock to set."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import structlog
from hypothesis import settings
from sqlalchemy import Engine

from once import begin_run
from rootbound_service.clock import SetClock
from rootbound_service.store.engine import make_engine, migrate
from tables import a_schema, empty, put_tables

POSTGRES = os.environ.get("ROOTBOUND_TEST_POSTGRES", "")
NEEDS_POSTGRES = pytest.mark.skipif(
    not POSTGRES,
    reason="ROOTBOUND_TEST_POSTGRES names no server; run under deploy/with-postgres",
)
settings.register_profile("any machine", deadline=None)  # a busy one takes longer, and is no fault
settings.load_profile("any machine")
LONG = (
    "test_demo.py", "test_many.py", "test_axe.py", "test_whole_code.py", "test_real_seasons.py",
    "test_sweep_of_night.py", "test_killed_senders.py", "test_runs.py", "test_keyboard.py",
    "test_moments.py", "test_whole_schema.py", "test_stored.py", "test_access.py", "test_night.py",
    "test_season_of_faults.py",
)  # fmt: skip
"""Files of a quarter of a minute and more, the longest first."""
DATABASES = ["sqlite", pytest.param("postgres", marks=NEEDS_POSTGRES)]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the long files: one that came last would leave the other workers idle."""
    items.sort(key=lambda item: LONG.index(item.path.name) if item.path.name in LONG else len(LONG))


@pytest.fixture(scope="session", autouse=True)
def _one_run(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Let the workers share what one of them made: their folders stand in one of the run."""
    own = tmp_path_factory.getbasetemp()
    begin_run((own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "once")


@pytest.fixture(autouse=True)
def _log_of_its_own() -> Iterator[None]:
    """Let no test inherit the log of a command: its stderr is gone by then."""
    yield
    structlog.reset_defaults()


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
    with a_schema(POSTGRES) as url:
        yield from _engine(url)


@pytest.fixture
def walked_store(empty_store: Engine) -> Engine:
    """A database that has just walked the steps: for tests that change its tables."""
    migrate(empty_store)
    return empty_store


@pytest.fixture(scope="session")
def _postgres() -> Iterator[Engine]:
    """One schema for all tests of a worker: to empty it is far quicker than to make it."""
    with a_schema(POSTGRES) as url:
        engine = make_engine(url)
        migrate(engine)
        yield engine
        engine.dispose()


@pytest.fixture(params=DATABASES)
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """A database with all tables and no rows: a temporary file, then one on a server."""
    if request.param == "sqlite":
        yield from _engine(f"sqlite:///{put_tables(tmp_path)}")
        return
    shared: Engine = request.getfixturevalue("_postgres")
    empty(shared)
    yield from _engine(shared.url.render_as_string(hide_password=False))


def _engine(url: str) -> Iterator[Engine]:
    engine = make_engine(url)
    yield engine
    engine.dispose()
