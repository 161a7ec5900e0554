"""Estimates where no source has a value: by formula from the day's others, or by the climate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.tables import load_table
from rootbound_rules.water.radiation import clear_sky, from_temperatures
from rootbound_service.weather.calendar_slots import slots_of
from rootbound_service.weather.fill.draft import REAL, ROWS, Draft, How, Mask, Table
from rootbound_service.weather.fill.gaps import MOST_ESTIMATED, short_gaps
from rootbound_service.weather.normals import FEWEST_YEARS, Normals
from rootbound_service.weather.quality.radiation import above_the_air_mj

# Dew point below the night's minimum: FAO-56 takes none in humid places and 2 degC in dry
# ones. Where the place has shown its own offset, that is taken, within these bounds: ours.
OFFSET_BOUNDS_C = (-2.0, 10.0)
FEWEST_OFFSETS = 30


@dataclass(frozen=True, slots=False, eq=False)
class Site:
    """What is known of the places beside their weather."""

    lat: NDArray[np.float64]
    elevation_m: NDArray[np.float64]
    start: date
    days: int
    normals: Normals | None

    @cached_property
    def above_the_air(self) -> Table:
        """Radiation above the air, shape (place, day). [MJ m-2 d-1]"""
        return above_the_air_mj(self.lat, self.start, self.days)

    def usual(self, name: str) -> Table | None:
        """Middle value of the day of the year, shape (place, day); None if not known."""
        if self.normals is None or name not in self.normals.quantities:
            return None
        known = (self.normals.years >= FEWEST_YEARS)[:, None]
        by_slot = np.where(known, self.normals.median(name), np.nan).astype(np.float64)
        return by_slot[:, slots_of(self.start, self.days)]


def estimate(draft: Draft, site: Site, within: Mask) -> None:
    """Fill the short gaps that are left, in all but rain.

    Parameters
    ----------
    draft
        The series; it is added to.
    site
        The places.
    within
        Days that may be filled, shape (place, day).
    """
    _solar(draft, site, _fillable(draft, "solar_mj", within))
    _dewpoint(draft, _fillable(draft, "dewpoint_c", within))
    _temperatures(draft, site, within)
    for name in ("solar_mj", "dewpoint_c", "wind_m_s"):
        where, usual = _fillable(draft, name, within), site.usual(name)
        if usual is not None and where.any():
            draft.put(ROWS[name], where, usual, How.CLIMATE)
    _wind(draft, _fillable(draft, "wind_m_s", within))


def _fillable(draft: Draft, name: str, within: Mask) -> Mask:
    """Days of a quantity's short gaps; those that reach to the edge of what may be filled too."""
    row = ROWS[name]
    return short_gaps(draft.real(row) | ~within, MOST_ESTIMATED) & draft.missing(row)


def _measured(draft: Draft, name: str) -> Mask:
    """Days whose value is real or lies between real ones."""
    return np.isin(draft.how[ROWS[name]], (*REAL, How.INTERPOLATED))


def _solar(draft: Draft, site: Site, where: Mask) -> None:
    """Radiation from the range of temperature, FAO-56 Eq. 50."""
    where = where & _measured(draft, "tmax_c") & _measured(draft, "tmin_c")
    found = np.full(where.shape, np.nan)
    krs = load_table("season").number("radiation_krs")
    tmax, tmin = draft.values[ROWS["tmax_c"]], draft.values[ROWS["tmin_c"]]
    for place, day in np.argwhere(where):
        ra = float(site.above_the_air[place, day])
        rso = clear_sky(ra, float(site.elevation_m[place]))
        found[place, day] = from_temperatures(ra, tmax[place, day], tmin[place, day], krs, rso)
    draft.put(ROWS["solar_mj"], where, found, How.FORMULA)


def _dewpoint(draft: Draft, where: Mask) -> None:
    """Dew point from the night's minimum, FAO-56 Eq. 48 and its Annex 6."""
    where = where & _measured(draft, "tmin_c")
    places = np.flatnonzero(where.any(axis=1))
    if not len(places):
        return
    tmin, dewpoint = draft.values[ROWS["tmin_c"], places], draft.values[ROWS["dewpoint_c"], places]
    below = tmin - dewpoint
    known = ~np.isnan(below)
    count = known.sum(axis=1)
    offset = np.where(known, below, 0.0).sum(axis=1) / np.maximum(count, 1)
    offset = np.where(count >= FEWEST_OFFSETS, np.clip(offset, *OFFSET_BOUNDS_C), 0.0)
    found = np.full(where.shape, np.nan)
    found[places] = tmin - offset[:, None]
    draft.put(ROWS["dewpoint_c"], where, found, How.FORMULA)


def _temperatures(draft: Draft, site: Site, within: Mask) -> None:
    """Temperatures by the climate; where the day has one of the two, as far off as that one."""
    usual = {name: site.usual(name) for name in ("tmax_c", "tmin_c")}
    for name, partner in (("tmax_c", "tmin_c"), ("tmin_c", "tmax_c")):
        middle, beside, where = usual[name], usual[partner], _fillable(draft, name, within)
        if middle is None or beside is None or not where.any():
            continue
        off = np.where(_measured(draft, partner), draft.values[ROWS[partner]] - beside, 0.0)
        draft.put(ROWS[name], where, middle + off, How.CLIMATE)


def _wind(draft: Draft, where: Mask) -> None:
    """The place's own mean wind; where it has none at all FAO-56's usual one."""
    places = np.flatnonzero(where.any(axis=1))
    if not len(places):
        return
    row = ROWS["wind_m_s"]
    real, values = draft.real(row)[places], draft.values[row, places]
    mean = np.where(real, values, 0.0).sum(axis=1) / np.maximum(real.sum(axis=1), 1)
    found = np.full(where.shape, np.nan)
    found[places] = mean[:, None]
    draft.put(row, where, found, How.FORMULA)
