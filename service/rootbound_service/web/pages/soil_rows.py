"""The soil of a field as rows: each value with its unit and where it is from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rootbound_service.records import FieldRecord
from rootbound_service.store.soil_record import NAMES, SoilValue, standing

WORDS = {
    "texture": ("Texture", ""),
    "field_capacity": ("Field capacity", "m³/m³"),
    "wilting_point": ("Wilting point", "m³/m³"),
    "clay_pct": ("Clay", "%"),
    "organic_matter_pct": ("Organic matter", "%"),
    "profile_depth_m": ("Depth of the profile", "m"),
    "water_table_m": ("Water table", "m"),
}


@dataclass(frozen=True, slots=True)
class SoilRow:
    """One value."""

    name: str
    title: str
    value: str
    origin: str
    others: tuple[str, ...]
    """What others say of it, set aside."""


def soil_rows(one: FieldRecord, values: Sequence[SoilValue]) -> list[SoilRow]:
    """Give the rows.

    Parameters
    ----------
    one
        The field, with the soil that counts.
    values
        Everything said of it.
    """
    said = standing(values).values()
    return [_row(one, name, [by[name] for by in said if name in by]) for name in NAMES]


def _row(one: FieldRecord, name: str, said: list[SoilValue]) -> SoilRow:
    title, unit = WORDS[name]
    value = getattr(one.soil, name)
    if value is None:
        known = one.soil.is_known and name != "water_table_m"
        return SoilRow(name, title, "", "follows from the others" if known else "not known", ())
    origin = one.soil.origins.get(name, one.soil.origin)
    mine = [it for it in said if it.value == value and it.origin == origin]
    others = tuple(f"{_shown(it.value, unit)}: {it.origin}" for it in said if it not in mine)
    return SoilRow(name, title, _shown(value, unit), origin, others)


def value_words(name: str, value: object) -> str:
    """Give a value of soil with its unit."""
    return _shown(value, WORDS[name][1])


def _shown(value: object, unit: str) -> str:
    number = f"{value:g}" if isinstance(value, int | float) else str(value)
    return f"{number} {unit}".rstrip()
