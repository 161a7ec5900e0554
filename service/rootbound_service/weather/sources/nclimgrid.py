"""NOAA nClimGrid-Daily: a month of the 48 states in one file, that all fields share.

The date of a value names the 24 hours that end in the early morning of that date. Most of them
belong to the day before, so the highest temperature and the rain lag the civil day by about
one; the lowest temperature does not. ``label_shift_days`` of the preset moves all of them,
``shift_days`` of a variable one; as shipped nothing is moved, and a value keeps the date that
NOAA gives it.

There is no humidity, wind or radiation. NOAA warns against relying on one cell of one day.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from rootbound_service.weather.sources.cf import CfSource
from rootbound_service.weather.sources.cf_presets import moved, shipped_preset

if TYPE_CHECKING:
    from rootbound_service.weather.sources.cf_remote import Downloads

HOME = "https://www.ncei.noaa.gov/data/nclimgrid-daily/access/grids"


class NClimGrid(CfSource):
    """nClimGrid-Daily, each month's file fetched once and kept.

    For each month the ``scaled`` file (final) is asked for first, then ``prelim``
    (provisional); neither may be there yet.

    Parameters
    ----------
    caller
        Carries the requests.
    url
        Where the folders of the years are.
    cache
        Folder for the files, about 61 MB a month.
    shifts
        Days to add to NOAA's date, by our name of the quantity; one not named keeps it.
    """

    def __init__(
        self, caller: Downloads, url: str, cache: Path, shifts: dict[str, int] | None = None
    ) -> None:
        preset = moved(shipped_preset("nclimgrid"), HOME, url.rstrip("/"))
        super().__init__(preset.shifted(shifts or {}), caller, cache)
