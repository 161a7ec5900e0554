"""Accounts: who shares fields, and who may do what in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, exists, func, insert, select

from rootbound_service.records import AccessRole, Person
from rootbound_service.store.people import COLUMNS, person_from
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import account, field, member, operator, person


@dataclass(frozen=True, slots=True)
class Membership:
    """One person in one account."""

    account_id: int
    account_name: str
    role: AccessRole


def new_account(conn: Connection, name: str, now: datetime | None) -> int:
    """Make an account.

    Parameters
    ----------
    conn
        The caller's transaction.
    name
        As its members read it.
    now
        When, if that is to be kept.

    Returns
    -------
    int
        Its number.
    """
    made = insert(account).values(name=" ".join(name.split()), made_at=now)
    number: int = conn.scalars(made.returning(account.c.id)).one()
    return number


def put_member(conn: Connection, account_id: int, person_id: int, role: AccessRole) -> None:
    """Let somebody into an account, or change what they may do there.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id, person_id
        Where, and whom.
    role
        What they may do.
    """
    put = insert_into(conn, member).values(account_id=account_id, person_id=person_id, role=role)
    put = put.on_conflict_do_update(index_elements=["account_id", "person_id"], set_={"role": role})
    conn.execute(put)


def drop_member(conn: Connection, account_id: int, person_id: int) -> None:
    """Take somebody out of an account; what they recorded stays.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id, person_id
        Where, and whom.
    """
    here = (member.c.account_id == account_id) & (member.c.person_id == person_id)
    conn.execute(delete(member).where(here))


def memberships(conn: Connection, person_id: int) -> list[Membership]:
    """List the accounts of a person, the oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        The person.
    """
    query = (
        select(account.c.id, account.c.name, member.c.role)
        .join(member, member.c.account_id == account.c.id)
        .where(member.c.person_id == person_id)
        .order_by(account.c.id)
    )
    return [Membership(row.id, row.name, row.role) for row in conn.execute(query)]


def members_of(conn: Connection, account_id: int) -> list[tuple[Person, AccessRole]]:
    """List the people of an account, by role and name.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    """
    query = (
        select(*(person.c[name] for name in COLUMNS), member.c.role.label("may"))
        .join(member, member.c.person_id == person.c.id)
        .where(member.c.account_id == account_id)
        .order_by(member.c.role, person.c.name, person.c.id)
    )
    return [(person_from(row), row["may"]) for row in conn.execute(query).mappings()]


def is_operator(conn: Connection, person_id: int) -> bool:
    """Tell whether somebody runs the service.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        The person.
    """
    return bool(conn.scalar(select(exists().where(operator.c.person_id == person_id))))


def put_operator(conn: Connection, person_id: int) -> None:
    """Let somebody see the operator's pages.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        The person.
    """
    conn.execute(insert_into(conn, operator).values(person_id=person_id).on_conflict_do_nothing())


def account_for(
    conn: Connection, lead: Person, others: Sequence[Person], name_key: str, now: datetime | None
) -> int:
    """Find the account that a field enrolled without one belongs to.

    Parameters
    ----------
    conn
        The caller's transaction.
    lead
        Its adviser, or its grower where it has none.
    others
        Its grower, if that is somebody else.
    name_key
        Name of the field: one that its grower has already stays where it is.
    now
        When, if that is to be kept.

    Returns
    -------
    int
        The account of the field that is there, else the first that the lead advises in, else
        a new one. The people are members of it from now on.
    """
    grower = others[0] if others else lead
    known = (field.c.grower_id == grower.id) & (field.c.name_key == name_key)
    found = conn.scalars(select(field.c.account_id).where(known).limit(2)).all()
    if len(found) == 1:
        number: int | None = found[0]
    else:
        advises = (member.c.person_id == lead.id) & (member.c.role == "adviser")
        number = conn.scalar(select(func.min(member.c.account_id)).where(advises))
    if number is None:
        number = new_account(conn, lead.name, now)
    put_member(conn, number, lead.id, "adviser")
    join_as_grower(conn, number, [one.id for one in others])
    return number


def join_as_grower(conn: Connection, account_id: int, people: Sequence[int]) -> None:
    """Let growers see their own fields in an account; who is in it already keeps their role.

    Parameters
    ----------
    conn
        The caller's transaction.
    account_id
        The account.
    people
        Their numbers.
    """
    for one in people:
        put = insert_into(conn, member).values(account_id=account_id, person_id=one, role="grower")
        conn.execute(put.on_conflict_do_nothing())
