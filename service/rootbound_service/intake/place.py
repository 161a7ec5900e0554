"""Where a field lies: its time zone, and the two slips of the pen that move it into the sea."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from tzfpy import get_tz

from rootbound_service.intake.limits import LATITUDE, LONGITUDE
from rootbound_service.intake.wrong import wrong

POLAR_CIRCLE = -60.0
"""South of it is only sea and Antarctica. [degrees]"""
EXAMPLE = "give the place of the field in degrees, for example lat 42.03, lon -93.62"


def time_zone_of(lat: float, lon: float) -> str | None:
    """Find the time zone of a field.

    Parameters
    ----------
    lat, lon
        Place of the field, WGS84. [degrees]

    Returns
    -------
    str or None
        IANA name; None where nothing grows: at sea, in Antarctica, off the globe.
    """
    if not (POLAR_CIRCLE < lat <= LATITUDE.high and LONGITUDE.low <= lon <= LONGITUDE.high):
        return None
    zone = get_tz(lon, lat)
    # The zone map names the sea by its hours from Greenwich.
    return None if not zone or zone.startswith("Etc/") else zone


def check_place(lat: float, lon: float) -> None:
    """Refuse a place where no field can be.

    Parameters
    ----------
    lat, lon
        As given, each within +-180. [degrees]

    Raises
    ------
    PydanticCustomError
        For swapped coordinates, the sea, Antarctica and latitudes beyond the poles.
    """
    if time_zone_of(lat, lon) is not None:
        return
    if time_zone_of(lon, lat) is not None:
        raise wrong(
            "latitude and longitude look swapped: "
            f"did you mean lat {_degrees(lon)}, lon {_degrees(lat)}?",
            "latitude counts north of the equator, longitude east of Greenwich",
        )
    if abs(lat) > LATITUDE.high:
        raise wrong(f"{_degrees(lat)} is beyond the pole", LATITUDE.wanted(), "lat")
    here = f"lat {_degrees(lat)}, lon {_degrees(lon)}"
    if lat <= POLAR_CIRCLE:
        raise wrong(f"{here} is in Antarctica or its sea", EXAMPLE)
    raise wrong(f"{here} is in the ocean", EXAMPLE)


def _degrees(value: float) -> str:
    """Degrees without trailing zeros; a tenth of a metre is fine enough."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def day_there(today: date, values: Mapping[str, object]) -> date:
    """What day it is at a field.

    Parameters
    ----------
    today
        A day, taken as it is; or an aware moment, read on the field's own calendar.
    values
        What was given; ``lat`` and ``lon`` are looked at, and may be anything.

    Returns
    -------
    date
        The day at the field; the moment's own day where the place is not known.
    """
    if not isinstance(today, datetime):
        return today
    try:
        zone = time_zone_of(float(str(values.get("lat"))), float(str(values.get("lon"))))
    except ValueError:
        zone = None
    return today.astimezone(ZoneInfo(zone)).date() if zone else today.date()
