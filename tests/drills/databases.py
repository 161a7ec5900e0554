"""A database for each moment: the file in the copied folder, or a copy on a PostgreSQL server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import make_url, text

from rootbound_service.store.engine import make_engine
from rootbound_service.store.moving import move

FILE = "rootbound.db"
BASE = "drill_base"
NAME = "database.txt"


@contextmanager
def a_copy(server: str, folder: Path) -> Iterator[str]:
    """URL of the database that belongs to a copied data folder."""
    if not server:
        yield f"sqlite:///{folder / FILE}"
        return
    marked = folder / NAME
    source = marked.read_text(encoding="ascii") if marked.exists() else _base(server, folder)
    name = f"drill_{folder.name.replace('-', '_')}"
    _say(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
    _say(server, f"CREATE DATABASE {name} TEMPLATE {source}")
    marked.write_text(name, encoding="ascii")
    try:
        yield url_of(server, name)
    finally:
        _say(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def url_of(server: str, name: str) -> str:
    """URL of a database on the same server."""
    return make_url(server).set(database=name).render_as_string(hide_password=False)


def _base(server: str, folder: Path) -> str:
    """The base moved to the server, once a run: by the service's own command."""
    engine = make_engine(server)
    with engine.connect() as conn:
        there = conn.scalar(text("SELECT 1 FROM pg_database WHERE datname = :n"), {"n": BASE})
    engine.dispose()
    if there:
        return BASE
    _say(server, f"CREATE DATABASE {BASE}")
    old, new = make_engine(f"sqlite:///{folder / FILE}"), make_engine(url_of(server, BASE))
    move(old, new)
    old.dispose()
    new.dispose()
    return BASE


def _say(server: str, command: str) -> None:
    """One command outside any transaction."""
    engine = make_engine(server)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as conn:
        conn.exec_driver_sql(command)
    engine.dispose()
