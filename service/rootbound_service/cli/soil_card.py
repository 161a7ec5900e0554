"""The soil of one field on a card: its values with their origins, and the layers behind them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rootbound_service.cli.card import entry
from rootbound_service.store.soil_record import NAMES, SoilValue, standing

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord
    from rootbound_service.soil.profile import Layer, Profile
    from rootbound_service.store.soil_answers import SoilAnswer

UNITS = {
    "field_capacity": "m3/m3",
    "wilting_point": "m3/m3",
    "clay_pct": "%",
    "organic_matter_pct": "%",
    "profile_depth_m": "m",
    "water_table_m": "m",
}
HEADS = ("cm", "sand %", "silt %", "clay %", "matter %", "g/cm3", "33 kPa", "1500 kPa", "texture")
WIDTHS = (9, 6, 6, 6, 8, 6, 7, 8, 0)
INDENT = 22


def soil_lines(
    field: FieldRecord,
    values: Sequence[SoilValue],
    answered: SoilAnswer | None,
    last: SoilAnswer | None,
) -> Iterator[str]:
    """Give the lines of the card.

    Parameters
    ----------
    field
        With the soil that counts.
    values
        Everything said of it, oldest first.
    answered
        The newest answer that a service had.
    last
        The newest asking, whatever came of it.
    """
    yield f"{field.name} (field {field.id}): soil {_state(field)}"
    for name in NAMES:
        yield from _value_lines(field, name, values)
    if answered is not None:
        from rootbound_service.soil.fetch import profile_from

        profile = profile_from(answered)
        if profile is not None:
            yield ""
            yield from _layer_lines(profile, answered)
    if last is not None and last.source is None:
        yield ""
        yield entry("asked", f"on {last.asked_at:%Y-%m-%d}, nobody had an answer")
        for reason in last.reasons:
            yield entry("", reason)


def _state(field: FieldRecord) -> str:
    if field.soil.is_known:
        return f"known, {field.soil.origin}"
    return "not known yet: it is fetched with the next night, or now with --fetch"


def _value_lines(field: FieldRecord, name: str, values: Sequence[SoilValue]) -> Iterator[str]:
    """One value, where it is from, and what others say of it."""
    value = getattr(field.soil, name)
    said = [found[name] for found in standing(values).values() if name in found]
    if value is None:
        follows = name != "water_table_m" and field.soil.is_known
        yield _line(name, "follows from the others, or the usual" if follows else "not known")
        return
    origin = field.soil.origins.get(name, field.soil.origin)
    mine = [one for one in said if one.value == value and one.origin == origin]
    when = mine[0].recorded_at if mine else None
    yield _line(name, f"{_shown(value, name)}  {origin}" + (f", {when:%Y-%m-%d}" if when else ""))
    for other in said:
        if other not in mine:
            yield _line("", f"({_shown(other.value, name)} set aside: {other.origin})")


def _line(head: str, text: str) -> str:
    import textwrap

    return textwrap.fill(
        text, 80, initial_indent=f"  {head:<{INDENT - 2}}", subsequent_indent=" " * INDENT
    )


def _shown(value: object, name: str) -> str:
    unit = UNITS.get(name)
    return f"{value:g} {unit}" if unit and isinstance(value, (int, float)) else str(value)


def _layer_lines(profile: Profile, answer: SoilAnswer) -> Iterator[str]:
    share = "" if profile.share_pct is None else f", {profile.share_pct:g} % of the map unit"
    yield f"Layers of {profile.name}{share} ({profile.source}, {answer.asked_at:%Y-%m-%d})"
    yield "  " + _row(HEADS)
    for layer in profile.layers:
        yield "  " + _row(_cells(layer))
    if profile.drainage:
        yield entry("drainage", profile.drainage.lower())
    for number, remark in enumerate((*profile.remarks, *answer.reasons)):
        yield entry("" if number else "remarks", remark)


def _cells(layer: Layer) -> tuple[str, ...]:
    numbers = (
        (layer.sand_pct, ".0f"),
        (layer.silt_pct, ".0f"),
        (layer.clay_pct, ".0f"),
        (layer.organic_matter_pct, ".1f"),
        (layer.bulk_density, ".2f"),
        (layer.field_capacity, ".3f"),
        (layer.wilting_point, ".3f"),
    )
    shown = ("–" if one is None else format(one, form) for one, form in numbers)
    return (f"{layer.top_cm:g}-{layer.bottom_cm:g}", *shown, (layer.texture or "").lower())


def _row(cells: Sequence[str]) -> str:
    return " ".join(f"{cell:>{width}}" for cell, width in zip(cells, WIDTHS, strict=True)).rstrip()
