"""Finds a variable in a CF file, and the way from its unit to ours."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.public.replies import odd
from rootbound_service.weather.sources.cf_units import conversion, known_units, same_units

if TYPE_CHECKING:
    import xarray as xr

    from rootbound_service.weather.sources.cf_preset import Axes, Variable
    from rootbound_service.weather.sources.cf_units import Convert


def find_variable(
    dataset: xr.Dataset, quantity: str, wanted: Variable, axes: Axes, who: str
) -> tuple[xr.DataArray, Convert]:
    """Find a variable over the three axes, and the way from its unit to ours.

    Parameters
    ----------
    dataset, axes
        The open file, and the names of its axes.
    quantity
        Our name.
    wanted
        Where the preset says it is.
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If it is missing, has other axes, or comes in a unit that is not known or not the
        preset's.
    """
    three = (axes.time, axes.lat, axes.lon)
    full = [str(name) for name, found in dataset.data_vars.items() if set(three) <= set(found.dims)]
    name = wanted.name
    if name == "*":
        if len(full) != 1:
            odd(who, f"has {', '.join(full) or 'nothing'} over {', '.join(three)}; one is wanted")
        name = full[0]
    if name not in dataset.data_vars:
        odd(who, f"has no {name}; it has {', '.join(full) or 'nothing'} over {', '.join(three)}")
    found = dataset[name]
    further = {str(d): 0 for d in found.dims if d not in three and found.sizes[d] == 1}
    found = found.isel(further)
    if set(found.dims) != set(three):
        dims = ", ".join(map(str, dataset[name].dims))
        odd(who, f"{name} lies over {dims}; {', '.join(three)} are wanted")
    return found.transpose(*three), _convert(found, quantity, wanted, who)


def _convert(found: xr.DataArray, quantity: str, wanted: Variable, who: str) -> Convert:
    """Find the way to our unit; the file's word on its unit must agree with the preset's."""
    said = found.attrs.get("units")
    units = str(said) if said is not None else wanted.units
    if units is None:
        odd(who, f"{found.name} names no units; the preset must")
    convert = conversion(quantity, units, wanted.height_m)
    if convert is None:
        known = ", ".join(known_units(quantity))
        odd(who, f"{found.name} comes in {units!r}, a unit we do not know for it; known: {known}")
    if wanted.units is not None and not same_units(quantity, units, wanted.units):
        odd(who, f"{found.name} comes in {units!r}, the preset says {wanted.units!r}")
    return convert
