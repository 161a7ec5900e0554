"""PostgreSQL's numbers of rows, after rows came in with numbers of their own."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, Integer, Table, func, select


def count_on(conn: Connection, tables: Iterable[Table]) -> None:
    """Let new numbers begin past those that came in.

    Parameters
    ----------
    conn
        To PostgreSQL; SQLite counts on by itself.
    tables
        Those that were filled.
    """
    for table in tables:
        for key in table.primary_key.columns:
            if not isinstance(key.type, Integer):
                continue
            numbers = conn.scalar(select(func.pg_get_serial_sequence(table.name, key.name)))
            highest = conn.scalar(select(func.max(key)))
            if numbers is not None:
                begun = highest is not None and highest >= 1
                conn.execute(select(func.setval(numbers, highest if begun else 1, begun)))
