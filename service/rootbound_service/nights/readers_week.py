"""One reader's week: the facts of their fields, and what they were not told or wish not to be."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

from rootbound_service.nights.facts_of import facts_of
from rootbound_service.notes.week import Week
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.unreached import unreached

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import Person, RiskRecord


def fields_of(
    person: Person, decided: Iterable[Decided], week_ago: Mapping[int, RiskRecord]
) -> list[FieldFacts]:
    """Give the facts of a person's fields, compared with those of a week ago.

    Parameters
    ----------
    person
        The reader.
    decided
        The fields of all readers.
    week_ago
        What held a week ago, by season id.

    Returns
    -------
    list of FieldFacts
        None once all were told to be finished.
    """
    mine = [(one, week_ago.get(one.risk.season_id)) for one in decided if _is_told_of(person, one)]
    if all(_is_old_news(one, then) for one, then in mine):
        return []
    return [facts_of(one, then.rung if then else None) for one, then in mine]


def _is_told_of(person: Person, one: Decided) -> bool:
    """Tell whether a person is told of a field."""
    return person.id in {who.id for who in one.computed.field.people}


def _is_old_news(one: Decided, then: RiskRecord | None) -> bool:
    """Tell whether a field's season was over a week ago already."""
    return one.computed.status == "finished" and then is not None and then.status == "finished"


def week_for(
    conn: Connection,
    person: Person,
    decided: Iterable[Decided],
    since: datetime,
    night: date,
) -> Week:
    """Give what a reader was not told of their fields, and what they wish not to be told.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    person
        The reader.
    decided
        The fields.
    since
        From when on messages count.
    night
        The night.
    """
    names = {one.risk.season_id: one.computed.field.name for one in decided}
    missed = tuple(
        (names[one.season_id], one)
        for one in unreached(conn, person.id, since)
        if one.season_id in names
    )
    return Week(unreached=missed, silent=silenced_fields(conn, person.id, night))
