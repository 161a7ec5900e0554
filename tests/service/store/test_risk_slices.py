"""A night comes in slices, and each field stands as its last row says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import Engine, event, func, select, update

from rootbound_service.records import FieldRecord, RiskRecord
from rootbound_service.store.fields import add_field
from rootbound_service.store.risk import latest_risk, risk_history, risk_of_seasons, save_risk
from rootbound_service.store.schema import risk, standing
from rootbound_service.store.standings import place_of

RiskMaker = Callable[..., RiskRecord]
FieldMaker = Callable[..., FieldRecord]
FIRST, SECOND, THIRD = (date(2026, 7, day) for day in (1, 2, 3))
MANY = 12


@pytest.fixture
def seasons(store: Engine, a_field: FieldMaker) -> list[int]:
    with store.begin() as conn:
        return [add_field(conn, a_field(name=f"Field {i}")).season_id for i in range(MANY)]


def _stands(engine: Engine) -> dict[int, tuple[object, ...]]:
    with engine.connect() as conn:
        query = select(
            standing.c.season_id, standing.c.night, standing.c.status, standing.c.rung,
            standing.c.place, standing.c.changed,
        )  # fmt: skip
        return {row[0]: tuple(row[1:]) for row in conn.execute(query)}


def _night(a_risk: RiskMaker, seasons: list[int], night: date, rung: int) -> list[RiskRecord]:
    return [
        a_risk(
            season_id=one, night=night, rung=rung, water_in_reach_mm=10.0 + place,
            detail={"a": [place, None, "Ünter\t\\N"]},
        )
        for place, one in enumerate(seasons)
    ]  # fmt: skip


def test_slices_of_one_transaction_leave_what_one_list_leaves(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    whole = _night(a_risk, seasons, FIRST, 1)
    with store.begin() as conn:
        written = [save_risk(conn, whole[start : start + 5]) for start in range(0, MANY, 5)]

        assert written == [5, 5, 2]
        found = latest_risk(conn, SECOND, seasons)
    assert found == {row.season_id: row for row in whole}
    assert [found[row.season_id].detail for row in whole] == [row.detail for row in whole]
    assert risk_counts(store) == MANY


def test_a_slice_that_fails_takes_the_whole_night_with_it(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    spoiled = [a_risk(season_id=seasons[7], detail={"a": float("nan")})]
    with store.connect() as conn:
        save_risk(conn, _night(a_risk, seasons[:6], FIRST, 1))
        with pytest.raises(ValueError, match="not JSON compliant"):
            save_risk(conn, spoiled)

    assert risk_counts(store) == 0
    assert {stand[0] for stand in _stands(store).values()} == {None}


def test_only_seasons_that_were_asked_for_are_remembered(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        save_risk(conn, _night(a_risk, seasons, FIRST, 1))

        assert set(latest_risk(conn, SECOND, seasons[3:5])) == set(seasons[3:5])
        assert latest_risk(conn, SECOND, []) == {}
        assert set(latest_risk(conn, SECOND)) == set(seasons)
        assert set(risk_of_seasons(conn, iter(seasons[:2]))) == set(seasons[:2])


def test_each_field_stands_where_its_row_says_and_others_stay(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    rows = _night(a_risk, seasons[:4], FIRST, 2)
    before = _stands(store)
    with store.begin() as conn:
        save_risk(conn, rows)
    after = _stands(store)

    for row in rows:
        place = place_of(row.status, row.rung, row.water_in_reach_mm)
        *stood, changed = after[row.season_id]
        assert stood == [FIRST, "watched", 2, pytest.approx(place, abs=1e-12)]
        assert changed == before[row.season_id][-1] + 1  # type: ignore[operator]
    assert {one: after[one] for one in seasons[4:]} == {one: before[one] for one in seasons[4:]}


def test_an_earlier_night_run_again_does_not_move_a_field_back(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        save_risk(conn, _night(a_risk, seasons, FIRST, 1))
        save_risk(conn, _night(a_risk, seasons, THIRD, 3))
        save_risk(conn, _night(a_risk, seasons, SECOND, 2))

    assert {_stands(store)[one][:3] for one in seasons} == {(THIRD, "watched", 3)}


def test_a_field_whose_row_is_taken_away_stands_as_before_it(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    first = _night(a_risk, seasons, FIRST, 1)
    with store.begin() as conn:
        save_risk(conn, first)
        save_risk(conn, _night(a_risk, seasons, SECOND, 4))
        save_risk(conn, [replace(row, night=SECOND) for row in first])

        assert risk_history(conn, seasons[0]) == first[:1]
    assert {_stands(store)[one][:3] for one in seasons} == {(FIRST, "watched", 1)}


def test_of_two_rows_of_one_season_and_night_the_later_counts(
    store: Engine, a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        assert save_risk(conn, [a_risk(rung=1), a_risk(rung=2)]) == 1

        assert [row.rung for row in risk_history(conn, a_risk().season_id)] == [2]


def test_what_is_as_before_is_not_written(
    store: Engine, seasons: list[int], a_risk: RiskMaker
) -> None:
    first = _night(a_risk, seasons, FIRST, 1)
    with store.begin() as conn:
        save_risk(conn, first)
    said: list[str] = []
    with store.begin() as conn:
        event.listen(conn, "before_cursor_execute", lambda *args: said.append(args[2].split()[0]))
        save_risk(conn, [replace(row, night=SECOND) for row in first])

    assert not {"INSERT", "UPDATE", "CREATE"} & set(said)


def test_the_memory_is_read_from_the_rows_whatever_a_standing_says(
    store: Engine, a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        save_risk(conn, [a_risk()])
        conn.execute(update(standing).values(night=FIRST + timedelta(days=40)))

        assert latest_risk(conn, SECOND, [a_risk().season_id]) == {a_risk().season_id: a_risk()}


def risk_counts(engine: Engine) -> int:
    """How many rows of risk there are."""
    with engine.connect() as conn:
        return conn.scalar(select(func.count()).select_from(risk)) or 0
