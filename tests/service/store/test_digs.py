"""Dig cards are kept with their season, each once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError

from rootbound_service.errors import RefusedInput
from rootbound_service.records import DigRecord, FieldRecord
from rootbound_service.store.fields import add_dig, add_field, list_fields

CARD = DigRecord(
    dug_on=date(2026, 6, 2),
    wall_class=2,
    plants=5,
    crossing=9,
    held=21,
    pan_class=1,
    pan_depth_cm=14.0,
    seed_depth_cm=4.5,
    soil_moisture="moist",
    note="headland, wheel track",
    form_id="3f0c",
)


def test_a_card_comes_back_with_its_field(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        stored = add_dig(conn, season_id, CARD)
        (field,) = list_fields(conn)

    assert stored.id > 0
    assert replace(stored, id=0) == CARD
    assert field.digs == (stored,)


def test_a_card_sent_twice_is_kept_once_as_first_sent(store: Engine, season_id: int) -> None:
    with store.begin() as conn:
        first = add_dig(conn, season_id, CARD)
        again = add_dig(conn, season_id, replace(CARD, wall_class=0))
        (field,) = list_fields(conn)

    assert again == first
    assert field.digs == (first,)


def test_cards_without_a_form_are_each_kept_oldest_first(store: Engine, season_id: int) -> None:
    late = replace(CARD, form_id="", dug_on=date(2026, 6, 20))
    early = replace(late, dug_on=date(2026, 6, 9))
    with store.begin() as conn:
        for card in (late, late, early):
            add_dig(conn, season_id, card)
        (field,) = list_fields(conn)

    assert [dig.dug_on.day for dig in field.digs] == [9, 20, 20]


def test_a_card_of_last_year_stays_with_last_year(
    store: Engine, season_id: int, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        add_dig(conn, season_id, CARD)
        add_field(conn, a_field(planted=date(2027, 5, 1)))
        (now,), (then,) = list_fields(conn), list_fields(conn, date(2026, 7, 1))

    assert now.digs == ()
    assert len(then.digs) == 1


def test_cards_given_at_enrolment_are_kept(
    store: Engine, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        field = add_field(conn, a_field(digs=(CARD,)))

    assert [replace(dig, id=0) for dig in field.digs] == [CARD]


def test_a_card_of_no_season_is_refused(store: Engine) -> None:
    with store.begin() as conn, pytest.raises(RefusedInput, match="no season 99"):
        add_dig(conn, 99, CARD)


def test_a_wall_class_off_our_scale_is_refused(store: Engine, season_id: int) -> None:
    with pytest.raises(IntegrityError), store.begin() as conn:
        add_dig(conn, season_id, replace(CARD, wall_class=4))
