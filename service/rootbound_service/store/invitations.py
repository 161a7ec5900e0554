"""Invitations into an account: a link by mail that lets one person in, once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, Connection, func, insert, select, update

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import AccessRole
from rootbound_service.store.schema import account, invitation

LASTS = timedelta(days=14)
MOST_TO_ONE, MOST_A_DAY = 20, 60
"""Letters to one address, and of one account, within a day. Our choice."""


@dataclass(frozen=True, slots=True)
class Invitation:
    """Somebody who may come in."""

    id: int
    account_id: int
    account_name: str
    name: str
    email: str
    role: AccessRole
    made_at: datetime
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Guest:
    """Who is to be invited, as what."""

    name: str
    email: str
    role: AccessRole


def invite(conn: Connection, account_id: int, by: int, guest: Guest, now: datetime) -> int:
    """Invite somebody; an earlier invitation of theirs into the account no longer holds.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id
        The account.
    by
        Number of who invites.
    guest
        Whom, and as what.
    now
        The time.

    Returns
    -------
    int
        Its number; the signature of the link in the mail proves it.

    Raises
    ------
    RefusedInput
        If the address, or the account, had enough of them within a day.
    """
    _not_too_often(conn, account_id, guest.email, now)
    same = (invitation.c.account_id == account_id) & (invitation.c.email == guest.email)
    conn.execute(update(invitation).where(same, *_open(now)).values(withdrawn_at=now))
    made = insert(invitation).values(
        account_id=account_id,
        name=guest.name,
        email=guest.email,
        role=guest.role,
        made_by=by,
        made_at=now,
        ends_at=now + LASTS,
    )
    number: int = conn.scalars(made.returning(invitation.c.id)).one()
    return number


def _not_too_often(conn: Connection, account_id: int, email: str, now: datetime) -> None:
    """Nobody's mailbox is filled by invitations, whoever sends them."""
    lately = invitation.c.made_at > now - timedelta(days=1)
    many = select(func.count()).select_from(invitation)
    if (conn.scalar(many.where(lately, invitation.c.email == email)) or 0) >= MOST_TO_ONE:
        what = f"{email} had {MOST_TO_ONE} invitations within a day"
        raise RefusedInput((Problem("email", what, "wait until tomorrow"),))
    if (conn.scalar(many.where(lately, invitation.c.account_id == account_id)) or 0) >= MOST_A_DAY:
        what = f"this account sent {MOST_A_DAY} invitations within a day"
        raise RefusedInput((Problem("email", what, "send the others tomorrow"),))


def invitation_of(conn: Connection, number: int, now: datetime) -> Invitation | None:
    """Give an invitation, if it still holds.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    number
        As its token says.
    now
        The time.
    """
    found = _listed(conn, invitation.c.id == number, *_open(now))
    return found[0] if found else None


def use_invitation(conn: Connection, number: int, now: datetime) -> Invitation | None:
    """Use an invitation up.

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
    Invitation or None
        None if it does not hold.
    """
    found = invitation_of(conn, number, now)
    if found is None:
        return None
    change = update(invitation).where(invitation.c.id == found.id, *_open(now))
    return found if conn.execute(change.values(used_at=now)).rowcount else None


def withdraw_invitation(conn: Connection, account_id: int, number: int, now: datetime) -> bool:
    """Take an invitation back.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id
        The account it is into.
    number
        Which.
    now
        The time.

    Returns
    -------
    bool
        False if there is no such open invitation there.
    """
    this = (invitation.c.id == number) & (invitation.c.account_id == account_id)
    change = update(invitation).where(this, *_open(now)).values(withdrawn_at=now)
    return conn.execute(change).rowcount > 0


def open_invitations(conn: Connection, account_id: int, now: datetime) -> list[Invitation]:
    """List the invitations into an account that still hold.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    now
        The time.
    """
    return _listed(conn, invitation.c.account_id == account_id, *_open(now))


def _open(now: datetime) -> tuple[ColumnElement[bool], ...]:
    return (
        invitation.c.used_at.is_(None),
        invitation.c.withdrawn_at.is_(None),
        invitation.c.ends_at > now,
    )


def _listed(conn: Connection, *where: ColumnElement[bool]) -> list[Invitation]:
    query = select(invitation, account.c.name.label("account_name")).join(
        account, account.c.id == invitation.c.account_id
    )
    return [
        Invitation(
            row.id,
            row.account_id,
            row.account_name,
            row.name,
            row.email,
            row.role,
            row.made_at,
            row.ends_at,
        )
        for row in conn.execute(query.where(*where).order_by(invitation.c.id))
    ]
