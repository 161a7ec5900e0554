"""Whose ways an adviser may change, and which addresses are theirs to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from rootbound_service.store.accounts import is_operator, members_of, memberships
from rootbound_service.store.contacts import contacts_of, find_contacts
from rootbound_service.store.schema import contact, field, field_person
from rootbound_service.web.access.reader import NotThere, NotYours

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.records import AccessRole, Contact, Person
    from rootbound_service.web.access.reader import Reader

ROLES: dict[str, AccessRole] = {"adviser": "adviser", "grower": "grower", "viewer": "viewer"}
WORDS = {
    "adviser": "sees all fields, enrols, digs, invites",
    "grower": "sees their own fields, records digs and rain",
    "viewer": "sees all fields, changes nothing",
}
OWN_AFFAIR = "They set by themselves what they hear, under their own name."
MOST_WAYS = 6
"""Ways of one person: a new number gets a text, and nobody has seven."""


def member(conn: Connection, who: Reader, person_id: int) -> tuple[Person, AccessRole]:
    """Give somebody of the reader's account, and what they may do there.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The reader.
    person_id
        Whom.

    Raises
    ------
    NotThere
        If they are not in it.
    """
    for one, role in members_of(conn, who.account_id):
        if one.id == person_id:
            return one, role
    raise NotThere("person")


def is_managed(conn: Connection, one: Person, role: AccessRole) -> bool:
    """Tell whether an adviser sets what somebody hears: of growers and viewers of this account.

    Who is in another account too, or runs the service, is reached at addresses that this
    account's advisers have no business with.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    one, role
        Somebody of the account, and what they may do there.
    """
    alone = len(memberships(conn, one.id)) == 1
    return role != "adviser" and alone and not is_operator(conn, one.id)


def managed(conn: Connection, who: Reader, person_id: int) -> Person:
    """Give somebody whose ways the reader may change.

    Parameters
    ----------
    conn
        The caller's transaction.
    who
        The reader, an adviser.
    person_id
        Whom.

    Raises
    ------
    NotThere
        If they are not in the account.
    NotYours
        If they set it by themselves.
    """
    one, role = member(conn, who, person_id)
    if not is_managed(conn, one, role):
        raise NotYours(OWN_AFFAIR)
    return one


def one_way(conn: Connection, one: Person, contact_id: int) -> Contact:
    """Give one of somebody's ways.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    one
        Whose.
    contact_id
        Which.

    Raises
    ------
    NotThere
        If it is not theirs.
    """
    found = contacts_of(conn, contact.c.id == contact_id, contact.c.person_id == one.id)
    if not found:
        raise NotThere("way")
    return found[0]


def is_shared(conn: Connection, way: Contact) -> bool:
    """Tell whether somebody else is reached at the same address: a stop would be theirs as well.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    way
        The way.
    """
    found = find_contacts(conn, way.channel, way.address)
    return any(one.person_id != way.person_id for one in found)


def their_fields(conn: Connection, who: Reader, person_id: int) -> dict[int, str]:
    """Name the fields of the reader's account that somebody hears of.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The reader.
    person_id
        Whom: as grower, adviser or second contact.
    """
    second = select(field_person.c.field_id).where(field_person.c.person_id == person_id)
    theirs = or_(
        field.c.grower_id == person_id, field.c.adviser_id == person_id, field.c.id.in_(second)
    )
    query = select(field.c.id, field.c.name).where(*who.own(), theirs)
    return {row.id: row.name for row in conn.execute(query.order_by(field.c.name))}
