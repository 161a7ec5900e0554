"""Gather: fields and digs from the store, weather from the sources, each cell once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.crop.table import crop_names, heat_limits
from rootbound_rules.season.demand import cell_demand
from rootbound_service.nights.coming import coming_days, last_moment
from rootbound_service.nights.compute import season_is_over
from rootbound_service.nights.expected import bring_forecasts, expected_rain
from rootbound_service.nights.ground import bring_soils
from rootbound_service.nights.history import season_begin
from rootbound_service.nights.parts import CellNight, Gathered
from rootbound_service.nights.told import troubles_by_place, weather_told
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.risk import latest_risk
from rootbound_service.weather.bring import bring_history, bring_night
from rootbound_service.weather.grid_mend import mend_stores
from rootbound_service.weather.places import each_once, places_of
from rootbound_service.weather.series import series_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from datetime import datetime

    from sqlalchemy import ColumnElement

    from rootbound_service.nights.coming import Coming
    from rootbound_service.records import FieldRecord, RiskRecord
    from rootbound_service.weather.places import Place
    from rootbound_service.weather.pull import Pulled
    from rootbound_service.weather.series import PlaceDays
    from rootbound_service.wiring import Parts

FEWEST_YEARS = 10
"""An outlook of fewer past years says too little of what may come. Our choice."""
AT_ONCE = 60
"""Requests for past years that a night makes after stored ones were lost. Our choice."""
NOWHERE = "no place in any grid"
"""Stands for the cell of a field that no source covers."""


def gather(
    parts: Parts,
    night: date,
    *,
    pull: bool = True,
    past: bool = True,
    whose: set[int] | None = None,
    which: Sequence[ColumnElement[bool]] = (),
    progress: Callable[[int, int], None] | None = None,
) -> Gathered:
    """Collect what a night starts from.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night; weather is asked for up to the day before.
    pull
        Whether to ask the sources, or to use what is stored.
    past
        Whether to fetch the past years of new cells now; the worker does that beside its
        nights, piece by piece.
    whose
        Only the fields of these people; None: all fields.
    which
        Only the fields that meet these conditions on the field table; none: all fields.
    progress
        Told how many requests are done, and of how many.

    Returns
    -------
    Gathered
        A cell whose weather did not come is still there if it is stored from before.
    """
    fields, memory = _due(parts, night, whose, which)
    grounds: tuple[str, ...] = ()
    mended: tuple[str, ...] = ()
    if pull:
        parts.caller.begin_run()
        mended = mend_stores(parts.feeds, parts.clock.now())
        grounds = bring_soils(parts, fields)
    if grounds:
        fields, memory = _due(parts, night, whose, which)
    growing = [field for field in fields if not season_is_over(field, night)]
    place_by_field = _places(parts, fields)
    places = each_once(place_by_field[field.id] for field in growing)
    most = None if past else AT_ONCE if mended else 0
    pulled: list[Pulled] = []
    if pull and places:
        begin = season_begin(growing)
        pulled = pull_weather(parts, places, begin, night, most, progress)
    if pulled:  # a cell that turned out to be empty has another one stand in from now on
        place_by_field = _places(parts, fields)
        places = each_once(place_by_field[field.id] for field in growing)
    troubles = troubles_by_place(places, pulled)
    forecasts = bring_forecasts(parts, places) if pull else ()
    crops = _crops(growing, place_by_field)
    ready = ready_cells(parts, places, crops, night, troubles)
    keys = {one: place.key if place else NOWHERE for one, place in place_by_field.items()}
    told = (*mended, *grounds, *weather_told(pulled, ready.values(), night), *forecasts)
    return Gathered(
        night,
        fields,
        memory,
        ready,
        keys,
        troubles,
        told,
        missed=any(one.failed for one in pulled),
        fewest_years=fewest_years(parts),
        mended=bool(mended),
    )


def _due(
    parts: Parts, night: date, whose: set[int] | None, which: Sequence[ColumnElement[bool]]
) -> tuple[tuple[FieldRecord, ...], dict[int, RiskRecord]]:
    """Fields with a season by now, and what the ladder remembers of them."""
    with parts.engine.execution_options(ro=True).connect() as conn:
        every = load_fields(conn, *which, on=night)
        fields = tuple(f for f in every if _is_due(f, night, whose))
        only = [field.season_id for field in fields] if which else None
        return fields, latest_risk(conn, night, only)


def _places(parts: Parts, fields: Sequence[FieldRecord]) -> dict[int, Place | None]:
    """Place of each field, by the field's number; None where no source covers it."""
    found = places_of([(one.lat, one.lon) for one in fields], parts.order, parts.feeds)
    return {field.id: place for field, place in zip(fields, found, strict=True)}


def _is_due(field: FieldRecord, night: date, whose: set[int] | None) -> bool:
    """Tell whether a field has a season by now and belongs to one of these people."""
    if field.planted > night:
        return False
    return whose is None or any(person.id in whose for person in field.people)


def pull_weather(
    parts: Parts,
    places: Sequence[Place],
    begin: date,
    night: date,
    most: int | None,
    progress: Callable[[int, int], None] | None = None,
) -> list[Pulled]:
    """Ask for every cell once: the season's days, and so much of the past as is wanted now.

    Parameters
    ----------
    parts
        The wired service.
    places
        Each once.
    begin
        First day that the seasons need.
    night
        The night.
    most
        Requests for past years at the most; None: all, 0: none.
    progress
        Told how many requests are done, and of how many.
    """
    years = parts.settings.history_years
    found = bring_night(parts.feeds, places, night, begin, parts.normals, progress)
    if most != 0:
        found += bring_history(parts.feeds, places, night, years, parts.normals, progress, most)
    return found


def fewest_years(parts: Parts) -> int:
    """Past years that an outlook needs, of those that are asked for.

    Parameters
    ----------
    parts
        The wired service.
    """
    return min(FEWEST_YEARS, max(parts.settings.history_years - 1, 1))


def _crops(
    growing: Sequence[FieldRecord], place_by_field: dict[int, Place | None]
) -> dict[str, set[str]]:
    """Crops that grow at each place, by its key."""
    crops: dict[str, set[str]] = {}
    for field in growing:
        if (place := place_by_field[field.id]) is not None:
            crops.setdefault(place.key, set()).add(field.crop)
    return crops


def ready_cells(
    parts: Parts,
    places: Sequence[Place],
    crops: Mapping[str, set[str]],
    night: date,
    troubles: dict[str, str],
) -> dict[str, CellNight]:
    """Work out the days of every place that has any, for the crops that grow there.

    Parameters
    ----------
    parts
        The wired service.
    places
        Each once.
    crops
        By the place's key.
    night
        The night.
    troubles
        By the place's key; what is wrong with a stored place is added.
    """
    start = date(night.year - parts.settings.history_years, 1, 1)
    rain = expected_rain(parts, places, night)
    ready: dict[str, CellNight] = {}

    def failed(place: Place, error: Exception) -> None:
        unread = f"{place.key}: the stored weather cannot be used ({error})"
        troubles.setdefault(place.key, unread)

    end, moment = night - timedelta(days=1), last_moment(night, parts.clock.now())
    for days in series_of(parts.feeds, places, start, end, parts.normals, rain, failed):
        key = days.place.key
        try:
            cell = _cell_night(days, crops[key])
            ready[key] = replace(cell, coming=_coming(parts, cell, night, moment))
        except Exception as error:  # noqa: BLE001  one cell never stops the others
            failed(days.place, error)
    return ready


def _coming(parts: Parts, cell: CellNight, night: date, moment: datetime) -> Coming | None:
    """What is expected of a place; a forecast that cannot be used costs nobody the night."""
    known, place = cell.known_through, cell.days.place
    if known is None:
        return None
    issues = parts.forecasts.issues(place.key, known - timedelta(days=1), moment)
    found = coming_days(issues, place, cell.elevation_m, known, night, moment, cell.demands.keys())
    if found is None:
        return None
    source = parts.forecast_sources.get(found.source)
    return replace(found, title=source.title if source else found.source)


def _cell_night(days: PlaceDays, crops: set[str]) -> CellNight:
    """Work out one place's days."""
    from rootbound_rules.season.kernel import demand_loop

    demands = {
        limits: cell_demand(
            days.weather, days.place.cell.lat, days.elevation_m, *limits, demand_loop
        )
        for limits in {heat_limits(crop) for crop in crops & set(crop_names())}
    }
    return CellNight(days, demands)
