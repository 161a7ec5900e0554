"""The texture class of a soil from its sand, silt and clay: the USDA triangle.

A point on a line belongs to the class above it or to its right, as the revised definitions
have it.

References
----------
``benham_2009``, ``soil_survey_manual_2017``.
"""

from __future__ import annotations

from rootbound_rules.errors import RulesError

TOLERANCE_PCT = 5.0
"""How far sand, silt and clay may be from 100 % together: layers are rounded one by one. [%]"""


def texture_class(sand_pct: float, silt_pct: float, clay_pct: float) -> str:
    """Name the class of a soil.

    Parameters
    ----------
    sand_pct, silt_pct, clay_pct
        By mass of the fine earth; brought to 100 % together. [%]

    Returns
    -------
    str
        One of :func:`rootbound_rules.water.soil.texture_names`.

    Raises
    ------
    RulesError
        If a share is negative or the three do not make up a soil.
    """
    total = sand_pct + silt_pct + clay_pct
    if not (min(sand_pct, silt_pct, clay_pct) >= 0.0 and abs(total - 100.0) <= TOLERANCE_PCT):
        raise RulesError(
            f"sand {sand_pct:g} %, silt {silt_pct:g} %, clay {clay_pct:g} %: "
            "wanted shares of 0 or more that make 100 % together"
        )
    scale = 100.0 / total
    sand, silt, clay = sand_pct * scale, silt_pct * scale, clay_pct * scale
    if clay >= 40.0 and sand <= 45.0:
        return "silty clay" if silt >= 40.0 else "clay"
    if clay >= 27.0 and sand <= 45.0:
        return "silty clay loam" if sand <= 20.0 else "clay loam"
    if clay >= 35.0:
        return "sandy clay"
    if clay >= 20.0 and silt < 28.0:
        return "sandy clay loam"
    if silt >= 50.0:
        return "silt" if silt >= 80.0 and clay < 12.0 else "silt loam"
    return _coarse(sand, silt, clay)


def _coarse(sand: float, silt: float, clay: float) -> str:
    """Name a class of the lower left of the triangle: loam and coarser."""
    if silt + 1.5 * clay < 15.0:
        return "sand"
    if silt + 2.0 * clay < 30.0:
        return "loamy sand"
    return "loam" if clay >= 7.0 and sand <= 52.0 else "sandy loam"
