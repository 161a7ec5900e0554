"""Heat units: Fahrenheit growing degree days, and corn heat units beside them."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip


@equation
def fahrenheit(celsius: float) -> float:
    """Return a temperature in degrees Fahrenheit. [degF]"""
    return 1.8 * celsius + 32.0


@equation
def gdd_f(tmax_c: float, tmin_c: float, base_f: float, ceiling_f: float) -> float:
    """Growing degree days of one day, both temperatures held between base and ceiling.

    Parameters
    ----------
    tmax_c, tmin_c
        Highest and lowest air temperature. [degC]
    base_f, ceiling_f
        50 and 86 for maize. [degF]

    Returns
    -------
    float
        Heat units of the day. [degF d]

    References
    ----------
    ``mcmaster_wilhelm_1997``: method 2, compared before averaging.
    """
    high = clip(fahrenheit(tmax_c), base_f, ceiling_f)
    low = clip(fahrenheit(tmin_c), base_f, ceiling_f)
    return 0.5 * (high + low) - base_f  # method 2


def corn_heat_units(tmax_c: float, tmin_c: float) -> float:
    """Corn heat units of one day.

    Parameters
    ----------
    tmax_c, tmin_c
        Highest and lowest air temperature. [degC]

    Returns
    -------
    float
        Corn heat units; each half is held at 0 or above. [CHU]

    References
    ----------
    ``brown_bootsma_1993``; open-data record ``aafc_chu``.
    """
    day = 3.33 * (tmax_c - 10.0) - 0.084 * (tmax_c - 10.0) ** 2  # Ymax
    night = 1.8 * (tmin_c - 4.4)  # Ymin
    return 0.5 * (max(day, 0.0) + max(night, 0.0))
