"""The archive of weekly letters: each a page with all fields, kept as it was written."""

from __future__ import annotations

import gzip
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Connection, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import digest


@dataclass(frozen=True, slots=True)
class DigestRecord:
    """One weekly letter of the archive, without its page."""

    id: int
    person_id: int
    week: str
    night: date
    written_at: datetime


def reserve_digest(conn: Connection, person_id: int, week: str, night: date, now: datetime) -> int:
    """Give the number of a person's letter of a week; a new one has no page yet.

    Parameters
    ----------
    conn
        The caller's transaction.
    person_id
        The reader.
    week
        As ``2026-W29``.
    night
        The night it tells of.
    now
        The time, aware.
    """
    mine = (digest.c.person_id == person_id) & (digest.c.week == week)
    values = {"person_id": person_id, "week": week, "night": night, "written_at": now}
    new = insert_into(conn, digest).values(values | {"page": b""})
    conn.execute(new.on_conflict_do_nothing(index_elements=["person_id", "week"]))
    digest_id: int = conn.scalars(select(digest.c.id).where(mine)).one()
    return digest_id


def keep_page(conn: Connection, digest_id: int, page: str) -> None:
    """Keep the page of a letter; one that is there already stays as it was written.

    Parameters
    ----------
    conn
        The caller's transaction.
    digest_id
        From :func:`reserve_digest`.
    page
        HTML.
    """
    packed = gzip.compress(page.encode(), mtime=0)
    empty = (digest.c.id == digest_id) & (digest.c.page == b"")
    conn.execute(digest.update().where(empty).values(page=packed))


def digest_page(conn: Connection, digest_id: int) -> str | None:
    """Give the page of a letter; None where there is none.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    digest_id
        Its number.
    """
    packed = conn.scalar(select(digest.c.page).where(digest.c.id == digest_id))
    return gzip.decompress(packed).decode() if packed else None


def digests_of(conn: Connection, person_id: int | None = None) -> list[DigestRecord]:
    """List the archive, latest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person_id
        Of one reader; None: everybody's.
    """
    columns = [digest.c[name] for name in ("id", "person_id", "week", "night", "written_at")]
    written = select(*columns).where(digest.c.page != b"")  # a reserved number is no letter yet
    query = written.order_by(digest.c.week.desc(), digest.c.id)
    if person_id is not None:
        query = query.where(digest.c.person_id == person_id)
    return [DigestRecord(*row) for row in conn.execute(query)]
