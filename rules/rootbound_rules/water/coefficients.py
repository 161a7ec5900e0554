"""Crop coefficients of the day (FAO-56 chapter 7), along thermal time."""

from __future__ import annotations

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip, power


@equation
def climate_term(wind_m_s: float, rhmin_pct: float) -> float:
    """What wind and dry air add to a coefficient of a crop 3 m high. [-]

    Wind is held within 1-6 m s-1 and humidity within 20-80 %, the limits of Eq. 62.
    """
    u2 = clip(wind_m_s, 1.0, 6.0)
    rh = clip(rhmin_pct, 20.0, 80.0)
    return 0.04 * (u2 - 2.0) - 0.004 * (rh - 45.0)  # bracket of Eqs. 62, 65, 70, 72


@equation
def height_factor(height_m: float) -> float:
    """How much of the climate term a crop of this height feels. [-]"""
    return power(clip(height_m, 0.1, 10.0) / 3.0, 0.3)  # (h/3)^0.3 of Eqs. 62, 70, 72


@equation
def adjusted(table_value: float, climate: float, height: float) -> float:
    """Mid or end coefficient in this climate; an end value below 0.45 stays. [-]"""
    return table_value + climate * height if table_value >= 0.45 else table_value  # Eq. 70


@equation
def kcb_curve(
    gdd: float,
    initial_end: float,
    mid_start: float,
    late_start: float,
    maturity: float,
    initial: float,
    mid: float,
    end: float,
) -> float:
    """Basal crop coefficient at a sum of heat units. [-]

    Parameters
    ----------
    gdd
        Heat units since planting. [degF d]
    initial_end, mid_start, late_start, maturity
        Heat units at the corners of the curve. [degF d]
    initial, mid, end
        Coefficients of the three stages. [-]

    Notes
    -----
    FAO-56 draws the curve over days (Eq. 66); heat units instead are our choice.
    """
    rise = clip((gdd - initial_end) / (mid_start - initial_end), 0.0, 1.0)
    fall = clip((gdd - late_start) / (maturity - late_start), 0.0, 1.0)
    return initial + rise * (mid - initial) + fall * (end - mid)  # Eq. 66


@equation
def kc_max(kcb: float, climate: float, height: float) -> float:
    """Upper limit of evaporation and transpiration together. [-]"""
    return max(1.2 + climate * height, kcb + 0.05)  # Eq. 72


@equation
def cover(kcb: float, kcmin: float, kcmax: float, height_m: float) -> float:
    """Share of the soil that the canopy covers. [0-0.99]"""
    open_share = clip(max(kcb - kcmin, 0.01) / (kcmax - kcmin), 0.0, 1.0)
    return min(power(open_share, 1.0 + 0.5 * height_m), 0.99)  # Eq. 76


@equation
def canopy_height(kcb_share: float, tallest_m: float) -> float:
    """Height of the crop while its coefficient grows to ``kcb_share`` of mid season. [m]

    FAO-56 Annex 8: ``h = h_max Kcb / Kcb_mid``, never falling.
    """
    return tallest_m * kcb_share
