"""Places to restore to, backups to spoil, and what a database holds, row by row."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, inspect, select

from conftest import DATABASES, POSTGRES
from rootbound_service.store.backing_up import back_up
from rootbound_service.store.backup_archive import open_archive
from rootbound_service.store.engine import make_engine
from rootbound_service.store.restoring import Restored, restore
from rootbound_service.store.schema import metadata
from service.store.rows_of_all import fill_every_table
from tables import a_schema, put_tables

TAKEN = datetime(2026, 7, 14, 11, 0, 0, 250, UTC)
KEPT = ("forecasts",)
ISSUE = Path("forecasts") / "issues" / "cell" / "one.json.gz"


@contextmanager
def an_empty_place(kind: str, folder: Path) -> Iterator[Engine]:
    """Give a database without tables: a file yet to come, or a schema on the server."""
    if kind == "sqlite":
        engine = make_engine(f"sqlite:///{folder / 'restored' / 'rootbound.db'}")
        yield engine
        engine.dispose()
        return
    with a_schema(POSTGRES) as url:
        engine = make_engine(url)
        yield engine
        engine.dispose()


def take(engine: Engine, to: Path) -> Path:
    """Take a backup with one issue of a forecast beside the tables."""
    data_dir = to.parent / "data"
    (data_dir / ISSUE).parent.mkdir(parents=True, exist_ok=True)
    (data_dir / ISSUE).write_bytes(b"an issue")
    back_up(engine, to, TAKEN, data_dir, KEPT)
    return to


def put_back(engine: Engine, place: Path, data_dir: Path, *, send: bool = False) -> Restored:
    """Restore a backup."""
    with open_archive(place) as archive:
        return restore(engine, archive, data_dir, send=send)


def rows(engine: Engine) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table of ours, in an order that both databases agree on."""
    with engine.connect() as conn:
        return {
            one.name: sorted((tuple(row) for row in conn.execute(select(one))), key=repr)
            for one in metadata.sorted_tables
        }


def untouched(engine: Engine, data_dir: Path) -> bool:
    """Whether a place is as empty as before: no table, no file, no folder's content."""
    file = engine.url.database if engine.dialect.name == "sqlite" else None
    tables = [] if file and not Path(file).exists() else inspect(engine).get_table_names()
    return not tables and not (data_dir.exists() and any(data_dir.iterdir()))


def rewritten(place: Path, **changes: Any) -> Path:
    """Change what a backup in a folder says of itself, with a checksum that fits."""
    told = json.loads((place / "manifest.json").read_text("utf-8")) | changes
    text = json.dumps(told).encode()
    (place / "manifest.json").write_bytes(text)
    (place / "manifest.sha256").write_text(f"{hashlib.sha256(text).hexdigest()}  manifest.json\n")
    return place


@pytest.fixture(name="target", params=DATABASES)
def a_target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    """An empty place, on each database."""
    with an_empty_place(request.param, tmp_path) as engine:
        yield engine


@pytest.fixture(name="source")
def a_source(tmp_path: Path) -> Iterator[Engine]:
    """A database with rows in every table."""
    engine = make_engine(f"sqlite:///{put_tables(tmp_path / 'source')}")
    with engine.begin() as conn:
        fill_every_table(conn)
    yield engine
    engine.dispose()


@pytest.fixture(name="folder")
def a_folder(source: Engine, tmp_path: Path) -> Path:
    """A backup of it, as a folder."""
    return take(source, tmp_path / "out" / "whole")


@pytest.fixture(name="tar")
def a_tar(source: Engine, tmp_path: Path) -> Path:
    """A backup of it, as one file."""
    return take(source, tmp_path / "out" / "whole.tar")
