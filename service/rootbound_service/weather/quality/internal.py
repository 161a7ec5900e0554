"""One value against another of the same day."""

from __future__ import annotations

from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.sheet import Sheet

# That a dew point is not above the day's mean temperature, nor far above its minimum, is a
# principle of Estevez et al. 2011. Held strictly it marks real weather: on days when a front
# passes, the mean dew point of three stations (Chicago 2001-2016, Holyoke 2020, De Bilt
# 2016-2018) lies more than 3 degC over the minimum on 2 to 16 % of days, and above the middle
# of the extremes, which is not the mean, on 0.3 to 2 %. Over the middle by more than 3 degC it
# lies on 0.05 % or none. Hence these numbers, our choice.
DEWPOINT_ABOVE_MIDDLE_C = 3.0
DEWPOINT_ABOVE_TMAX_C = 0.5


def check_internal(sheet: Sheet) -> None:
    """Mark a minimum above the maximum (both), and a dew point that the day does not allow.

    Parameters
    ----------
    sheet
        The values.
    """
    if not sheet.has("tmax_c", "tmin_c"):
        return
    tmax, tmin = sheet.usable("tmax_c"), sheet.usable("tmin_c")
    crossed = tmax < tmin
    if sheet.has("dewpoint_c"):
        dewpoint = sheet.usable("dewpoint_c")
        above_middle = dewpoint > (tmax + tmin) / 2 + DEWPOINT_ABOVE_MIDDLE_C
        wet = above_middle | (dewpoint > tmax + DEWPOINT_ABOVE_TMAX_C)
        sheet.mark("dewpoint_c", wet & ~crossed, Flag.INTERNAL)
    for name in ("tmax_c", "tmin_c"):
        sheet.mark(name, crossed, Flag.INTERNAL)
