"""Outlines of fields, as GeoJSON polygons."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Connection, delete, select

from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field_shape


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
