"""Gather: fields and digs from the store, weather from the source, each cell once."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.table import crop_names, heat_limits
from rootbound_rules.season.demand import cell_demand
from rootbound_service.nights.compute import season_is_over
from rootbound_service.nights.parts import CellNight, Gathered
from rootbound_service.store.fields import list_fields
from rootbound_service.store.risk import latest_risk
from rootbound_service.weather.cells import snap
from rootbound_service.weather.pull import pull_cells

if TYPE_CHECKING:
    from collections.abc import Callable

    from rootbound_service.records import FieldRecord, Person
    from rootbound_service.weather.cells import Cell
    from rootbound_service.wiring import Parts

LOOK_BACK = 14


def gather(
    parts: Parts,
    night: date,
    *,
    pull: bool = True,
    whose: set[int] | None = None,
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
        Whether to ask the weather source, or to use what is stored.
    whose
        Only the fields of these people; None: all fields.
    progress
        Told how many cells are done, and of how many.

    Returns
    -------
    Gathered
        A cell whose weather did not come is still there if it is stored from before.
    """
    with parts.engine.execution_options(ro=True).connect() as conn:
        fields = tuple(f for f in list_fields(conn, night) if _is_due(f, night, whose))
        memory = latest_risk(conn, night)
    cell_of = {field.id: snap(field.lat, field.lon) for field in fields}
    growing = [field for field in fields if not season_is_over(field, night)]
    crops: dict[Cell, set[str]] = {}
    for field in growing:
        crops.setdefault(cell_of[field.id], set()).add(field.crop)
    cells = list(crops)
    troubles = _pull(parts, cells, night, progress) if pull else {}
    ready: dict[str, CellNight] = {}
    stored = set(parts.grid.cells())
    for cell in cells:
        if cell.key not in stored:
            continue
        try:
            found = _cell_night(parts, cell, night, crops[cell])
        except Exception as error:  # noqa: BLE001  one cell never stops the others
            unread = f"{cell.key}: the stored weather cannot be used ({error})"
            troubles.setdefault(cell.key, unread)
            continue
        if found is not None:
            ready[cell.key] = found
    keys = {field_id: cell.key for field_id, cell in cell_of.items()}
    return Gathered(night, fields, memory, ready, keys, troubles)


def people_of(field: FieldRecord) -> tuple[Person, ...]:
    """Return who is told of a field: its grower, and its adviser if that is somebody else.

    Parameters
    ----------
    field
        The field.
    """
    if field.adviser is None or field.adviser.id == field.grower.id:
        return (field.grower,)
    return (field.grower, field.adviser)


def _is_due(field: FieldRecord, night: date, whose: set[int] | None) -> bool:
    """Tell whether a field has a season by now and belongs to one of these people."""
    if field.planted > night:
        return False
    return whose is None or any(person.id in whose for person in people_of(field))


def _pull(
    parts: Parts,
    cells: list[Cell],
    night: date,
    progress: Callable[[int, int], None] | None,
) -> dict[str, str]:
    """Ask for every cell; sentences of those that failed."""
    results = pull_cells(
        cells,
        night,
        parts.grid,
        parts.source,
        parts.answers,
        parts.settings.history_years,
        progress=(lambda _, done, of: progress(done, of)) if progress else None,
    )
    return {result.cell.key: result.error for result in results if result.error}


def _cell_night(parts: Parts, cell: Cell, night: date, crops: set[str]) -> CellNight | None:
    """Read a stored cell and work out its days; None while it has not one whole day."""
    from rootbound_rules.season.kernel import demand_loop

    start = date(night.year - parts.settings.history_years, 1, 1)
    weather = parts.grid.read(cell, start, night - timedelta(days=1))
    known = weather.known_through()
    if known is None:
        return None
    elevation = parts.grid.elevation_m(cell) or 0.0
    demands = {
        limits: cell_demand(weather, cell.centre[0], elevation, *limits, demand_loop)
        for limits in {heat_limits(crop) for crop in crops & set(crop_names())}
    }
    end = (known - weather.start).days + 1
    last = slice(max(end - LOOK_BACK, 0), end)
    gap = np.isnan(weather.tmax_c[last] + weather.tmin_c[last] + weather.rain_mm[last])
    return CellNight(cell.key, elevation, weather, demands, known, int(gap.sum()))
