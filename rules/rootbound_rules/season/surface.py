"""The top layer's day: rain runs off or enters, soil and canopy share what evaporates."""

from __future__ import annotations

from rootbound_rules.crop.wall import top_layer_water
from rootbound_rules.equation import equation
from rootbound_rules.water.coefficients import cover, height_factor, kc_max
from rootbound_rules.water.evaporation import evaporation_coefficient, reduction, top_layer
from rootbound_rules.water.runoff import runoff, todays_storage


@equation
def surface_day(
    depletion: float,
    rain: float,
    irrigation: float,
    et0: float,
    kcb: float,
    kcmin: float,
    climate: float,
    height: float,
    tew: float,
    rew: float,
    dry_cn: float,
    wet_cn: float,
) -> tuple[float, float, float, float]:
    """Runoff, infiltration and evaporation of the day; the same for both twins.

    Returns
    -------
    tuple of float
        Depletion of the top layer [mm], infiltration [mm], evaporation coefficient [-],
        runoff [mm].
    """
    kcmax, few = open_soil(kcb, kcmin, climate, height, height_factor(height))
    return wet_and_dry(depletion, rain, irrigation, et0, kcb, kcmax, few, tew, rew, dry_cn, wet_cn)


@equation
def open_soil(
    kcb: float, kcmin: float, climate: float, height: float, factor: float
) -> tuple[float, float]:
    """Upper limit of the coefficients, and share of the soil that is bare and wetted. [-]

    ``factor`` is the height factor of ``height``: the kernel has it from a polynomial.
    """
    kcmax = kc_max(kcb, climate, factor)
    return kcmax, 1.0 - cover(kcb, kcmin, kcmax, height)  # Eq. 75, rain wets all


@equation
def wet_and_dry(
    depletion: float,
    rain: float,
    irrigation: float,
    et0: float,
    kcb: float,
    kcmax: float,
    few: float,
    tew: float,
    rew: float,
    dry_cn: float,
    wet_cn: float,
) -> tuple[float, float, float, float]:
    """The top layer's day once the canopy is known; returns as :func:`surface_day`."""
    lost = runoff(rain, todays_storage(top_layer_water(depletion, tew), dry_cn, wet_cn))
    infiltration = rain - lost + irrigation
    wetted = max(depletion - infiltration, 0.0)
    ke = evaporation_coefficient(reduction(wetted, tew, rew), kcmax, kcb, few)
    ke = min(ke, few * (tew - wetted) / max(et0, 0.01))  # Eq. 78: no more than the layer holds
    ended = top_layer(depletion, infiltration, ke * et0, few, tew)
    return ended, infiltration, ke, lost
