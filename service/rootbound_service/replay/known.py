"""A cell as it was known on a night of the past: measured days that came later are taken away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.season.demand import cell_demand
from rootbound_service.nights.coming import coming_days, last_moment
from rootbound_service.replay.baselines import days_between

if TYPE_CHECKING:
    from rootbound_service.nights.parts import CellNight
    from rootbound_service.records import RiskRecord
    from rootbound_service.wiring import Parts

_DAY = timedelta(days=1)


def known_on(rows: Sequence[RiskRecord], night: date) -> date | None:
    """Tell through which day measured weather was known on a night, by what was stored of it.

    Parameters
    ----------
    rows
        Of the field's season, the oldest first. A night without a row knew as much later as
        the last one with one.
    night
        The night.

    Returns
    -------
    date or None
        None where no row tells.
    """
    told = [row for row in rows if row.night <= night and row.weather_through is not None]
    if not told or told[-1].weather_through is None:
        return None
    return night - (told[-1].night - told[-1].weather_through)


def as_known(parts: Parts, cell: CellNight, night: date, through: date) -> CellNight:
    """Take measured days away that a night did not have, and put its forecast in their place.

    Parameters
    ----------
    parts
        The wired service.
    cell
        As the store has it now.
    night
        The night.
    through
        Last day of measured weather on that night.
    """
    known = cell.known_through
    if known is None or known <= through or through < cell.weather.start:
        return cell
    from rootbound_rules.season.kernel import demand_loop

    place, lat = cell.days.place, cell.days.place.cell.lat
    weather = days_between(cell.weather, cell.weather.start, through)
    demands = {
        limits: cell_demand(weather, lat, cell.elevation_m, *limits, demand_loop)
        for limits in cell.demands
    }
    moment = last_moment(night, parts.clock.now())
    issues = parts.forecasts.issues(place.key, through - _DAY, moment)
    coming = coming_days(
        issues, place, cell.elevation_m, through, night, moment, cell.demands.keys()
    )
    days = replace(cell.days, weather=weather)
    return replace(cell, days=days, demands=demands, coming=coming)
