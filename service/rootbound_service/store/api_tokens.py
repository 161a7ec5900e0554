"""Tokens for programs: shown once, kept as a hash, each with what it may do and an end."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, and_, insert, select, update

from rootbound_service.records import AccessRole, Person
from rootbound_service.store.keys import key_hash, new_key
from rootbound_service.store.people import COLUMNS, person_from
from rootbound_service.store.schema import account, api_token, member, person

PREFIX = "rb_"
"""So that a token is known as one where it must not stand, such as in a repository."""
SCOPES = ("read", "dig", "observe", "enrol", "people")
"""read: look at everything; dig, observe, enrol: also record those; people: whom to tell."""
USED_EVERY = timedelta(minutes=10)
MOST_DAYS = 400


@dataclass(frozen=True, slots=True)
class Token:
    """A token as its owner sees it in a list."""

    id: int
    name: str
    hint: str
    scopes: tuple[str, ...]
    person_id: int
    person_name: str
    made_at: datetime
    ends_at: datetime
    used_at: datetime | None


@dataclass(frozen=True, slots=True)
class Caller:
    """The program that calls: for whom, where, with what right."""

    token_id: int
    person: Person
    account_id: int
    account_name: str
    role: AccessRole
    scopes: frozenset[str]
    used_at: datetime | None


def new_token(
    conn: Connection,
    account_id: int,
    person_id: int,
    name: str,
    scopes: tuple[str, ...],
    now: datetime,
    days: int,
) -> str:
    """Make a token.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id, person_id
        Where it is good, and whose it is: it never may more than they.
    name
        What it is for.
    scopes
        What it may do, out of SCOPES.
    now
        The time.
    days
        How long. [d]

    Returns
    -------
    str
        The token: it is not kept and cannot be shown again.
    """
    key = PREFIX + new_key()
    made = insert(api_token).values(
        key_hash=key_hash(key),
        hint=key[-4:],
        name=name,
        person_id=person_id,
        account_id=account_id,
        scopes=" ".join(scopes),
        made_at=now,
        ends_at=now + timedelta(days=days),
    )
    conn.execute(made)
    return key


def caller_of(conn: Connection, key: str, now: datetime) -> Caller | None:
    """Tell who calls with a token.

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
    Caller or None
        None if it is not ours, has ended, or its owner is in the account no more.
    """
    here = and_(
        member.c.account_id == api_token.c.account_id, member.c.person_id == api_token.c.person_id
    )
    query = (
        select(
            api_token.c.id.label("token_id"),
            api_token.c.scopes,
            api_token.c.used_at,
            api_token.c.account_id,
            account.c.name.label("account_name"),
            member.c.role.label("may"),
            *(person.c[name] for name in COLUMNS),
        )
        .join(person, person.c.id == api_token.c.person_id)
        .join(account, account.c.id == api_token.c.account_id)
        .join(member, here)
        .where(
            api_token.c.key_hash == key_hash(key),
            api_token.c.ended_at.is_(None),
            api_token.c.ends_at > now,
        )
    )
    row = conn.execute(query).mappings().one_or_none()
    if row is None:
        return None
    return Caller(
        token_id=row["token_id"],
        person=person_from(row),
        account_id=row["account_id"],
        account_name=row["account_name"],
        role=row["may"],
        scopes=frozenset(row["scopes"].split()),
        used_at=row["used_at"],
    )


def token_used(conn: Connection, token_id: int, now: datetime) -> None:
    """Write down that a token is used.

    Parameters
    ----------
    conn
        The caller's transaction.
    token_id
        The token.
    now
        The time.
    """
    conn.execute(update(api_token).where(api_token.c.id == token_id).values(used_at=now))


def end_token(conn: Connection, account_id: int, token_id: int, now: datetime) -> bool:
    """End a token.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id
        Where it is good.
    token_id
        Which.
    now
        The time.

    Returns
    -------
    bool
        False if there is no such token there.
    """
    this = (api_token.c.id == token_id) & (api_token.c.account_id == account_id)
    change = update(api_token).where(this, api_token.c.ended_at.is_(None)).values(ended_at=now)
    return conn.execute(change).rowcount > 0


def tokens_of(conn: Connection, account_id: int, now: datetime) -> list[Token]:
    """List the tokens of an account that still hold, the newest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    now
        The time.
    """
    query = (
        select(api_token, person.c.name.label("person_name"))
        .join(person, person.c.id == api_token.c.person_id)
        .where(
            api_token.c.account_id == account_id,
            api_token.c.ended_at.is_(None),
            api_token.c.ends_at > now,
        )
        .order_by(api_token.c.id.desc())
    )
    return [
        Token(
            row.id,
            row.name,
            row.hint,
            tuple(row.scopes.split()),
            row.person_id,
            row.person_name,
            row.made_at,
            row.ends_at,
            row.used_at,
        )
        for row in conn.execute(query)
    ]
