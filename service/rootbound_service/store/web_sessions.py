"""Sessions of the pages: held here, so that one can be ended; the cookie is only their key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, and_, insert, select, update

from rootbound_service.records import AccessRole, Person
from rootbound_service.store.accounts import memberships
from rootbound_service.store.keys import key_hash, new_key
from rootbound_service.store.people import COLUMNS, person_from
from rootbound_service.store.schema import account, member, operator, person, web_session

LASTS = timedelta(days=30)
"""A month on one phone (OWASP ASVS 4.0.3, 3.3.2)."""
IDLE = timedelta(days=21)
"""Not used for so long, it ends."""
SEEN_EVERY = timedelta(hours=1)
"""Being seen is written down so often, and no reading of a page writes more."""
AGENT_LENGTH = 120


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody who is signed in, and the account they look at."""

    id: int
    person: Person
    account_id: int | None
    """None: an operator who is in no account."""
    account_name: str
    role: AccessRole | None
    operator: bool
    seen_at: datetime


def begin_session(
    conn: Connection, person_id: int, now: datetime, agent: str, account_id: int | None = None
) -> str:
    """Sign somebody in.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        Whom.
    now
        The time.
    agent
        The browser as it names itself, for the list of sessions.
    account_id
        The account to look at first; None: the oldest of theirs.

    Returns
    -------
    str
        The session's key, for the cookie.
    """
    theirs = memberships(conn, person_id)
    key = new_key()
    made = insert(web_session).values(
        key_hash=key_hash(key),
        person_id=person_id,
        account_id=account_id or (theirs[0].account_id if theirs else None),
        made_at=now,
        seen_at=now,
        ends_at=now + LASTS,
        agent=agent[:AGENT_LENGTH],
    )
    conn.execute(made)
    return key


def session_of(conn: Connection, key: str, now: datetime) -> Session | None:
    """Give the session of a cookie.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    key
        As it came.
    now
        The time.

    Returns
    -------
    Session or None
        None if there is none, it has ended, or its person is in the account no more.
    """
    here = and_(
        member.c.account_id == web_session.c.account_id,
        member.c.person_id == web_session.c.person_id,
    )
    query = (
        select(
            web_session.c.id.label("session_id"),
            web_session.c.seen_at,
            web_session.c.account_id,
            account.c.name.label("account_name"),
            member.c.role.label("may"),
            operator.c.person_id.label("operator_id"),
            *(person.c[name] for name in COLUMNS),
        )
        .join(person, person.c.id == web_session.c.person_id)
        .outerjoin(account, account.c.id == web_session.c.account_id)
        .outerjoin(member, here)
        .outerjoin(operator, operator.c.person_id == web_session.c.person_id)
        .where(
            web_session.c.key_hash == key_hash(key),
            web_session.c.ended_at.is_(None),
            web_session.c.ends_at > now,
            web_session.c.seen_at > now - IDLE,
        )
    )
    row = conn.execute(query).mappings().one_or_none()
    if row is None or (row["may"] is None and row["operator_id"] is None):
        return None
    inside = row["may"] is not None
    return Session(
        id=row["session_id"],
        person=person_from(row),
        account_id=row["account_id"] if inside else None,
        account_name=row["account_name"] or "" if inside else "",
        role=row["may"],
        operator=row["operator_id"] is not None,
        seen_at=row["seen_at"],
    )


def see_session(conn: Connection, session_id: int, now: datetime) -> None:
    """Write down that a session is used.

    Parameters
    ----------
    conn
        The caller's transaction.
    session_id
        The session.
    now
        The time.
    """
    conn.execute(update(web_session).where(web_session.c.id == session_id).values(seen_at=now))


def move_session(conn: Connection, session_id: int, person_id: int, account_id: int) -> bool:
    """Look at another of one's accounts.

    Parameters
    ----------
    conn
        The caller's transaction.
    session_id, person_id
        The session, and whose it is.
    account_id
        The account.

    Returns
    -------
    bool
        False if the person is not in it.
    """
    if account_id not in {one.account_id for one in memberships(conn, person_id)}:
        return False
    this = web_session.c.id == session_id
    conn.execute(update(web_session).where(this).values(account_id=account_id))
    return True


def end_sessions(
    conn: Connection, person_id: int, now: datetime, session_id: int | None = None
) -> None:
    """Sign somebody out.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        Whom.
    now
        The time.
    session_id
        Only this session of theirs; None: everywhere.
    """
    theirs = [web_session.c.person_id == person_id, web_session.c.ended_at.is_(None)]
    if session_id is not None:
        theirs.append(web_session.c.id == session_id)
    conn.execute(update(web_session).where(*theirs).values(ended_at=now))


@dataclass(frozen=True, slots=True)
class Open:
    """A session in the list of one's own."""

    id: int
    made_at: datetime
    seen_at: datetime
    agent: str


def open_sessions(conn: Connection, person_id: int, now: datetime) -> list[Open]:
    """List where somebody is signed in, the latest use first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        Whom.
    now
        The time.
    """
    query = select(web_session).where(
        web_session.c.person_id == person_id,
        web_session.c.ended_at.is_(None),
        web_session.c.ends_at > now,
        web_session.c.seen_at > now - IDLE,
    )
    rows = conn.execute(query.order_by(web_session.c.seen_at.desc()))
    return [Open(row.id, row.made_at, row.seen_at, row.agent) for row in rows]


def leave_account(conn: Connection, person_id: int, account_id: int) -> None:
    """Let somebody's sessions look at an account no longer.

    Parameters
    ----------
    conn
        The caller's transaction, in which they have just been taken out of it.
    person_id, account_id
        Whose, and which.
    """
    others = memberships(conn, person_id)
    here = (web_session.c.person_id == person_id) & (web_session.c.account_id == account_id)
    onward = others[0].account_id if others else None
    conn.execute(update(web_session).where(here).values(account_id=onward))
