"""From the layers of a profile to the few values that our soil has, each with its origin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rootbound_rules.errors import RulesError
from rootbound_rules.tables import load_table
from rootbound_rules.water.retention import retention
from rootbound_rules.water.soil import soil_from_numbers, texture_names
from rootbound_rules.water.texture import texture_class
from rootbound_service.public.http import Unavailable
from rootbound_service.store.soil_record import SoilValue

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from rootbound_service.soil.profile import Layer, Profile

FINENESS = ("very fine", "fine", "coarse")
"""Words of the survey before a sandy class, which our twelve classes do not tell apart."""
COMPUTED = "Saxton & Rawls 2006"


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean over some depth, and how much of it had values."""

    value: float
    known_cm: float


def values_of(profile: Profile, title: str) -> tuple[SoilValue, ...]:
    """Work out the values of our soil from a profile.

    Parameters
    ----------
    profile
        As a service described it.
    title
        The service's name for people.

    Returns
    -------
    tuple of SoilValue
        Enough to compute with; each says where it is from.

    Raises
    ------
    Unavailable
        If neither water contents nor a texture follow from the layers.
    """
    said = f"{title}, {profile.name}"
    if profile.share_pct is not None:
        said += f" ({profile.share_pct:g} % of the map unit)"
    found = {**_depths(profile), **_top(profile.layers), **_water(profile)}
    if "texture" not in found and "field_capacity" not in found:
        what = "its layers have neither water contents nor a texture"
        raise Unavailable(said, what, retry_later=False)
    return tuple(
        SoilValue(name, value, profile.source, f"{said}: {how}")
        for name, (value, how) in found.items()
    )


def _depths(profile: Profile) -> dict[str, tuple[float | str, str]]:
    """Profile depth and water table. [m]"""
    soils = load_table("soils")
    found: dict[str, tuple[float | str, str]] = {}
    usual, stop = soils.number("profile_depth_m"), profile.restriction_cm
    if stop is not None and stop / 100.0 < usual:
        how = f"a layer that stops roots lies at {stop:g} cm"
        found["profile_depth_m"] = _at_least(
            stop / 100.0, "profile_least_m", how, "the least we compute with"
        )
    table = profile.water_table_cm
    if table is not None:
        how = f"shallowest in spring, {table:g} cm as mapped, without drains"
        found["water_table_m"] = _at_least(
            table / 100.0, "water_table_least_m", how, "the usual depth of drains"
        )
    return found


def _at_least(value: float, row: str, how: str, why: str) -> tuple[float, str]:
    least = load_table("soils").number(row)
    if value >= least:
        return round(value, 3), how
    return least, f"{how}; taken as {least:g} m, {why}"


def _top(layers: Sequence[Layer]) -> dict[str, tuple[float | str, str]]:
    """Clay, organic matter and texture of the top. [%, %]"""
    soils = load_table("soils")
    top = soils.number("top_depth_cm")
    found: dict[str, tuple[float | str, str]] = {}
    for name, row in (
        ("clay_pct", "clay_most_pct"),
        ("organic_matter_pct", "organic_matter_most_pct"),
    ):
        mean = _mean(layers, top, lambda layer, name=name: getattr(layer, name))  # type: ignore[misc]  # a bound default
        if mean is None:
            continue
        most, how = soils.number(row), f"mean of the top {mean.known_cm:g} cm"
        if mean.value > most:
            how += f", {mean.value:.1f} %, taken as the {most:g} % that the equations bear"
        found[name] = round(min(mean.value, most), 2), how
    texture = _texture(layers, top)
    if texture is not None:
        found["texture"] = texture
    return found


def _texture(layers: Sequence[Layer], top: float) -> tuple[str, str] | None:
    """Class of the top by its sand, silt and clay, else by the word of its first layer."""
    sand = _mean(layers, top, lambda one: _part(_grains(one)))
    clay = _mean(layers, top, lambda one: _part(_grains(one), 1))
    silt = _mean(layers, top, lambda one: _part(_grains(one), 2))
    if sand and clay and silt:
        name = texture_class(sand.value, silt.value, clay.value)
        how = (
            f"class of {sand.value:.0f} % sand, {silt.value:.0f} % silt, {clay.value:.0f} % clay, "
            f"the top {sand.known_cm:g} cm"
        )
        return name, how
    for layer in layers[:1]:
        name = (layer.texture or "").lower()
        for word in FINENESS:
            name = name.replace(f"{word} ", "")
        if name in texture_names():
            return name, f"the survey's word for {layer.top_cm:g}-{layer.bottom_cm:g} cm"
    return None


def _grains(layer: Layer) -> tuple[float, float, float] | None:
    """Sand, clay and silt of a layer that make up a soil, silt by difference. [%]"""
    if layer.sand_pct is None or layer.clay_pct is None:
        return None
    silt = layer.silt_pct
    if silt is None:
        silt = 100.0 - layer.sand_pct - layer.clay_pct
    try:
        texture_class(layer.sand_pct, silt, layer.clay_pct)
    except RulesError:
        return None
    total = (layer.sand_pct + silt + layer.clay_pct) / 100.0
    return layer.sand_pct / total, layer.clay_pct / total, silt / total


def _water(profile: Profile) -> dict[str, tuple[float | str, str]]:
    """Field capacity and wilting point over the profile; empty where too little is known."""
    soils = load_table("soils")
    stop, usual = profile.restriction_cm, 100.0 * soils.number("profile_depth_m")
    least = 100.0 * soils.number("profile_least_m")
    depth = usual if stop is None else min(max(stop, least), usual)
    usual_matter = soils.number("organic_matter_pct")
    pairs = {layer: _pair(layer, usual_matter) for layer in profile.layers}
    capacity = _mean(profile.layers, depth, lambda one: _part(pairs[one]))
    wilting = _mean(profile.layers, depth, lambda one: _part(pairs[one], 1))
    if capacity is None or wilting is None:
        return {}
    if capacity.known_cm < soils.number("described_share") * depth:
        return {}
    values = round(capacity.value, 4), round(wilting.value, 4)
    try:
        soil_from_numbers(*values)
    except RulesError:
        return {}
    how = f"mean over {capacity.known_cm:g} of {depth:g} cm, {_how(profile.layers, depth)}"
    return {
        "field_capacity": (values[0], f"water at 33 kPa, {how}"),
        "wilting_point": (values[1], f"water at 1500 kPa, {how}"),
    }


def _pair(layer: Layer, usual_matter: float) -> tuple[float, float] | None:
    """Field capacity and wilting point of a layer: as stated, else from its texture."""
    if _is_stated(layer):
        return layer.field_capacity, layer.wilting_point  # type: ignore[return-value]  # just seen
    soils, grains = load_table("soils"), _grains(layer)
    if grains is None:
        return None
    stated = layer.organic_matter_pct
    matter = min(
        usual_matter if stated is None else stated, soils.number("organic_matter_most_pct")
    )
    sand, clay = grains[0], min(grains[1], soils.number("clay_most_pct"))
    curve = retention(sand, clay, matter)
    if not 0.0 < curve.wilting_point < curve.field_capacity:
        return None
    return curve.field_capacity, curve.wilting_point


def _part(found: tuple[float, ...] | None, index: int = 0) -> float | None:
    """One of what was found, if anything was."""
    return None if found is None else found[index]


def _is_stated(layer: Layer) -> bool:
    capacity, wilting = layer.field_capacity, layer.wilting_point
    return capacity is not None and wilting is not None and 0.0 < wilting < capacity


def _how(layers: Sequence[Layer], depth: float) -> str:
    """Say where the water contents of the layers are from."""
    used = [one for one in layers if one.top_cm < depth]
    stated = sum(map(_is_stated, used))
    if stated == len(used):
        return "as stated"
    if not stated:
        return f"from sand, clay and organic matter by {COMPUTED}"
    return f"as stated, where it is not from sand, clay and organic matter by {COMPUTED}"


def _mean(
    layers: Sequence[Layer], depth: float, take: Callable[[Layer], float | None]
) -> Mean | None:
    """Mean over a depth, weighted by how much of it each layer with a value takes. [cm]"""
    total = known = 0.0
    for layer in layers:
        value, thick = take(layer), min(layer.bottom_cm, depth) - layer.top_cm
        if value is not None and thick > 0.0:
            total += thick * value
            known += thick
    return Mean(total / known, known) if known else None
