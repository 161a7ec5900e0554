"""Makes filled values agree with the others of their day; what a source gave as its own stays."""

from __future__ import annotations

import numpy as np

from rootbound_service.weather.fill.draft import ROWS, Draft, How
from rootbound_service.weather.fill.formula import Site
from rootbound_service.weather.quality.radiation import CLEAR_SKY_MOST, clear_sky_mj

TMAX, TMIN, SOLAR, DEWPOINT = (ROWS[n] for n in ("tmax_c", "tmin_c", "solar_mj", "dewpoint_c"))


def settle(draft: Draft, site: Site) -> None:
    """Undo what filling may have crossed.

    Parameters
    ----------
    draft
        The series; only filled values of it change.
    site
        The places.
    """
    _temperatures(draft)
    filled = draft.how > How.OBSERVED
    values = draft.values
    with np.errstate(invalid="ignore"):
        wet = filled[DEWPOINT] & (values[DEWPOINT] > (values[TMAX] + values[TMIN]) / 2)
    values[DEWPOINT][wet] = (values[TMAX][wet] + values[TMIN][wet]) / 2
    places = np.flatnonzero(filled[SOLAR].any(axis=1))
    if len(places):
        lat, height = site.lat[places], site.elevation_m[places]
        most = CLEAR_SKY_MOST * clear_sky_mj(lat, height, site.start, site.days)
        some = values[SOLAR, places]
        values[SOLAR, places] = np.where(filled[SOLAR, places] & (some > most), most, some)


def _temperatures(draft: Draft) -> None:
    """A filled extreme is not beyond the other; two filled ones that cross meet in the middle."""
    values, filled = draft.values, draft.how > How.OBSERVED
    with np.errstate(invalid="ignore"):
        crossed = (values[TMAX] < values[TMIN]) & (filled[TMAX] | filled[TMIN])
    both = crossed & filled[TMAX] & filled[TMIN]
    middle = (values[TMAX] + values[TMIN]) / 2
    upper, lower = crossed & filled[TMAX] & ~both, crossed & filled[TMIN] & ~both
    values[TMAX][upper] = values[TMIN][upper]
    values[TMIN][lower] = values[TMAX][lower]
    for row in (TMAX, TMIN):
        values[row][both] = middle[both]
