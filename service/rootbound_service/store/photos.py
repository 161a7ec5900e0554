"""Photos of digs, as made anew from what came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import dig, photo, season

MOST = 12
"""Photos of one dig."""


@dataclass(frozen=True, slots=True)
class NewPhoto:
    """A photo to be kept."""

    form_id: str
    jpeg: bytes
    small: bytes
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class PhotoAt:
    """Where a photo is; its picture is read apart."""

    id: int
    dig_id: int
    width: int
    height: int


def put_photo(conn: Connection, dig_id: int, new: NewPhoto, now: datetime) -> int | None:
    """Keep a photo; the same one sent twice is kept once.

    Parameters
    ----------
    conn
        The caller's transaction.
    dig_id
        The dig.
    new
        The photo.
    now
        The time.

    Returns
    -------
    int or None
        Its number; None if the dig has as many as it may.
    """
    here = photo.c.dig_id == dig_id
    known: int | None = conn.scalar(select(photo.c.id).where(here, photo.c.form_id == new.form_id))
    if known is not None:
        return known
    if (conn.scalar(select(func.count()).where(here)) or 0) >= MOST:
        return None
    put = insert_into(conn, photo).values(
        dig_id=dig_id,
        form_id=new.form_id,
        jpeg=new.jpeg,
        small=new.small,
        width=new.width,
        height=new.height,
        added_at=now,
    )
    number: int = conn.scalars(put.returning(photo.c.id)).one()
    return number


def photos_of_season(conn: Connection, season_id: int) -> list[PhotoAt]:
    """List the photos of a season's digs, in the order they came.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The season.
    """
    query = (
        select(photo.c.id, photo.c.dig_id, photo.c.width, photo.c.height)
        .join(dig, dig.c.id == photo.c.dig_id)
        .where(dig.c.season_id == season_id)
        .order_by(photo.c.id)
    )
    return [PhotoAt(*row) for row in conn.execute(query)]


def photo_bytes(conn: Connection, photo_id: int, *, small: bool) -> tuple[int, bytes] | None:
    """Give the field a photo is of, and its picture.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    photo_id
        The photo.
    small
        The small one for lists.

    Returns
    -------
    tuple or None
        Field id and JPEG; None where there is none.
    """
    column = photo.c.small if small else photo.c.jpeg
    query = (
        select(season.c.field_id, column)
        .join(dig, dig.c.id == photo.c.dig_id)
        .join(season, season.c.id == dig.c.season_id)
        .where(photo.c.id == photo_id)
    )
    row = conn.execute(query).one_or_none()
    return None if row is None else (row[0], row[1])
