"""The ways people are reached, and what they agreed to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, RowMapping, insert, select

from rootbound_service.records import Channel, ConsentEvent, Contact
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import consent_event, contact, contact_field
from rootbound_service.store.slices import slices

COLUMNS = ("id", "person_id", "channel", "address", "notes", "least_rung", "digest_day")
CONSENT = ("id", "contact_id", "kind", "at", "how", "wording", "said")


def put_contact(conn: Connection, record: Contact, consent: ConsentEvent | None) -> Contact:
    """Store a way to reach a person, or bring what they want by it up to date.

    Parameters
    ----------
    conn
        The caller's transaction.
    record
        The contact; ``id`` is not read, person, channel and address find it.
    consent
        What they agreed to, if they did so now; its ``contact_id`` is not read.

    Returns
    -------
    Contact
        As stored.
    """
    keys = ["person_id", "channel", "address_key"]
    wishes: dict[str, Any] = {
        "notes": record.notes,
        "least_rung": record.least_rung,
        "digest_day": record.digest_day,
    }
    values = wishes | {
        "person_id": record.person_id,
        "channel": record.channel,
        "address": record.address,
        "address_key": record.address.casefold(),
    }
    put = insert_into(conn, contact).values(values)
    put = put.on_conflict_do_update(index_elements=keys, set_=wishes)
    contact_id = conn.scalars(put.returning(contact.c.id)).one()
    conn.execute(contact_field.delete().where(contact_field.c.contact_id == contact_id))
    if record.field_ids:
        only = [{"contact_id": contact_id, "field_id": one} for one in record.field_ids]
        conn.execute(insert(contact_field), only)
    if consent is not None:
        add_consent(conn, contact_id, consent)
    return contacts_of(conn, contact.c.id == contact_id)[0]


def add_consent(conn: Connection, contact_id: int, event: ConsentEvent) -> None:
    """Keep what somebody agreed to or took back.

    Parameters
    ----------
    conn
        The caller's transaction.
    contact_id
        The contact.
    event
        What was said; its ids are not read.
    """
    values = {name: getattr(event, name) for name in CONSENT if name != "id"}
    conn.execute(insert(consent_event).values(values | {"contact_id": contact_id}))


def contacts_of(conn: Connection, *where: Any) -> list[Contact]:
    """List contacts, in the order in which they were made.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    where
        Conditions on the contact table; none: all.
    """
    rows = conn.execute(select(contact).where(*where).order_by(contact.c.id)).mappings().all()
    fields: dict[int, list[int]] = defaultdict(list)
    query = select(contact_field).join(contact).where(*where)
    for one in conn.execute(query.order_by(contact_field.c.field_id)):
        fields[one.contact_id].append(one.field_id)
    return [_contact(row, fields[row["id"]]) for row in rows]


def find_contacts(conn: Connection, channel: Channel, address: str) -> list[Contact]:
    """Give the contacts of an address: a phone may be shared by two people.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    channel, address
        Where somebody is reached.
    """
    mine = (contact.c.channel == channel) & (contact.c.address_key == address.casefold())
    return contacts_of(conn, mine)


def consents(conn: Connection, contact_ids: Iterable[int]) -> dict[int, ConsentEvent]:
    """Give what each contact agreed to last; one that never agreed to anything is left out.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact_ids
        The contacts.
    """
    found: dict[int, ConsentEvent] = {}
    for some in slices(contact_ids):
        query = select(consent_event).where(consent_event.c.contact_id.in_(some))
        for row in conn.execute(query.order_by(consent_event.c.id)).mappings():
            event = _consent(row)
            # whoever stops has not agreed by that
            if event.contact_id in found or event.kind == "given":
                found[event.contact_id] = event
    return found


def consents_of(conn: Connection, contact_id: int) -> list[ConsentEvent]:
    """Give everything a contact has agreed to and taken back, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    contact_id
        The contact.
    """
    mine = consent_event.c.contact_id == contact_id
    query = select(consent_event).where(mine).order_by(consent_event.c.id)
    return [_consent(row) for row in conn.execute(query).mappings()]


def _consent(row: RowMapping) -> ConsentEvent:
    return ConsentEvent(**{name: row[name] for name in CONSENT})


def _contact(row: RowMapping, fields: list[int]) -> Contact:
    return Contact(field_ids=tuple(fields), **{name: row[name] for name in COLUMNS})
