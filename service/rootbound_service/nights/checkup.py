"""One small request to every source that the order names, and what to do if it fails."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.public.finding import Finding, try_out
from rootbound_service.store.fields import list_fields
from rootbound_service.weather.day import Ask

if TYPE_CHECKING:
    from rootbound_service.soil.profile import SoilSource
    from rootbound_service.weather.feed import Feed
    from rootbound_service.weather.forecast.day import ForecastSource
    from rootbound_service.wiring import Parts

SOMEWHERE = (42.03, -93.62)
"""Asked about while no field is enrolled: farmland that every service knows."""
BACK = 12
"""A day so long ago is known by every source."""


def check_sources(parts: Parts, now: datetime) -> list[Finding]:
    """Ask each source once.

    Parameters
    ----------
    parts
        The wired service.
    now
        The moment, aware UTC.

    Returns
    -------
    list of Finding
        The clock first: wrong by hours, it spoils all that follows.
    """
    with parts.engine.execution_options(ro=True).connect() as conn:
        fields = list_fields(conn, now.date())
    lat, lon = (fields[0].lat, fields[0].lon) if fields else SOMEWHERE
    checks: list[tuple[str, Callable[[], str]]] = [
        (f"{feed.source.title} (past days)", _days(feed, lat, lon, now))
        for feed in parts.feeds.values()
    ]
    checks += [
        (f"{source.title} (coming days)", _forecast(source, lat, lon, now))
        for source in parts.forecast_sources.values()
    ]
    checks += [(f"{soil.title} (soil)", _soil(soil, lat, lon)) for soil in parts.soils.values()]
    return [try_out(what, ask) for what, ask in checks]


def _days(feed: Feed, lat: float, lon: float, now: datetime) -> Callable[[], str]:
    """Asks for one day of one cell."""

    def ask() -> str:
        cell = feed.snap(lat, lon)
        if cell is None:
            return "does not cover this place; not asked"
        day = now.date() - timedelta(days=BACK + feed.source.habits.lag)
        part = next(iter(feed.source.split(Ask((cell,), day, day, now.date()))))
        block = feed.source.fetch(part)
        known = int((~np.isnan(block.values)).sum())
        return f"{known} of {block.values.size} values of {day} came for {cell.key}"

    return ask


def _forecast(source: ForecastSource, lat: float, lon: float, now: datetime) -> Callable[[], str]:
    """Asks for the coming days of one place."""

    def ask() -> str:
        if not source.covers(lat, lon):
            return "does not cover this place; not asked"
        forecast = source.fetch(lat, lon, now)
        age = (now - forecast.issued).total_seconds() / 3600
        return f"{forecast.days} days came, issued {age:.0f} h ago"

    return ask


def _soil(source: SoilSource, lat: float, lon: float) -> Callable[[], str]:
    """Asks for the soil of one place."""

    def ask() -> str:
        if not source.covers(lat, lon):
            return "does not cover this place; not asked"
        return f"{len(source.fetch(lat, lon).layers)} layers came"

    return ask
