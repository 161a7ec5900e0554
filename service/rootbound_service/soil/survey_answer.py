"""From the survey's rows to one profile: the component that covers most of the map unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import odd
from rootbound_service.soil.profile import Layer

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rootbound_service.soil.survey_table import Row

ROCK = re.compile(r"\d*(R|Cr)\d*", re.ASCII)
"""Names of horizons that are rock, hard or weathered [from memory]."""
HARMLESS = ("abrupt textural", "strongly contrasting", "natric", "salic", "sulfuric", "undefined")
"""Kinds of restriction that hold roots back but do not stop them [from memory]."""


@dataclass(frozen=True, slots=True)
class Component:
    """One kind of soil of a map unit."""

    mukey: str | None
    cokey: str | None
    name: str
    unit: str
    """Name of the map unit."""
    share_pct: float
    is_major: bool
    drainage: str | None
    layers: tuple[Layer, ...]
    rock_cm: float | None
    """Top of the first horizon that is rock. [cm]"""


def main_component(rows: Iterable[Row], who: str) -> tuple[Component, tuple[str, ...]]:
    """Choose the soil of a map unit: the largest major component with layers.

    Parameters
    ----------
    rows
        Of the horizons' question.
    who
        For the error's sentence.

    Returns
    -------
    tuple
        The component, and remarks on what else the unit has.

    Raises
    ------
    Unavailable
        If nothing is mapped there, or only water, town or rock without layers.
    """
    found = _components(rows, who)
    if not found:
        raise Unavailable(who, "no soil is mapped at this place", retry_later=False)
    major = [one for one in found if one.is_major]
    with_layers = [one for one in major if one.layers]
    if not with_layers:
        names = ", ".join(one.name for one in (major or found)[:3])
        what = f"maps {names} here, without soil layers"
        raise Unavailable(who, what, retry_later=False)
    chosen = with_layers[0]
    remarks = tuple(
        f"{one.name} covers {one.share_pct:g} % of the map unit and has no layers"
        for one in major
        if one.share_pct > chosen.share_pct
    )
    return chosen, remarks


def restriction_cm(rows: Iterable[Row]) -> float | None:
    """Depth of the first layer that stops roots. [cm]

    Parameters
    ----------
    rows
        Of the restrictions' question.
    """
    depths = [
        float(cast("float", row["resdept_r"]))
        for row in rows
        if row["resdept_r"] is not None and not _is_harmless(row["reskind"])
    ]
    return min(depths, default=None)


def _is_harmless(kind: float | str | None) -> bool:
    return str(kind or "undefined").lower().startswith(HARMLESS)


def _components(rows: Iterable[Row], who: str) -> list[Component]:
    """Components by falling share, each with its rows."""
    by_key: dict[str, list[Row]] = {}
    for row in rows:
        by_key.setdefault(str(row["cokey"]), []).append(row)
    found = [_component(mine, who) for mine in by_key.values()]
    return sorted(found, key=lambda one: (-one.share_pct, one.cokey or ""))


def _component(rows: list[Row], who: str) -> Component:
    head = rows[0]
    layers, rock = _layers(rows, who)
    return Component(
        mukey=_text(head, "mukey"),
        cokey=_text(head, "cokey"),
        name=_text(head, "compname") or "a soil without a name",
        unit=_text(head, "muname") or "a map unit without a name",
        share_pct=_number(head, "comppct_r") or 0.0,
        is_major=(_text(head, "majcompflag") or "").lower() == "yes",
        drainage=_text(head, "drainagecl"),
        layers=layers,
        rock_cm=rock,
    )


def _layers(rows: list[Row], who: str) -> tuple[tuple[Layer, ...], float | None]:
    """Layers from the top down: one a horizon, although a horizon may have several textures."""
    by_key: dict[str, Row] = {}
    for row in rows:
        if row["chkey"] is not None:
            by_key.setdefault(str(row["chkey"]), row)
    rock: list[float] = []
    layers: list[Layer] = []
    for row in by_key.values():
        top, bottom = _number(row, "hzdept_r"), _number(row, "hzdepb_r")
        if top is None or bottom is None or top >= bottom:
            name = _text(row, "hzname") or "without a name"
            odd(who, f"the horizon {name} runs from {top} to {bottom} cm")
        if ROCK.fullmatch(_text(row, "hzname") or ""):
            rock.append(top)
        else:
            layers.append(_layer(row, top, bottom))
    layers.sort(key=lambda one: one.top_cm)
    for upper, lower in pairwise(layers):
        if lower.top_cm < upper.bottom_cm:
            odd(who, f"two horizons lie at {lower.top_cm:g} cm")
    return tuple(layers), min(rock, default=None)


def _layer(row: Row, top: float, bottom: float) -> Layer:
    return Layer(
        top_cm=top,
        bottom_cm=bottom,
        sand_pct=_number(row, "sandtotal_r"),
        silt_pct=_number(row, "silttotal_r"),
        clay_pct=_number(row, "claytotal_r"),
        organic_matter_pct=_number(row, "om_r"),
        bulk_density=_number(row, "dbthirdbar_r"),
        field_capacity=_share(row, "wthirdbar_r"),
        wilting_point=_share(row, "wfifteenbar_r"),
        available_water=_number(row, "awc_r"),
        texture=_text(row, "texcl"),
    )


def _number(row: Row, name: str) -> float | None:
    return cast("float | None", row[name])


def _text(row: Row, name: str) -> str | None:
    return cast("str | None", row[name])


def _share(row: Row, name: str) -> float | None:
    """Per cent of the volume as a share of it. [m3 m-3]"""
    value = _number(row, name)
    return None if value is None else round(value / 100.0, 6)
