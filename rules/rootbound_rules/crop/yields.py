"""Yields in the units that people say them in."""

from __future__ import annotations

KG_PER_BUSHEL = {"maize": 25.40, "sorghum": 25.40, "soybean": 27.22}
"""56 lb of shelled maize and of sorghum, 60 lb of soybean (from memory: US weights). [kg]"""
HA_PER_ACRE = 0.404686
"""One US acre (from memory: NIST Handbook 44, appendix C). [ha]"""


def t_per_ha_of_bushels(crop: str) -> float:
    """Tonnes a hectare that one bushel an acre comes to.

    Parameters
    ----------
    crop
        Whose bushel it is; maize's for a crop without its own.
    """
    return KG_PER_BUSHEL.get(crop, KG_PER_BUSHEL["maize"]) / 1000.0 / HA_PER_ACRE
