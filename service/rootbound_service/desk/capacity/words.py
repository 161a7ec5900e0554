"""Numbers of the capacity model as people read them: two or three digits and a unit that fits."""

from __future__ import annotations

import math

MINUTE_S, HOUR_S, DAY_S = 60.0, 3600.0, 86400.0
TERA = 1000.0
FEW = 100.0


def count(value: float) -> str:
    """Write a number of things with three digits at the most.

    Parameters
    ----------
    value
        0 or more.
    """
    if value < TERA:
        return f"{value:.0f}" if value >= FEW or value == int(value) else f"{value:.3g}"
    digits = 2 - math.floor(math.log10(value))
    return f"{round(value, digits):,.0f}"


def lasting(seconds: float) -> str:
    """Write a time in the unit that fits it.

    Parameters
    ----------
    seconds
        0 or more. [s]
    """
    for least, unit, name in ((2 * DAY_S, DAY_S, "d"), (2 * HOUR_S, HOUR_S, "h"),
                              (2 * MINUTE_S, MINUTE_S, "min")):  # fmt: skip
        if seconds >= least:
            return f"{_short(seconds / unit)} {name}"
    return f"{_short(seconds)} s"


def size(gigabytes: float) -> str:
    """Write an amount of data.

    Parameters
    ----------
    gigabytes
        0 or more. [GB]
    """
    if gigabytes >= TERA:
        return f"{_short(gigabytes / TERA)} TB"
    if gigabytes >= 1:
        return f"{_short(gigabytes)} GB"
    return f"{_short(gigabytes * TERA)} MB"


def share(value: float) -> str:
    """Write a share of a limit in percent, a multiple from ten times on.

    Parameters
    ----------
    value
        1 is the limit.
    """
    return f"{value:.0%}" if value < 10 else f"{value:.0f} times"  # noqa: PLR2004  as documented


def plural(many: int) -> str:
    """Give the s of more than one.

    Parameters
    ----------
    many
        How many.
    """
    return "" if many == 1 else "s"


def _short(value: float) -> str:
    return f"{value:.0f}" if value >= 10 else f"{value:.2g}"  # noqa: PLR2004  two digits
