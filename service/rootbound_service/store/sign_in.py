"""Links that sign somebody in: by mail, once, within minutes.

A link is named by its number; what proves it is the signature that is put on when it is sent, so
that whoever reads the database cannot use one.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, Connection, func, insert, select, update

from rootbound_service.records import Person
from rootbound_service.store.people import COLUMNS, person_from
from rootbound_service.store.schema import member, operator, person, sign_in_link

LASTS = timedelta(minutes=15)
MOST_AN_HOUR = 5
"""Links that one person is sent: whoever types somebody's address cannot flood their mailbox."""


def who_may_enter(conn: Connection, email: str) -> Person | None:
    """Find who signs in with an address.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    email
        As typed.

    Returns
    -------
    Person or None
        None for somebody unknown, or in no account.
    """
    key = email.strip().casefold()
    inside = select(member.c.person_id).union(select(operator.c.person_id))
    query = select(*(person.c[name] for name in COLUMNS)).where(person.c.email_key == key)
    row = conn.execute(query.where(person.c.id.in_(inside))).mappings().one_or_none()
    return None if row is None else person_from(row)


def new_link(conn: Connection, person_id: int, now: datetime) -> int | None:
    """Make a link.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        Whom it lets in.
    now
        The time.

    Returns
    -------
    int or None
        Its number; None if the person had enough of them within the last hour.
    """
    lately = (sign_in_link.c.person_id == person_id) & (
        sign_in_link.c.made_at > now - timedelta(hours=1)
    )
    if (conn.scalar(select(func.count()).where(lately)) or 0) >= MOST_AN_HOUR:
        return None
    made = insert(sign_in_link).values(person_id=person_id, made_at=now, ends_at=now + LASTS)
    number: int = conn.scalars(made.returning(sign_in_link.c.id)).one()
    return number


def link_stands(conn: Connection, number: int, now: datetime) -> bool:
    """Tell whether a link would let somebody in; looking does not use it up.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    number
        As its token says.
    now
        The time.
    """
    query = select(sign_in_link.c.id).where(*_stands(number, now))
    return conn.scalar(query) is not None


def use_link(conn: Connection, number: int, now: datetime) -> int | None:
    """Use a link up.

    Parameters
    ----------
    conn
        The caller's transaction.
    number
        As its token says.
    now
        The time.

    Returns
    -------
    int or None
        Whom it lets in; None if there is none, it is too old, or was used before.
    """
    change = update(sign_in_link).where(*_stands(number, now)).values(used_at=now)
    person_id: int | None = conn.scalar(change.returning(sign_in_link.c.person_id))
    return person_id


def _stands(number: int, now: datetime) -> tuple[ColumnElement[bool], ...]:
    return (
        sign_in_link.c.id == number,
        sign_in_link.c.used_at.is_(None),
        sign_in_link.c.ends_at > now,
    )
