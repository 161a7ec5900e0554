"""The people who are told about fields: one row an e-mail address."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, RowMapping, or_, select, update

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import ConsentEvent, Contact, Person
from rootbound_service.store.contacts import put_contact
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field, person

MONDAY = 0
ENROLLED = (
    "Enrolled with this address by the adviser or the operator. Every letter says why it comes "
    "and how to stop it."
)
COLUMNS = ("id", "name", "email", "role", "units", "time_zone", "language")


def add_person(conn: Connection, record: Person, now: datetime | None = None) -> Person:
    """Store a person, or find the one who has this e-mail address already.

    Somebody new becomes a contact by e-mail, with all notes and a digest on Mondays.

    Parameters
    ----------
    conn
        The caller's transaction.
    record
        The person; ``id`` is not read.
    now
        When they were enrolled, if that is to be kept.

    Returns
    -------
    Person
        As stored. Somebody known keeps the name, role, units and time zone on record.
    """
    key = record.email.strip().casefold()
    values: dict[str, Any] = {
        "name": record.name,
        "email": record.email.strip(),
        "email_key": key,
        "role": record.role,
        "units": record.units,
        "time_zone": record.time_zone,
        "language": record.language,
    }
    new = insert_into(conn, person).values(values)
    new = new.on_conflict_do_nothing(index_elements=["email_key"])
    new_id = conn.scalar(new.returning(person.c.id))
    if new_id is not None:
        by_mail = Contact(new_id, "email", values["email"], digest_day=MONDAY)
        enrolled = ConsentEvent(0, "given", now, "enrolment", ENROLLED)
        put_contact(conn, by_mail, enrolled)
    found = conn.execute(select(person).where(person.c.email_key == key)).mappings().one()
    return person_from(found)


def change_person(conn: Connection, person_id: int, wishes: Mapping[str, str]) -> Person:
    """Change how somebody reads; letters written from now on follow it.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        The person.
    wishes
        ``units``, ``time_zone`` and ``language`` as far as they change; at least one.
    """
    this = person.c.id == person_id
    conn.execute(update(person).where(this).values(dict(wishes)))
    return person_from(conn.execute(select(person).where(this)).mappings().one())


def list_people(conn: Connection) -> list[Person]:
    """List everybody, in the order they were enrolled.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.

    Returns
    -------
    list of Person
        Everybody on record.
    """
    rows = conn.execute(select(person).order_by(person.c.id)).mappings()
    return [person_from(row) for row in rows]


def person_with(conn: Connection, person_id: int) -> Person:
    """Give the person who has a number.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        As a contact, a message or a field has it: of somebody on record.
    """
    query = select(person).where(person.c.id == person_id)
    return person_from(conn.execute(query).mappings().one())


def people_of(conn: Connection, field_id: int) -> tuple[Person, ...]:
    """Tell who is told about a field: its grower, then its adviser if it has one.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_id
        The field.

    Returns
    -------
    tuple of Person
        One or two people, each once; none if there is no such field.
    """
    told = or_(person.c.id == field.c.grower_id, person.c.id == field.c.adviser_id)
    query = select(person).join(field, told).where(field.c.id == field_id)
    rows = conn.execute(query.order_by(person.c.id != field.c.grower_id)).mappings()
    return tuple(person_from(row) for row in rows)


def person_from(row: RowMapping, prefix: str = "") -> Person:
    """Make a person of a row.

    Parameters
    ----------
    row
        A row with the person's columns.
    prefix
        What stands before their names in the row.

    Returns
    -------
    Person
        The person.
    """
    return Person(**{name: row[prefix + name] for name in COLUMNS})


def find_person(conn: Connection, name_or_mail: str) -> Person:
    """Find one person by name, mail address or number.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    name_or_mail
        In any case.

    Raises
    ------
    RefusedInput
        If nobody is called so, or several are.
    """
    key = " ".join(name_or_mail.split()).casefold()
    every = list_people(conn)
    found = [
        one
        for one in every
        if key in {one.name.casefold(), one.email.casefold(), str(one.id), f"#{one.id}"}
    ]
    if len(found) == 1:
        return found[0]
    names = {one.name.casefold(): one.name for one in every}
    if found:
        wanted = f"give one of {', '.join(f'#{one.id} ({one.email})' for one in found)}"
        what = f"{len(found)} people are called {name_or_mail.strip()}"
    else:
        near = [names[one] for one in get_close_matches(key, names, n=3)]
        wanted = f"did you mean {' or '.join(near)}?" if near else "see rootbound people list"
        what = f"nobody is called {name_or_mail.strip()}"
    raise RefusedInput((Problem("person", what, wanted),))
