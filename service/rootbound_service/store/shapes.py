"""Outlines of fields, as GeoJSON polygons."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import ColumnElement, Connection, delete, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field, field_shape
from rootbound_service.store.standings import touch


@dataclass(frozen=True, slots=True)
class Placed:
    """Where one field lies."""

    id: int
    name: str
    lon: float
    lat: float
    shape: Mapping[str, object] | None
    """Its outline, where one is kept."""


def put_shape(
    conn: Connection, field_id: int, shape: Mapping[str, object] | None, area_ha: float = 0.0
) -> None:
    """Keep a field's outline in place of what was kept.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        The field.
    shape
        A GeoJSON Polygon; None takes the outline away.
    area_ha
        Its area. [ha]
    """
    touch(conn, field_id=field_id)
    if shape is None:
        conn.execute(delete(field_shape).where(field_shape.c.field_id == field_id))
        return
    row = {"field_id": field_id, "shape": dict(shape), "area_ha": area_ha}
    put = insert_into(conn, field_shape).values(row)
    conn.execute(put.on_conflict_do_update(index_elements=["field_id"], set_=row))


def shape_of(conn: Connection, field_id: int) -> tuple[Mapping[str, object], float] | None:
    """Give a field's outline and its area; None where none is kept.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_id
        The field.
    """
    query = select(field_shape.c.shape, field_shape.c.area_ha)
    row = conn.execute(query.where(field_shape.c.field_id == field_id)).one_or_none()
    return None if row is None else (row.shape, row.area_ha)


def places_of(conn: Connection, *where: ColumnElement[bool], limit: int) -> list[Placed]:
    """Tell where fields lie, the latest enrolled first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    where
        Conditions on the field table.
    limit
        How many at most.
    """
    query = (
        select(field.c.id, field.c.name, field.c.lon, field.c.lat, field_shape.c.shape)
        .outerjoin(field_shape, field_shape.c.field_id == field.c.id)
        .where(*where)
        .order_by(field.c.id.desc())
        .limit(limit)
    )
    return [Placed(row.id, row.name, row.lon, row.lat, row.shape) for row in conn.execute(query)]
