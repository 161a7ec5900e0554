"""Past years that notes rest on are kept once, and come back byte for byte."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sqlalchemy import Engine, func, select

from rootbound_service.store.kept_weather import keep, kept_among, load
from rootbound_service.store.schema import kept_weather

NOW = datetime(2026, 7, 10, 9, 30, tzinfo=UTC)
PACKED = bytes(range(256)) * 3


def test_what_was_kept_comes_back_byte_for_byte(store: Engine) -> None:
    with store.begin() as conn:
        assert keep(conn, "abc", PACKED, NOW)
    with store.connect() as conn:
        assert load(conn, "abc") == PACKED
        assert kept_among(conn, ["abc", "def"]) == {"abc"}


def test_the_same_past_is_stored_once_over_nights(store: Engine) -> None:
    with store.begin() as conn:
        keep(conn, "abc", PACKED, NOW)
    with store.begin() as conn:
        assert not keep(conn, "abc", b"something else", NOW + timedelta(days=1))
        assert keep(conn, "def", b"another cell", NOW)
        assert load(conn, "abc") == PACKED
        assert conn.scalar(select(func.count()).select_from(kept_weather)) == 2


def test_a_past_that_was_never_kept_is_none(store: Engine) -> None:
    with store.connect() as conn:
        assert load(conn, "abc") is None
        assert kept_among(conn, ["abc"]) == set()
