"""Water that rises from a shallow table into the depleted soil above it."""

from __future__ import annotations

import math

from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip, power


def steady_rise_factors(
    conductivity_mm_d: float, pore_index: float, air_entry_cm: float
) -> tuple[float, float]:
    """Factor and exponent of Gardner's steady upward flow ``q = factor * z**-n``, z in m.

    Parameters
    ----------
    conductivity_mm_d
        Saturated conductivity. [mm d-1]
    pore_index
        Slope of the retention curve, lambda. [-]
    air_entry_cm
        Air-entry suction. [cm]

    Returns
    -------
    tuple of float
        Factor [mm d-1 m^n] and exponent n = 2 + 3 lambda [-].

    References
    ----------
    ``gardner_1958``: the limit of steady flow to a dry surface,
    ``q = Ks [(pi/n)/sin(pi/n)]**n (h/z)**n`` for ``K = Ks (h/psi)**n``.
    """
    n = 2.0 + 3.0 * pore_index
    shape = ((math.pi / n) / math.sin(math.pi / n)) ** n
    return conductivity_mm_d * shape * (0.01 * air_entry_cm) ** n, n


@equation
def capillary_rise(
    distance_m: float, factor: float, exponent: float, most_mm: float, farthest_m: float
) -> float:
    """Rise from a table ``distance_m`` below the roots. [mm d-1]

    Parameters
    ----------
    distance_m
        From the deepest root to the table. [m]
    factor, exponent
        Of :func:`steady_rise_factors`.
    most_mm
        Most that may rise in a day. [mm d-1]
    farthest_m
        Distance from which nothing rises any more (FAO-56 p. 171: about 1 m); over the last
        tenth of it the rise goes to nothing in a straight line. [m]
    """
    near = clip(distance_m, 0.05, farthest_m)
    flow = min(factor * power(near, -exponent), most_mm)
    return flow * clip(10.0 * (1.0 - distance_m / farthest_m), 0.0, 1.0)


@equation
def table_depth(
    depth_m: float,
    rise_mm: float,
    percolation_mm: float,
    yield_mm_m: float,
    drain_m: float,
    left: float,
) -> float:
    """Depth of the table after a day: it falls by what rises and stands up over the drains. [m]

    Above the drains it goes back to them by a share of its height a day, as the drainage
    theory of Glover and Dumm has it after the first hours; what would stand above the ground
    runs off.

    Parameters
    ----------
    depth_m
        At the start of the day. [m]
    rise_mm, percolation_mm
        Left it upwards, reached it from above. [mm]
    yield_mm_m
        Water that a metre of fall gives. [mm m-1]
    drain_m
        Depth that drains or the spring level draw it back to. [m]
    left
        Share of its height over the drains that is left after a day. [0-1]

    References
    ----------
    ``dumm_1964``: the height falls as ``exp(-t / tau)``.
    """
    filled = depth_m + (rise_mm - percolation_mm) / yield_mm_m
    above = clip(drain_m - filled, 0.0, drain_m)
    return max(filled, drain_m) - left * above


@equation
def deepest_root(profile_m: float, table_m: float) -> float:
    """Depth that roots can grow to today: the soil's, or the table where that is higher. [m]

    References
    ----------
    ``ordonez_2018``: root depth did not exceed the depth of the water table.
    """
    return min(profile_m, table_m)
