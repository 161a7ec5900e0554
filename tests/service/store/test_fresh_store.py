"""Every test finds its store without rows, whatever the one before it left there."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, exists, select

from rootbound_service.store.accounts import new_account
from rootbound_service.store.schema import metadata

NOON = datetime(2026, 7, 14, 17, 0, tzinfo=UTC)


@pytest.mark.parametrize("turn", ["first", "second"])
def test_a_store_begins_without_rows_and_its_numbers_with_one(store: Engine, turn: str) -> None:
    with store.begin() as conn:
        rows = [conn.scalar(select(exists().select_from(one))) for one in metadata.sorted_tables]
        numbers = [new_account(conn, name, NOON) for name in (turn, f"{turn} again")]

    assert not any(rows)
    assert numbers == [1, 2]
