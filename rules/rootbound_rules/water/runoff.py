"""Rain that runs off: the curve number method, tied to the top layer's own water."""

from __future__ import annotations

from rootbound_rules.equation import equation


@equation
def dry_curve_number(average: float) -> float:
    """Curve number of dry soil. [-]

    References
    ----------
    ``hawkins_1985``: a fit, not an NRCS equation.
    """
    return 4.2 * average / (10.0 - 0.058 * average)


@equation
def wet_curve_number(average: float) -> float:
    """Curve number of wet soil. [-]

    References
    ----------
    ``hawkins_1985``: a fit, not an NRCS equation.
    """
    return 23.0 * average / (10.0 + 0.13 * average)


@equation
def retention_mm(curve_number: float) -> float:
    """Potential retention ``S``. [mm]"""
    return 25400.0 / curve_number - 254.0  # NEH-630 Eq. 10-13


@equation
def runoff(rain_mm: float, storage_mm: float) -> float:
    """Runoff of one day's rain. [mm]

    Parameters
    ----------
    rain_mm
        Rain of the day. [mm]
    storage_mm
        Potential retention ``S``. [mm]
    """
    excess = max(rain_mm - 0.2 * storage_mm, 0.0)  # Ia = 0.2 S, NEH-630 Eq. 10-10
    return excess * excess / (rain_mm + 0.8 * storage_mm)  # NEH-630 Eq. 10-11


@equation
def todays_storage(top_water: float, dry_cn: float, wet_cn: float) -> float:
    """Potential retention at the top layer's water, dry (0) to wet (1). [mm]

    The curve number goes straight from dry to wet: our choice, after the handbook dropped the
    five-day rain classes.

    References
    ----------
    ``neh630_ch10``.
    """
    return retention_mm(dry_cn + top_water * (wet_cn - dry_cn))
