"""Moments and JSON come back from either database as they went in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import Column, Connection, Engine, Integer, MetaData, Table, insert, select
from sqlalchemy.exc import StatementError

from rootbound_service.store.portable import PortableJSON, UTCDateTime

SHELF = Table(
    "shelf",
    MetaData(),
    Column("id", Integer, primary_key=True),
    Column("at", UTCDateTime),
    Column("thing", PortableJSON),
)


@pytest.fixture
def conn(empty_store: Engine) -> Iterator[Connection]:
    """A transaction in a database with the shelf."""
    with empty_store.begin() as conn:
        SHELF.create(conn)
        yield conn


def test_a_moment_comes_back_in_utc_whatever_zone_it_had(conn: Connection) -> None:
    local = datetime(2026, 7, 14, 6, 5, 1, 250, tzinfo=timezone(timedelta(hours=-5)))
    conn.execute(insert(SHELF).values(at=local))

    at = conn.execute(select(SHELF.c.at)).scalar_one()

    assert at == local
    assert at.tzinfo is UTC


def test_moments_of_different_zones_compare_in_the_database(conn: Connection) -> None:
    early = datetime(2026, 7, 14, 23, 0, tzinfo=timezone(timedelta(hours=9)))  # 14:00 UTC
    conn.execute(insert(SHELF).values(at=early))

    later = datetime(2026, 7, 14, 15, 0, tzinfo=UTC)

    assert conn.execute(select(SHELF.c.id).where(SHELF.c.at < later)).all() != []


def test_a_moment_without_a_zone_is_refused(conn: Connection) -> None:
    naive = datetime(2026, 7, 14, 6, 5)  # noqa: DTZ001 - this is what must be refused

    with pytest.raises(StatementError, match="2026-07-14T06:05:00 has no time zone"):
        conn.execute(insert(SHELF).values(at=naive))


def test_json_comes_back_to_the_digit(conn: Connection) -> None:
    thing = {"b": [0.1 + 0.2, 1e-300, 12], "a": {"ø": None, "yes": True}}
    conn.execute(insert(SHELF).values(thing=thing))

    assert conn.execute(select(SHELF.c.thing)).scalar_one() == thing


def test_a_number_that_is_none_is_refused_in_json(conn: Connection) -> None:
    with pytest.raises(StatementError, match="JSON compliant"):
        conn.execute(insert(SHELF).values(thing={"rain_mm": float("nan")}))
