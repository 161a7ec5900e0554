"""Fields by their numbers, in the order asked for, and the stream of those that are due."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine, event

from rootbound_service.records import DigRecord, FieldRecord, ObservationRecord
from rootbound_service.store import field_rows
from rootbound_service.store.field_rows import field_keys, load_fields, load_fields_of
from rootbound_service.store.fields import add_dig, add_field, find_field
from rootbound_service.store.observations import add_observation

FieldMaker = Callable[..., FieldRecord]
NIGHT = date(2026, 7, 1)


@pytest.fixture
def fields(store: Engine, a_field: FieldMaker) -> list[FieldRecord]:
    """Six fields, every second without an adviser, each third dug and seen."""
    made = []
    with store.begin() as conn:
        for i in range(6):
            one = a_field(name=f"Field {i}", lat=41.0 + i / 10)
            one = add_field(conn, replace(one, adviser=None) if i % 2 else one)
            if i % 3 == 0:
                add_dig(conn, one.season_id, DigRecord(date(2026, 6, 2), 2, form_id="a"))
                add_dig(conn, one.season_id, DigRecord(date(2026, 6, 1), 1))
                at = datetime(2026, 6, 20, 12, tzinfo=UTC)
                seen = ObservationRecord("rain", date(2026, 6, 19), 12.5, "Ada", at)
                add_observation(conn, one.season_id, seen)
            made.append(find_field(conn, f"Field {i}"))
    return made


def test_fields_come_in_the_order_of_the_numbers_given(
    store: Engine, fields: list[FieldRecord]
) -> None:
    wanted = [fields[4], fields[0], fields[3], fields[1]]
    with store.connect() as conn:
        found = load_fields_of(conn, [*(one.id for one in wanted), 999], on=NIGHT)
        every = load_fields(conn, on=NIGHT)

        assert load_fields_of(conn, [], on=NIGHT) == []
    assert found == wanted
    assert every == fields
    assert [len(one.digs) for one in found] == [0, 2, 2, 0]
    assert [dig.wall_class for dig in found[1].digs] == [1, 2]
    assert [len(one.observations) for one in found] == [0, 1, 1, 0]
    assert found[0].soil.origins == fields[4].soil.origins


def test_a_slice_takes_as_many_queries_as_one_field(
    store: Engine, fields: list[FieldRecord]
) -> None:
    said: list[str] = []
    event.listen(store, "before_cursor_execute", lambda *args: said.append(args[2]))
    with store.connect() as conn:
        load_fields_of(conn, [fields[0].id], on=NIGHT)
        one = sum(query.startswith("SELECT") for query in said)
        load_fields_of(conn, [field.id for field in fields], on=NIGHT)

    assert sum(query.startswith("SELECT") for query in said) == 2 * one == 8


def test_the_stream_names_the_season_that_the_night_would_load(
    store: Engine, fields: list[FieldRecord], a_field: FieldMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(field_rows, "KEYS_AT_ONCE", 2)
    with store.begin() as conn:
        add_field(conn, a_field(name="Field 0", planted=date(2027, 4, 20)))
        late = add_field(conn, a_field(name="Planted later", planted=date(2026, 7, 2)))
    with store.connect() as conn:
        keys = list(field_keys(conn, NIGHT))
        loaded = load_fields_of(conn, [key.field_id for key in keys], on=NIGHT)
        then = [key.field_id for key in field_keys(conn, date(2026, 7, 2))]
        before = list(field_keys(conn, date(2026, 4, 1)))

    assert [tuple(key) for key in keys] == [
        (one.id, one.season_id, one.lat, one.lon, one.crop, one.planted) for one in loaded
    ]
    assert [key.season_id for key in keys] == [one.season_id for one in fields]
    assert then == [*(one.id for one in fields), late.id]
    assert before == []
