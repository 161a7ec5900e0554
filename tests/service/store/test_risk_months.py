"""PostgreSQL's risk rows lie in months that are there before they are needed; SQLite has none."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy import Engine, select, text

from rootbound_service.errors import ServiceError
from rootbound_service.records import RiskRecord
from rootbound_service.store.risk import latest_risk, risk_history, save_risk
from rootbound_service.store.risk_months import make_room, months_there, room_for
from rootbound_service.store.schema import risk

RiskMaker = Callable[..., RiskRecord]
LATE, EARLY = date(2031, 12, 31), date(2032, 1, 1)


def _months(engine: Engine) -> set[str]:
    with engine.connect() as conn:
        return months_there(conn)


def _only_on(engine: Engine, server: str) -> None:
    if engine.dialect.name != server:
        pytest.skip(f"only {server} is asked")


def test_this_month_and_the_next_two_are_made_once(walked_store: Engine) -> None:
    made = make_room(walked_store, date(2026, 11, 30))
    again = make_room(walked_store, date(2026, 11, 30))

    wanted = ["risk_2026_11", "risk_2026_12", "risk_2027_01"]
    assert made == ([] if walked_store.dialect.name == "sqlite" else wanted)
    assert again == []
    assert _months(walked_store) == set(made)


def test_a_night_of_a_month_nobody_made_makes_it_itself(store: Engine, a_risk: RiskMaker) -> None:
    late, early = a_risk(night=LATE), a_risk(night=EARLY, rung=3)
    with store.begin() as conn:
        save_risk(conn, [late, early])

        assert risk_history(conn, late.season_id) == [late, early]
    if store.dialect.name == "postgresql":
        assert {"risk_2031_12", "risk_2032_01"} <= _months(store)


def test_each_row_lies_in_the_month_of_its_night(store: Engine, a_risk: RiskMaker) -> None:
    _only_on(store, "postgresql")
    with store.begin() as conn:
        save_risk(conn, [a_risk(night=LATE), a_risk(night=EARLY, rung=3)])
        where = text("SELECT night, tableoid::regclass::text FROM risk ORDER BY night")

        assert list(conn.execute(where)) == [(LATE, "risk_2031_12"), (EARLY, "risk_2032_01")]


def test_the_memory_reaches_over_months_without_a_row(store: Engine, a_risk: RiskMaker) -> None:
    with store.begin() as conn:
        room_for(conn, [date(2026, month, 1) for month in (7, 8, 9, 10)])
        save_risk(conn, [a_risk()])

        assert latest_risk(conn, date(2026, 10, 2), [a_risk().season_id]) == {
            a_risk().season_id: a_risk()
        }


def test_a_month_that_was_taken_away_is_no_longer_read_and_stands_in_nobodys_way(
    walked_store: Engine,
) -> None:
    _only_on(walked_store, "postgresql")
    make_room(walked_store, date(2026, 7, 1))
    with walked_store.connect().execution_options(isolation_level="AUTOCOMMIT") as conn:
        conn.execute(text("ALTER TABLE risk DETACH PARTITION risk_2026_07 CONCURRENTLY"))

    assert _months(walked_store) == {"risk_2026_08", "risk_2026_09"}
    with walked_store.connect() as conn:
        assert conn.execute(select(risk)).all() == []
    with pytest.raises(ServiceError, match=r"risk_2026_07 is there .* drop it"):
        make_room(walked_store, date(2026, 7, 1))
