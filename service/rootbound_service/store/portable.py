"""Column types and inserts that mean the same on SQLite and on PostgreSQL."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from sqlalchemy import Connection, DateTime, Dialect, Table, Text, TypeDecorator
from sqlalchemy.dialects import postgresql, sqlite


class UTCDateTime(TypeDecorator[datetime]):
    """A moment: refused without a time zone, given back aware and in UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - theirs
        """Turn a moment to UTC on its way in; SQLite drops the zone after this."""
        if value is None:
            return None
        if value.utcoffset() is None:
            message = f"{value.isoformat()} has no time zone; give an aware datetime"
            raise ValueError(message)
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - theirs
        """Give a moment back in UTC; SQLite's comes without a zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class PortableJSON(TypeDecorator[object]):
    """JSON kept as text, so that every number comes back to the digit; no NaN."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: object, dialect: Dialect) -> str:  # noqa: ARG002 - theirs
        """Write a value as JSON with its keys sorted."""
        return json.dumps(value, allow_nan=False, ensure_ascii=False, sort_keys=True)

    def process_result_value(self, value: str | None, dialect: Dialect) -> object:  # noqa: ARG002 - theirs
        """Read a value back."""
        return None if value is None else json.loads(value)


def insert_into(conn: Connection, table: Table) -> sqlite.Insert | postgresql.Insert:
    """Begin an insert that may say what happens when the row is there already.

    Parameters
    ----------
    conn
        The connection it will run on.
    table
        Where to insert.

    Returns
    -------
    Insert
        Either dialect's; both have ``on_conflict_do_nothing`` and ``on_conflict_do_update``.
    """
    if conn.dialect.name == "postgresql":
        return postgresql.insert(table)
    return sqlite.insert(table)
