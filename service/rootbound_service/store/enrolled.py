"""What an account has already, asked before a field is enrolled in it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from sqlalchemy import Connection, select

from rootbound_service.store.schema import field, member, person, season
from rootbound_service.store.slices import slices

Named = tuple[str, str]
"""A grower's address and a field's name, as two people would compare them."""


def named(email: str, name: str) -> Named:
    """Give a grower's field as it is compared: case and spaces do not count.

    Parameters
    ----------
    email
        The grower's.
    name
        The field's.
    """
    return email.strip().casefold(), " ".join(name.split()).casefold()


def outsiders(conn: Connection, account_id: int, emails: Iterable[str]) -> set[str]:
    """Tell which addresses belong to somebody on record who is not in an account.

    They have their own name and wishes, which nobody of this account may learn or change.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    emails
        In any case.

    Returns
    -------
    set of str
        Case folded.
    """
    here = select(member.c.person_id).where(member.c.account_id == account_id)
    found: set[str] = set()
    for some in slices({one.strip().casefold() for one in emails}):
        query = select(person.c.email_key).where(
            person.c.email_key.in_(some), person.c.id.not_in(here)
        )
        found |= set(conn.scalars(query))
    return found


def seasons_named(
    conn: Connection, account_id: int, fields: Collection[Named]
) -> dict[Named, dict[int, date]]:
    """Give the planting dates, by year, of those fields that an account has already.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    account_id
        The account.
    fields
        From :func:`named`.
    """
    found: dict[Named, dict[int, date]] = {}
    query = (
        select(person.c.email_key, field.c.name_key, season.c.year, season.c.planted)
        .join(person, person.c.id == field.c.grower_id)
        .join(season, season.c.field_id == field.c.id)
        .where(field.c.account_id == account_id)
    )
    for some in slices({name for _, name in fields}):
        for row in conn.execute(query.where(field.c.name_key.in_(some))):
            if (row.email_key, row.name_key) in fields:
                found.setdefault((row.email_key, row.name_key), {})[row.year] = row.planted
    return found
