"""The days of a CF file, by its own calendar."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import import_module
from typing import TYPE_CHECKING, Protocol, Self

import numpy as np
from numpy.typing import NDArray

from rootbound_service.public.replies import odd
from rootbound_service.weather.sources.cf_axes import coordinate

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.sources.cf_preset import Axes

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

NOLEAP = ("noleap", "365_day")
CALENDARS = ("standard", "gregorian", "proleptic_gregorian", *NOLEAP, "all_leap", "366_day")


class Moment(Protocol):
    """A moment of some calendar, as cftime gives it."""

    year: int
    month: int
    day: int
    dayofyr: int

    def __add__(self, later: timedelta) -> Self: ...


def days_of(dataset: xr.Dataset, axes: Axes, who: str) -> Places:
    """Read the days of a file.

    Parameters
    ----------
    dataset
        The open file.
    axes
        Name and calendar of the time axis.
    who
        For the error's sentence.

    Returns
    -------
    ndarray of int64
        Ordinal of each step's date, rising; -1 where a calendar has a day that there was not.

    Raises
    ------
    Unavailable
        If the times cannot be read, or a day comes twice or after a later one.
    """
    values = coordinate(dataset, axes.time, who, degrees=False)
    said = dataset[axes.time].attrs
    units = axes.time_units or str(said.get("units", "nothing"))
    calendar = axes.calendar or str(said.get("calendar", "standard")).lower()
    if calendar not in CALENDARS:
        odd(who, f"{axes.time} runs by the calendar {calendar!r}; known: {', '.join(CALENDARS)}")
    ordinals = _ordinals(values, units, calendar, axes, who)
    real = ordinals[ordinals >= 0]
    steps = np.diff(real)
    if (steps <= 0).any():
        at = int((steps <= 0).argmax())
        day = date.fromordinal(int(real[at + 1]))
        how = "comes twice" if steps[at] == 0 else "comes after a later day"
        odd(who, f"{axes.time}: {day} {how}; one step a day in order is wanted")
    return ordinals


def _ordinals(values: Numbers, units: str, calendar: str, axes: Axes, who: str) -> Places:
    """Turn numbers since a moment into ordinals of dates."""
    if not np.isfinite(values).all():
        odd(who, f"{axes.time} has steps without a time")
    try:
        read = import_module("cftime").num2date  # a library without types; comes with netCDF4
        moments: list[Moment] = list(read(values, units, calendar, only_use_cftime_datetimes=True))
    except (ValueError, OverflowError) as error:
        odd(
            who, f"{axes.time} in {units!r} cannot be read ({error}); such as days since 1900-01-01"
        )
    nearly = timedelta(seconds=1)  # midnight less a rounding error is midnight
    late = calendar in NOLEAP and axes.dropped == "31 December"
    return np.array([_ordinal(moment + nearly, late=late) for moment in moments], dtype=np.int64)


def _ordinal(moment: Moment, *, late: bool) -> int:
    """Ordinal of a moment's date; -1 for a day that only its calendar has."""
    try:
        if late:
            return date(moment.year, 1, 1).toordinal() + moment.dayofyr - 1
        return date(moment.year, moment.month, moment.day).toordinal()
    except ValueError:
        return -1
