"""A night leaves a row only where something changed, and the same row when run again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError

from rootbound_service.records import FieldRecord, RiskRecord
from rootbound_service.store.fields import add_field
from rootbound_service.store.risk import (
    ROUNDING,
    changed,
    latest_risk,
    risk_history,
    risk_on,
    save_risk,
)

RiskMaker = Callable[..., RiskRecord]
FIRST, SECOND, THIRD = (date(2026, 7, day) for day in (1, 2, 3))


def test_a_row_comes_back_as_found(store: Engine, a_risk: RiskMaker) -> None:
    bare = {
        one.name: None
        for one in fields(RiskRecord)
        if "None" in str(one.type) and one.name != "said_rung"
    }
    full, empty = a_risk(said_rung=1), a_risk(night=SECOND, status="unknown", **bare)
    with store.begin() as conn:
        assert save_risk(conn, [full, empty]) == 2

        assert risk_history(conn, full.season_id) == [full, empty]


def test_a_night_like_the_one_before_writes_nothing(store: Engine, a_risk: RiskMaker) -> None:
    with store.begin() as conn:
        save_risk(conn, [a_risk()])
        written = save_risk(conn, [a_risk(night=SECOND)])

        assert written == 0
        assert risk_on(conn, SECOND) == {a_risk().season_id: a_risk()}


@pytest.mark.parametrize("name", sorted(ROUNDING))
def test_a_figure_is_changed_only_beyond_its_rounding(a_risk: RiskMaker, name: str) -> None:
    old = a_risk()
    value = getattr(old, name)

    assert not changed(old, a_risk(**{name: value + 0.9 * ROUNDING[name]}))
    assert not changed(old, a_risk(**{name: value - 0.9 * ROUNDING[name]}))
    assert changed(old, a_risk(**{name: value + 1.1 * ROUNDING[name]}))
    assert changed(old, a_risk(**{name: None}))


def test_every_figure_has_a_rounding() -> None:
    figures = {one.name for one in fields(RiskRecord) if str(one.type).startswith("float")}

    assert set(ROUNDING) == figures


@pytest.mark.parametrize(
    "change",
    [
        {"rung": 2},
        {"raw_rung": 0},
        {"free_rung": None},
        {"nights_below": 1},
        {"said_rung": 1},
        {"reason": "holding"},
        {"stage": "V13"},
        {"status": "unknown"},
        {"days_ahead_kind": "neither"},
        {"weather_through": SECOND},
    ],
)
def test_a_change_of_anything_else_always_counts(
    a_risk: RiskMaker, change: dict[str, object]
) -> None:
    assert changed(a_risk(), a_risk(**change))


def test_later_weather_changes_nothing_once_the_season_is_over(a_risk: RiskMaker) -> None:
    over = a_risk(status="finished")

    assert not changed(over, replace(over, night=SECOND, weather_through=SECOND))


def test_slow_drift_is_written_when_it_adds_up(store: Engine, a_risk: RiskMaker) -> None:
    drift = [a_risk(night=date(2026, 7, day), reach=0.41 - 0.002 * day) for day in range(1, 9)]
    with store.begin() as conn:
        save_risk(conn, drift)

        written = [row.night.day for row in risk_history(conn, drift[0].season_id)]
    assert written == [1, 4, 7]


def test_the_ladder_remembers_only_earlier_nights(store: Engine, a_risk: RiskMaker) -> None:
    one, two = a_risk(), a_risk(night=THIRD, rung=2)
    with store.begin() as conn:
        save_risk(conn, [one, two])

        assert latest_risk(conn, FIRST) == {}
        assert latest_risk(conn, SECOND) == {one.season_id: one}
        assert latest_risk(conn, THIRD) == {one.season_id: one}
        assert latest_risk(conn, date(2026, 7, 4)) == {one.season_id: two}


def test_what_holds_on_a_night_is_its_own_row_or_the_one_before(
    store: Engine, a_risk: RiskMaker
) -> None:
    one, two = a_risk(), a_risk(night=THIRD, rung=2)
    with store.begin() as conn:
        save_risk(conn, [one, two])

        assert risk_on(conn, date(2026, 6, 30)) == {}
        assert risk_on(conn, SECOND) == {one.season_id: one}
        assert risk_on(conn, THIRD) == {one.season_id: two}


def test_seasons_are_kept_apart(
    store: Engine, a_risk: RiskMaker, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        other = add_field(conn, a_field(name="South Forty")).season_id
        here, there = a_risk(), a_risk(season_id=other, rung=3)
        save_risk(conn, [here, there])
        save_risk(conn, [replace(here, night=SECOND), replace(there, night=SECOND, rung=4)])

        assert risk_history(conn, here.season_id) == [here]
        assert [row.rung for row in risk_history(conn, other)] == [3, 4]
        assert {key: row.rung for key, row in risk_on(conn, SECOND).items()} == {
            here.season_id: 1,
            other: 4,
        }


def test_a_night_run_again_leaves_the_same(store: Engine, a_risk: RiskMaker) -> None:
    nights = [a_risk(), a_risk(night=SECOND, rung=2)]
    with store.begin() as conn:
        save_risk(conn, nights)
        before = risk_history(conn, nights[0].season_id)
        save_risk(conn, nights[1:])
        save_risk(conn, nights)

        assert risk_history(conn, nights[0].season_id) == before == nights


def test_a_night_run_again_with_better_weather_replaces_its_row(
    store: Engine, a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        save_risk(conn, [a_risk(), a_risk(night=SECOND, rung=3)])
        save_risk(conn, [a_risk(night=SECOND, rung=2)])

        assert [row.rung for row in risk_history(conn, a_risk().season_id)] == [1, 2]


def test_a_night_that_turns_out_like_the_one_before_loses_its_row(
    store: Engine, a_risk: RiskMaker
) -> None:
    with store.begin() as conn:
        save_risk(conn, [a_risk(), a_risk(night=SECOND, rung=3)])
        save_risk(conn, [a_risk(night=SECOND)])

        assert risk_history(conn, a_risk().season_id) == [a_risk()]


def test_a_row_of_no_season_is_refused(store: Engine, a_risk: RiskMaker) -> None:
    with pytest.raises(IntegrityError), store.begin() as conn:
        save_risk(conn, [a_risk(season_id=99)])
