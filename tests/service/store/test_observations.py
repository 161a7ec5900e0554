"""Observations are added and withdrawn, never changed, and are as they were at any moment."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, event, select

from rootbound_service.errors import RefusedInput
from rootbound_service.records import DigRecord, ObservationRecord
from rootbound_service.store.fields import add_dig, add_field, find_field, list_fields
from rootbound_service.store.observations import (
    add_observation,
    every_observation,
    observations_as_of,
    standing,
)
from rootbound_service.store.schema import observation

NOON = datetime(2026, 7, 1, 17, 0, tzinfo=UTC)
RAIN = ObservationRecord("rain", date(2026, 6, 30), 20.3, "Ada", NOON, note="front gauge")


def taking_back(number: int, at: datetime = NOON + timedelta(hours=1)) -> ObservationRecord:
    return ObservationRecord("rain", RAIN.day, None, "Ben", at, withdraws=number)


def test_an_observation_comes_back_as_recorded_with_its_field(
    store: Engine, season_id: int
) -> None:
    with store.begin() as conn:
        stored = add_observation(conn, season_id, RAIN)
        listed = list_fields(conn)

    assert stored == replace(RAIN, id=stored.id)
    assert stored.recorded_at.tzinfo is not None
    assert listed[0].observations == (stored,)


def test_observations_come_oldest_first_whatever_day_they_are_of(
    store: Engine, season_id: int
) -> None:
    later = replace(RAIN, day=date(2026, 6, 1), recorded_at=NOON + timedelta(minutes=1))
    with store.begin() as conn:
        second, first = (add_observation(conn, season_id, one) for one in (later, RAIN))
        found = find_field(conn, "north forty").observations

    assert found == (first, second)


def test_a_form_sent_twice_is_stored_once_as_first_said(store: Engine, season_id: int) -> None:
    form = replace(RAIN, form_id="phone-1")
    with store.begin() as conn:
        first = add_observation(conn, season_id, form)
        again = add_observation(conn, season_id, replace(form, value=99.0))
        rows = every_observation(conn, season_id)

    assert again == first
    assert rows == (first,)


def test_observations_without_a_form_are_each_their_own(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        one, two = (add_observation(conn, season_id, RAIN) for _ in range(2))
        found = find_field(conn, "1").observations

    assert one.id != two.id
    assert found == (one, two)


def test_a_withdrawn_observation_and_its_withdrawal_no_longer_stand(
    store: Engine, season_id: int
) -> None:
    with store.begin() as conn:
        wrong = add_observation(conn, season_id, RAIN)
        right = add_observation(conn, season_id, replace(RAIN, value=2.0))
        back = add_observation(conn, season_id, taking_back(wrong.id))
        found = find_field(conn, "1").observations
        rows = every_observation(conn, season_id)

    assert found == (right,)
    assert rows == (wrong, right, back)


def test_what_stood_at_a_moment_is_told_as_it_stood(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        one = add_observation(conn, season_id, RAIN)
        add_observation(conn, season_id, taking_back(one.id))

        def at(minutes: int) -> tuple[ObservationRecord, ...]:
            return observations_as_of(conn, season_id, NOON + timedelta(minutes=minutes))

        before, then, after = at(-1), at(30), at(60)

    assert (before, then, after) == ((), (one,), ())


def test_what_does_not_stand_cannot_be_withdrawn(store: Engine, season_id: int, a_field) -> None:
    with store.begin() as conn:
        other = add_field(conn, a_field(name="South Forty")).season_id
        elsewhere = add_observation(conn, other, RAIN)
        one = add_observation(conn, season_id, RAIN)
        back = add_observation(conn, season_id, taking_back(one.id))
        told = []
        for number in (one.id, back.id, elsewhere.id, 999):
            with pytest.raises(RefusedInput) as refused:
                add_observation(conn, season_id, taking_back(number))
            told.append(str(refused.value))
        rows = every_observation(conn, season_id)

    assert [text.partition(";")[0] for text in told] == [
        f"withdraw: observation {one.id} has been withdrawn already",
        f"withdraw: observation {back.id} itself withdraws another",
        f"withdraw: this field's season has no observation {elsewhere.id}",
        "withdraw: this field's season has no observation 999",
    ]
    assert rows == (one, back)


def test_a_season_that_is_not_there_is_refused(store: Engine) -> None:
    with store.begin() as conn, pytest.raises(RefusedInput, match="there is no season 7; enrol"):
        add_observation(conn, 7, RAIN)


def test_each_season_of_a_field_has_its_own_observations(store: Engine, a_field) -> None:
    with store.begin() as conn:
        old = add_field(conn, a_field(planted=date(2025, 4, 28))).season_id
        add_observation(conn, old, RAIN)
        add_field(conn, a_field())
        now, then = list_fields(conn), list_fields(conn, date(2025, 7, 1))

    assert now[0].observations == ()
    assert len(then[0].observations) == 1


def test_fields_are_loaded_with_one_query_for_all_observations(
    store: Engine, a_field, season_id: int
) -> None:
    ran: list[str] = []
    with store.begin() as conn:
        for number in range(5):
            one = add_field(conn, a_field(name=f"Field {number}")).season_id
            add_observation(conn, one, RAIN)
        event.listen(conn, "before_cursor_execute", lambda *args: ran.append(args[2]))
        listed = list_fields(conn)

    assert [len(field.observations) for field in listed] == [0, 1, 1, 1, 1, 1]
    assert sum("FROM observation" in text for text in ran) == 1
    assert len(ran) == 4  # fields, people, digs, observations


def test_a_dig_keeps_who_dug_and_when_the_card_came(store: Engine, season_id: int) -> None:
    card = DigRecord(date(2026, 5, 28), 2, by="Ben", recorded_at=NOON)
    with store.begin() as conn:
        add_dig(conn, season_id, card)
        add_dig(conn, season_id, DigRecord(date(2026, 6, 20), 1))
        first, second = find_field(conn, "1").digs

    assert (first.by, first.recorded_at) == ("Ben", NOON)
    assert (second.by, second.recorded_at) == ("", None)


steps = st.lists(
    st.one_of(
        st.tuples(st.just("add"), st.integers(0, 5)), st.tuples(st.just("take"), st.integers(0, 9))
    ),
    max_size=12,
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps)
def test_nothing_stored_is_ever_changed_or_lost(store: Engine, season_id: int, done) -> None:
    """Whatever is added and taken back, every earlier row and every earlier moment stay."""
    with store.connect() as conn:
        kept: list[Any] = []
        stood: list[tuple[datetime, tuple[ObservationRecord, ...]]] = []
        for minute, (act, number) in enumerate(done):
            at = NOON + timedelta(minutes=minute)
            record = replace(RAIN, value=float(number), recorded_at=at)
            rows = every_observation(conn, season_id)
            if act == "take":
                record = taking_back(rows[number % len(rows)].id if rows else number, at)
            may = act == "add" or record.withdraws in {one.id for one in standing(rows)}
            try:
                add_observation(conn, season_id, record)
                assert may
            except RefusedInput:
                assert not may
            found = conn.execute(select(observation).order_by(observation.c.id)).all()
            assert found[: len(kept)] == kept
            assert len(found) == len(kept) + may
            kept = list(found)
            stood.append((at, observations_as_of(conn, season_id, at)))
        for at, then in stood:
            assert observations_as_of(conn, season_id, at) == then
        conn.rollback()
