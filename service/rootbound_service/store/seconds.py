"""Second contacts: who hears of a field when nobody answers."""

from __future__ import annotations

from sqlalchemy import Connection, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field_person

SECOND = "second"


def put_second(conn: Connection, field_id: int, person_id: int) -> None:
    """Make somebody the second contact of a field.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id, person_id
        Of whom.
    """
    values = {"field_id": field_id, "person_id": person_id, "part": SECOND}
    new = insert_into(conn, field_person).values(values)
    conn.execute(new.on_conflict_do_nothing(index_elements=["field_id", "person_id"]))


def end_second(conn: Connection, field_id: int, person_id: int) -> bool:
    """Let somebody be the second contact of a field no more; False: they were not.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id, person_id
        Of whom.
    """
    here = (field_person.c.field_id == field_id) & (field_person.c.person_id == person_id)
    gone = conn.execute(field_person.delete().where(here, field_person.c.part == SECOND))
    return gone.rowcount > 0


def seconds(conn: Connection) -> dict[int, list[int]]:
    """Give the second contacts of every field that has some.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    """
    found: dict[int, list[int]] = {}
    query = select(field_person).where(field_person.c.part == SECOND)
    for row in conn.execute(query.order_by(field_person.c.field_id, field_person.c.person_id)):
        found.setdefault(row.field_id, []).append(row.person_id)
    return found
