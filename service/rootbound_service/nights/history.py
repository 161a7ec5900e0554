"""Past years of the fields' cells: what is still missing, and the next piece of it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.tables import load_table
from rootbound_service.nights.compute import season_is_over
from rootbound_service.store.fields import list_fields
from rootbound_service.weather.bring import bring_history, bring_night
from rootbound_service.weather.places import each_once, own_cells, places_of
from rootbound_service.weather.spans import history_missing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.records import FieldRecord
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.places import Place
    from rootbound_service.weather.pull import Pulled
    from rootbound_service.wiring import Parts


def growing_places(parts: Parts, today: date) -> list[Place]:
    """List the places of all fields whose season is not over, each once.

    Parameters
    ----------
    parts
        The wired service.
    today
        The day.
    """
    return places_for(parts, growing_fields(parts, today))


def growing_fields(parts: Parts, today: date) -> list[FieldRecord]:
    """List the fields whose season is not over.

    Parameters
    ----------
    parts
        The wired service.
    today
        The day.
    """
    with parts.engine.execution_options(ro=True).connect() as conn:
        return [one for one in list_fields(conn, today) if not season_is_over(one, today)]


def places_for(parts: Parts, fields: Sequence[FieldRecord]) -> list[Place]:
    """List the places of some fields, each once; a field that no source covers has none.

    Parameters
    ----------
    parts
        The wired service.
    fields
        The fields.
    """
    return each_once(places_of([(one.lat, one.lon) for one in fields], parts.order, parts.feeds))


def fetch_past(
    parts: Parts,
    today: date,
    most: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[int, list[Pulled]]:
    """Fetch what the fields' cells still lack: first this season of new ones, then past years.

    Parameters
    ----------
    parts
        The wired service.
    today
        The day of asking.
    most
        Requests to make at the most; None: all.
    progress
        Told how many requests are done, and of how many.

    Returns
    -------
    tuple
        How many cells still lack some, and what came of asking.
    """
    years, fields = parts.settings.history_years, growing_fields(parts, today)
    places = places_for(parts, fields)
    if not missing_past(parts, places, today):
        return 0, []
    parts.caller.begin_run()
    pulled: list[Pulled] = []
    if fresh := _never_asked(parts, places):
        begin = season_begin(fields)
        pulled += bring_night(parts.feeds, fresh, today, begin, parts.normals, progress)
    pulled += bring_history(parts.feeds, places, today, years, parts.normals, progress, most)
    return missing_past(parts, places, today), pulled


def season_begin(fields: Sequence[FieldRecord]) -> date:
    """First day that the seasons of some fields need: before planting, the soil is spun up.

    Parameters
    ----------
    fields
        At least one.
    """
    return begin_of(min(field.planted for field in fields))


def begin_of(planted: date) -> date:
    """First day that a season needs.

    Parameters
    ----------
    planted
        Day of planting.
    """
    return planted - timedelta(days=int(load_table("season").number("spinup_days")) + 1)


def _never_asked(parts: Parts, places: Sequence[Place]) -> list[Place]:
    """Places whose own cell was never asked for."""
    new: set[Cell] = set()
    for name, cells in own_cells(places).items():
        spans = parts.feeds[name].store.spans(cells)
        new |= {cell for cell, span in zip(cells, spans, strict=True) if span.asked_from is None}
    return [place for place in places if place.cell in new]


def missing_past(parts: Parts, places: Sequence[Place], today: date) -> int:
    """Count the cells whose past years are not all there.

    Parameters
    ----------
    parts
        The wired service.
    places
        Of the fields.
    today
        The day of asking.
    """
    years = parts.settings.history_years
    return sum(
        history_missing(parts.feeds[name], cells, today, years)
        for name, cells in own_cells(places).items()
    )
