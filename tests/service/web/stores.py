"""What stands in every table, so that a test can see what a request has changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Engine, select

from rootbound_service.store.schema_base import metadata

Row = tuple[tuple[str, Any], ...]
Stand = Mapping[str, frozenset[Row]]
OF_THE_WAY_IN = frozenset({"web_session", "sign_in_link", "outbox", "audit"})
"""Tables that asking for a page or signing in may change."""


def stand(engine: Engine) -> Stand:
    """Read every row."""
    with engine.execution_options(ro=True).connect() as conn:
        return {
            table.name: frozenset(
                tuple((name, repr(value)) for name, value in row.items())
                for row in conn.execute(select(table)).mappings()
            )
            for table in metadata.sorted_tables
        }


def gone(before: Stand, after: Stand, *besides: str) -> list[tuple[str, Row]]:
    """Rows that were there and are not, or not as they were."""
    return [
        (name, row)
        for name, rows in before.items()
        if name not in besides
        for row in rows - after[name]
    ]


def new(before: Stand, after: Stand, *besides: str) -> list[tuple[str, Row]]:
    """Rows that were not there."""
    return gone(after, before, *besides)
