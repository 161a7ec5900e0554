"""What reference evapotranspiration loses where humidity, wind or radiation are not measured.

Every station is computed with all that it measured and again with some of it taken away,
through the function that every season goes through.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from rootbound_rules.season.demand import cell_demand
from seasons.dew_points import ESTIMATES, dew_point, dryness, measured_dew_point
from seasons.fallback_tables import dew_table, loss_table, once_table, wind_table
from seasons.fallback_words import TEXT
from seasons.losses import (
    HUMIDITY,
    SUN,
    TALL,
    WIND,
    WINDS,
    DewPoint,
    Loss,
    Wind,
    by_hargreaves,
    instead,
    without,
)
from seasons.stations import Station, ames, de_bilt, stations

WITHOUT = {
    "humidity": HUMIDITY,
    "wind": WIND,
    "radiation": SUN,
    "humidity and wind": HUMIDITY + WIND,
    "all three": HUMIDITY + WIND + SUN,
}
HARGREAVES = "all three, by Hargreaves"


@dataclass(frozen=True, slots=True)
class Fallbacks:
    """Everything measured."""

    places: tuple[Station, ...]
    losses: tuple[Loss, ...]
    dew_points: tuple[DewPoint, ...]
    winds: tuple[Wind, ...]
    high_mast: float
    """Summer wind of De Bilt at 2 m if its sensor stands at 20 m, not 10. [m s-1]"""
    dryness: dict[str, float]
    """Potential evaporation over rain of a year, by station. [-]"""
    ames_sun: Loss
    """Eq. 50 against the radiation of the Iowa file; humidity and wind estimated in both."""
    ames_kcb: float
    """What the bracket of Eq. 70 adds to maize on the Iowa file, June-August. [-]"""

    def loss(self, station: str, fallback: str) -> Loss:
        """Return one loss."""
        return next(x for x in self.losses if (x.station, x.fallback) == (station, fallback))

    def dew(self, station: str, estimate: str) -> DewPoint:
        """Return one estimate of the dew point."""
        return next(x for x in self.dew_points if (x.station, x.estimate) == (station, estimate))

    def wind(self, station: str) -> Wind:
        """Return the wind of one station."""
        return next(x for x in self.winds if x.station == station)


def measure() -> Fallbacks:
    """Take everything away, one by one and together, at every station."""
    places = stations()
    return Fallbacks(
        places=places,
        losses=tuple(loss for place in places for loss in _losses(place)),
        dew_points=tuple(_dew(place, name) for place in places for name in ESTIMATES),
        winds=tuple(_wind(place) for place in places),
        high_mast=_wind(de_bilt(mast_m=20.0)).mean,
        dryness={place.name: dryness(place) for place in places},
        ames_sun=without(ames(), SUN, "radiation"),
        ames_kcb=_bracket(ames()),
    )


def section(measured: Fallbacks) -> str:
    """Return the page's section.

    Parameters
    ----------
    measured
        What :func:`measure` found.
    """
    tables = {
        "losses": loss_table(measured.places, measured.losses),
        "dew_points": dew_table(measured.dew_points),
        "winds": wind_table(measured.winds),
        "once": once_table(),
    }
    return TEXT.format(
        m=measured,
        de_bilt=-measured.loss("De Bilt", "humidity and wind").percent,
        chicago=-measured.loss("Chicago", "humidity and wind").percent,
        least=min(loss.rmse for loss in measured.losses),
        most=max(loss.rmse for loss in measured.losses),
        hargreaves=measured.loss("De Bilt", HARGREAVES).percent,
        kimball=measured.dew("De Bilt", "Kimball").loss,
        kept=measured.dew("De Bilt", "Tmin").loss,
        **tables,
    )


def _losses(place: Station) -> Iterable[Loss]:
    """Return what each fallback costs, of those that the station can tell."""
    measured_sun = place.weather.solar_mj is not None
    for name, fields in WITHOUT.items():
        if measured_sun or not set(SUN) & set(fields):
            yield without(place, fields, name)
    if measured_sun:
        yield by_hargreaves(place, HARGREAVES)


def _dew(place: Station, estimate: str) -> DewPoint:
    ours, truth = dew_point(place, estimate), measured_dew_point(place)
    series = dict.fromkeys(HUMIDITY) | {"dewpoint_c": ours}
    error = float((ours - truth)[place.summer].mean())
    return DewPoint(place.name, estimate, error, instead(place, series, estimate))


def _wind(place: Station) -> Wind:
    wind = place.weather.wind_m_s
    if wind is None:
        raise ValueError(f"{place.name} has no wind")
    losses = (
        instead(place, {"wind_m_s": np.full(len(wind), speed)}, f"{speed:g} m/s") for speed in WINDS
    )
    summer = wind[place.summer]
    return Wind(place.name, float(summer.mean()), float(np.median(summer)), tuple(losses))


def _bracket(place: Station) -> float:
    demand = cell_demand(place.weather, place.lat, place.elevation_m)
    return float(TALL * demand.climate[place.summer].mean())
