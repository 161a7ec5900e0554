"""The soil of a field, from a texture class or from measured numbers."""

from __future__ import annotations

import difflib

from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import Soil
from rootbound_rules.tables import load_table
from rootbound_rules.water.retention import Retention, retention

TEXTURES = (
    "sand",
    "loamy sand",
    "sandy loam",
    "loam",
    "silt loam",
    "silt",
    "sandy clay loam",
    "clay loam",
    "silty clay loam",
    "sandy clay",
    "silty clay",
    "clay",
)
KPA_TO_CM = 10.2
"""cm of water in one kPa."""


def texture_names() -> tuple[str, ...]:
    """Return the names of the texture classes, coarse to fine."""
    return TEXTURES


def soil_from_texture(
    texture: str,
    organic_matter_pct: float | None = None,
    clay_pct: float | None = None,
    profile_depth_m: float | None = None,
    water_table_m: float | None = None,
) -> Soil:
    """Soil of a texture class: Saxton & Rawls 2006 at the middle of the class.

    Parameters
    ----------
    texture
        One of :func:`texture_names`, in any case.
    organic_matter_pct, clay_pct
        By mass, where known. [%]
    profile_depth_m
        Deepest that roots can go. [m]
    water_table_m
        Depth of the water table in spring, None where it is deep or unknown. [m]

    Raises
    ------
    RulesError
        If the texture is not one of the names.
    """
    name = _known(texture)
    soils = load_table("soils")
    sand, class_clay = soils.numbers(f"{_key(name)}.sand_clay_pct")
    om = soils.number("organic_matter_pct") if organic_matter_pct is None else organic_matter_pct
    clay = class_clay if clay_pct is None else clay_pct
    curve = retention(min(sand, 100.0 - clay), clay, om)
    water = (curve.field_capacity, curve.wilting_point)
    return _soil(name, name, water, (clay, om), curve, (profile_depth_m, water_table_m))


def soil_from_numbers(
    field_capacity: float,
    wilting_point: float,
    clay_pct: float | None = None,
    organic_matter_pct: float | None = None,
    profile_depth_m: float | None = None,
    water_table_m: float | None = None,
    texture: str | None = None,
) -> Soil:
    """Soil of measured or mapped water contents.

    Parameters
    ----------
    field_capacity, wilting_point
        Volumetric. [m3 m-3]
    clay_pct, organic_matter_pct, profile_depth_m, water_table_m
        As for :func:`soil_from_texture`. What only the texture could tell (evaporable water,
        curve number, diffusivity, conductivity) is taken from ``texture`` or, without it,
        from the class whose field capacity and wilting point lie nearest.

    Raises
    ------
    RulesError
        If the water contents are not ``0 < wilting point < field capacity < 0.7``.
    """
    if not 0.0 < wilting_point < field_capacity < 0.7:
        raise RulesError(
            f"field capacity {field_capacity} and wilting point {wilting_point} m3/m3: "
            "wanted 0 < wilting point < field capacity < 0.7"
        )
    soils = load_table("soils")
    name = _known(texture) if texture else _nearest(field_capacity, wilting_point)
    sand, class_clay = soils.numbers(f"{_key(name)}.sand_clay_pct")
    om = soils.number("organic_matter_pct") if organic_matter_pct is None else organic_matter_pct
    clay = class_clay if clay_pct is None else clay_pct
    curve = retention(min(sand, 100.0 - clay), clay, om)
    shown = name if texture else ""
    water = (field_capacity, wilting_point)
    return _soil(shown, name, water, (clay, om), curve, (profile_depth_m, water_table_m))


def _soil(
    texture: str,
    like: str,
    water: tuple[float, float],
    clay_om: tuple[float, float],
    curve: Retention,
    depths: tuple[float | None, float | None],
) -> Soil:
    """Put the parts together; ``like`` is the class that lends what numbers do not tell."""
    soils, key = load_table("soils"), _key(like)
    profile, table = depths
    return Soil(
        field_capacity=water[0],
        wilting_point=water[1],
        clay_pct=clay_om[0],
        organic_matter_pct=clay_om[1],
        rew_mm=soils.number(f"{key}.rew_mm"),
        curve_number=soils.number(f"{key}.curve_number"),
        diffusivity_cm2_d=soils.number(f"{key}.diffusivity_cm2_d"),
        conductivity_mm_d=24.0 * curve.conductivity_mm_h,
        pore_index=curve.pore_index,
        air_entry_cm=KPA_TO_CM * curve.air_entry_kpa,
        profile_depth_m=soils.number("profile_depth_m") if profile is None else profile,
        water_table_m=table,
        texture=texture,
    )


def _key(texture: str) -> str:
    """Name of a texture's group in soils.toml."""
    return texture.replace(" ", "_")


def _known(texture: str) -> str:
    """Return the texture's own spelling or refuse it with the nearest name."""
    name = " ".join(texture.lower().replace("_", " ").replace("-", " ").split())
    if name in TEXTURES:
        return name
    near = difflib.get_close_matches(name, TEXTURES, n=1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise RulesError(f"unknown texture {texture!r}{hint} Known: {', '.join(TEXTURES)}")


def _nearest(fc: float, wp: float) -> str:
    """Class whose water contents lie nearest."""
    soils = load_table("soils")
    om = soils.number("organic_matter_pct")

    def distance(name: str) -> float:
        sand, clay = soils.numbers(f"{_key(name)}.sand_clay_pct")
        curve = retention(sand, clay, om)
        return (curve.field_capacity - fc) ** 2 + (curve.wilting_point - wp) ** 2

    return min(TEXTURES, key=distance)
