"""The packed days of each season, as last computed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from sqlalchemy import Connection, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import season_picture
from rootbound_service.store.slices import slices


def put_pictures(conn: Connection, night: date, packed: Mapping[int, bytes]) -> None:
    """Keep the days of seasons in place of what was kept.

    Parameters
    ----------
    conn
        The caller's transaction.
    night
        The night that computed them.
    packed
        By season id.
    """
    rows = [{"season_id": one, "night": night, "packed": days} for one, days in packed.items()]
    if not rows:
        return
    put = insert_into(conn, season_picture)
    new = {"night": put.excluded.night, "packed": put.excluded.packed}
    conn.execute(put.on_conflict_do_update(index_elements=["season_id"], set_=new), rows)


def pictures_of(conn: Connection, seasons: Iterable[int]) -> dict[int, bytes]:
    """Give the packed days of seasons, by season id; one never computed is not in it.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    seasons
        Their numbers.
    """
    found: dict[int, bytes] = {}
    for some in slices(seasons):
        query = select(season_picture).where(season_picture.c.season_id.in_(some))
        found |= {row.season_id: row.packed for row in conn.execute(query)}
    return found


def picture_of(conn: Connection, season_id: int) -> tuple[date, bytes] | None:
    """Give the packed days of one season and the night that computed them; None if none did.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    season_id
        The season.
    """
    query = select(season_picture.c.night, season_picture.c.packed)
    row = conn.execute(query.where(season_picture.c.season_id == season_id)).one_or_none()
    return None if row is None else (row.night, row.packed)


def keep_picture(conn: Connection, season_id: int, night: date, packed: bytes) -> None:
    """Keep the days of a season, unless a later night has computed them meanwhile.

    Parameters
    ----------
    conn
        The caller's transaction.
    season_id
        The season.
    night
        The night whose days they are.
    packed
        The days.
    """
    put = insert_into(conn, season_picture)
    put = put.values(season_id=season_id, night=night, packed=packed)
    new = {"night": put.excluded.night, "packed": put.excluded.packed}
    older = season_picture.c.night <= put.excluded.night
    conn.execute(put.on_conflict_do_update(index_elements=["season_id"], set_=new, where=older))
