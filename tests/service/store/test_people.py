"""People are kept once an e-mail address."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from sqlalchemy import Engine

from rootbound_service.records import FieldRecord, Person
from rootbound_service.store.fields import add_field
from rootbound_service.store.people import add_person, list_people, people_of

CLEO = Person("Cleo Reed", "Cleo@Reed.example", "grower", "metric", "America/Denver")


def test_a_person_comes_back_as_stored(store: Engine) -> None:
    with store.begin() as conn:
        stored = add_person(conn, CLEO)
        listed = list_people(conn)

    assert stored.id > 0
    assert replace(stored, id=0) == CLEO
    assert listed == [stored]


def test_an_address_in_other_letters_is_the_same_person_as_first_enrolled(store: Engine) -> None:
    with store.begin() as conn:
        first = add_person(conn, CLEO)
        again = add_person(conn, replace(CLEO, name="C. Reed", email=" cleo@reed.EXAMPLE"))
        listed = list_people(conn)

    assert again == first
    assert listed == [first]


def test_grower_and_adviser_are_told_about_a_field_in_this_order(
    store: Engine, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        add_person(conn, a_field().adviser)  # so that the adviser has the lower id
        field = add_field(conn, a_field())
        told = people_of(conn, field.id)

    assert told == (field.grower, field.adviser)


def test_a_grower_who_advises_the_own_field_is_told_once(
    store: Engine, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        field = add_field(conn, a_field(adviser=a_field().grower))
        told = people_of(conn, field.id)

    assert told == (field.grower,)


def test_a_field_without_an_adviser_has_one_person(
    store: Engine, a_field: Callable[..., FieldRecord]
) -> None:
    with store.begin() as conn:
        field = add_field(conn, a_field(adviser=None))
        told = people_of(conn, field.id)

    assert field.adviser is None
    assert told == (field.grower,)
