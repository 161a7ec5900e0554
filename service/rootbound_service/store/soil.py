"""What is said of a field's soil: kept value by value, nothing ever changed or lost."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import asdict
from datetime import datetime

from sqlalchemy import Connection, insert, select

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import FieldRecord, SoilRecord
from rootbound_service.store.portable import insert_into
from rootbound_service.store.schema import field, soil, soil_value
from rootbound_service.store.soil_answers import newest_answers, place_key
from rootbound_service.store.soil_record import (
    ASSUMED,
    HAND,
    NAMES,
    PAIR,
    SoilValue,
    effective,
    standing,
)
from rootbound_service.store.standings import touch

BY_HAND = "entered by hand"
COLUMNS = ("name", "value", "source", "origin", "recorded_at", "withdrawn")


def soil_values(conn: Connection, field_id: int) -> list[SoilValue]:
    """List everything that was ever said of a field's soil, oldest first.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    field_id
        The field.
    """
    query = select(*(soil_value.c[name] for name in COLUMNS))
    mine = query.where(soil_value.c.field_id == field_id).order_by(soil_value.c.id)
    return [SoilValue(**row) for row in conn.execute(mine).mappings()]


def put_source(
    conn: Connection,
    field_id: int,
    source: str,
    found: Iterable[SoilValue],
    now: datetime | None,
) -> SoilRecord:
    """Let a source say what it knows; what it said before and says no more is withdrawn.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        The field.
    source
        ``hand``, or a service's short name.
    found
        Its values, each with its origin; ``source`` and ``recorded_at`` are not read.
    now
        When; None where nobody knows.

    Returns
    -------
    SoilRecord
        What counts for the field now.
    """
    _lock(conn, field_id)
    return _keep(conn, field_id, _put(conn, field_id, source, found, now))


def _put(
    conn: Connection,
    field_id: int,
    source: str,
    found: Iterable[SoilValue],
    now: datetime | None,
) -> list[SoilValue]:
    """Add what a source says that is new, and give all that was ever said."""
    kept = soil_values(conn, field_id)
    says = {one.name: (one.value, one.origin) for one in found}
    before = standing(kept).get(source, {})
    gone = {name: (None, "withdrawn") for name in before if name not in says}
    news = {
        name: said
        for name, said in says.items()
        if name not in before or (before[name].value, before[name].origin) != said
    }
    kept += _append(conn, field_id, source, news, now)
    return kept + _append(conn, field_id, source, gone, now, withdrawn=True)


def change_by_hand(
    conn: Connection,
    field_id: int,
    given: Mapping[str, float | str],
    cleared: Collection[str],
    now: datetime,
) -> SoilRecord:
    """Enter values by hand, which count before a service's, and withdraw others.

    Parameters
    ----------
    conn
        The caller's transaction.
    field_id
        The field.
    given
        Values by name, within the limits of the forms.
    cleared
        Names of values entered by hand that count no more.
    now
        When.

    Returns
    -------
    SoilRecord
        What counts for the field now.

    Raises
    ------
    RefusedInput
        If a value to be cleared was not entered by hand, or a water content is left
        without one that fits it; the caller's transaction is then to be rolled back.
    """
    _lock(conn, field_id)
    kept = soil_values(conn, field_id)
    hand = standing(kept).get(HAND, {})
    absent = [name for name in cleared if name not in hand]
    if absent:
        there = f"what can be cleared is {', '.join(hand)}" if hand else "nothing can be cleared"
        raise RefusedInput(
            tuple(Problem(name, "was not entered by hand", there) for name in absent)
        )
    said = {name: (value, BY_HAND) for name, value in given.items()}
    gone = dict.fromkeys(cleared, (None, "cleared by hand"))
    kept += _append(conn, field_id, HAND, said, now)
    kept += _append(conn, field_id, HAND, gone, now, withdrawn=True)
    return _whole(_keep(conn, field_id, kept))


def put_enrolled(
    conn: Connection, field_id: int, record: FieldRecord, now: datetime | None = None
) -> None:
    """Store the soil that came with an enrolment; an empty one leaves what is known.

    What services said of another place than the field's counts no more.

    Parameters
    ----------
    conn
        The caller's transaction, which has just written the field's row.
    field_id
        The field.
    record
        The field as enrolled.
    now
        When; None where nobody knows.
    """
    given = {name: getattr(record.soil, name) for name in NAMES}
    found = [
        SoilValue(name, value, HAND, record.soil.origin)
        for name, value in given.items()
        if value is not None
    ]
    kept = _put(conn, field_id, HAND, found, now) if found else soil_values(conn, field_id)
    services = [source for source in standing(kept) if source not in {HAND, ASSUMED}]
    if services:
        answer = newest_answers(conn, (field_id,), found=True).get(field_id)
        if answer is not None and answer.place != place_key(record.lat, record.lon):
            for source in services:
                kept = _put(conn, field_id, source, (), now)
    _keep(conn, field_id, kept)


def _lock(conn: Connection, field_id: int) -> None:
    """Hold the field's row, so that two changes at once see one another; it must be there."""
    query = select(field.c.id).where(field.c.id == field_id).with_for_update()
    if conn.scalar(query) is None:
        what, wanted = f"there is no field {field_id}", "give the id of an enrolled field"
        raise RefusedInput((Problem("field", what, wanted),))


def _append(
    conn: Connection,
    field_id: int,
    source: str,
    said: Mapping[str, tuple[float | str | None, str]],
    now: datetime | None,
    *,
    withdrawn: bool = False,
) -> list[SoilValue]:
    """Add rows, and give them as they will be read."""
    added = [
        SoilValue(name, value, source, origin, now, withdrawn)
        for name, (value, origin) in said.items()
    ]
    if added:
        conn.execute(insert(soil_value), [asdict(one) | {"field_id": field_id} for one in added])
    return added


def _keep(conn: Connection, field_id: int, values: Iterable[SoilValue]) -> SoilRecord:
    """Compose what counts anew and keep it where fields are read from."""
    record = effective(values)
    row = {name: getattr(record, name) for name in NAMES}
    row |= {"field_id": field_id, "origin": record.origin, "origins": dict(record.origins)}
    put = insert_into(conn, soil).values(row)
    conn.execute(put.on_conflict_do_update(index_elements=["field_id"], set_=row))
    touch(conn, field_id=field_id)
    return record


def _whole(record: SoilRecord) -> SoilRecord:
    """Refuse a water content that stands alone or upside down."""
    capacity, wilting = record.field_capacity, record.wilting_point
    missing = [name for name in PAIR if getattr(record, name) is None]
    if len(missing) == 1:
        (there,) = set(PAIR) - set(missing)
        what = f"no value that fits {there} {getattr(record, there):g} is known"
        raise RefusedInput((Problem(missing[0], what, "give or clear both"),))
    if capacity is not None and wilting is not None and wilting >= capacity:
        what = f"{wilting:g} is not below the field capacity, {capacity:g}"
        wanted = "a wilting point is smaller than the field capacity"
        raise RefusedInput((Problem("wilting_point", what, wanted),))
    return record
