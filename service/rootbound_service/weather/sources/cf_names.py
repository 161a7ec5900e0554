"""Finds the axes of a file by what the CF conventions say of them, where no name is given."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.public.replies import odd

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.sources.cf_preset import Axes

ANY = "*"
NORTH = ("degrees_north", "degree_north", "degree_n", "degrees_n", "degreen", "degreesn")
EAST = ("degrees_east", "degree_east", "degree_e", "degrees_e", "degreee", "degreese")
"""Units of latitude and of longitude in the CF conventions, section 4."""


def with_names(dataset: xr.Dataset, axes: Axes, who: str) -> Axes:
    """Give the axes with the names that this file has.

    Parameters
    ----------
    dataset
        The open file.
    axes
        As the preset has them; ``*`` is looked for.
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If none, or more than one, could be meant.
    """
    found = {
        "time": _name(dataset, axes.time, "time", (), who),
        "lat": _name(dataset, axes.lat, "latitude", NORTH, who),
        "lon": _name(dataset, axes.lon, "longitude", EAST, who),
    }
    return axes.model_copy(update=found)


def _name(dataset: xr.Dataset, given: str, standard: str, units: tuple[str, ...], who: str) -> str:
    """Give one axis' name."""
    if given != ANY:
        return given
    fitting = [
        name
        for name in map(str, dataset.variables)
        if _is(dataset, name, standard, units) and _along_one(dataset, name)
    ]
    own = [name for name in fitting if name in dataset.dims]
    if len(own or fitting) == 1:
        return (own or fitting)[0]
    if fitting:
        odd(who, f"has several for {standard}: {', '.join(fitting)}; the preset must name one")
    wide = [str(n) for n in dataset.variables if _is(dataset, str(n), standard, units)]
    if wide:
        dims = ", ".join(map(str, dataset[wide[0]].dims))
        odd(who, f"{wide[0]} lies over {dims}; only a grid of rows and columns can be read")
    there = ", ".join(map(str, dataset.variables))
    return odd(who, f"has no {standard}; it has {there}; the preset can name it")


def _is(dataset: xr.Dataset, name: str, standard: str, units: tuple[str, ...]) -> bool:
    """Tell whether a variable says that it is this axis."""
    said = dataset[name].attrs
    written = str(said.get("units", "")).lower()
    if said.get("standard_name") == standard or written in units:
        return True
    if standard == "time" and " since " in written and name in dataset.dims:
        return True
    return name == standard


def _along_one(dataset: xr.Dataset, name: str) -> bool:
    """Tell whether a variable has one dimension."""
    return dataset[name].ndim == 1
