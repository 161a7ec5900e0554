"""From everything that was said of a field's soil to the one record that counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from rootbound_service.records import SoilRecord

HAND = "hand"
ASSUMED = "assumed"
"""What was taken as usual before origins were kept: anything else beats it."""
RANK = (HAND, "survey", "soilgrids")
"""Whose word counts first; a service not named here comes after these."""
WORDS = {"survey": "soil survey", "soilgrids": "SoilGrids"}
NAMES = (
    "texture",
    "field_capacity",
    "wilting_point",
    "clay_pct",
    "organic_matter_pct",
    "profile_depth_m",
    "water_table_m",
)
PAIR = ("field_capacity", "wilting_point")
OF_TEXTURE = (*PAIR, "clay_pct", "texture")
"""What belongs to one kind of soil and goes with it."""
UNKNOWN = "to be fetched"


@dataclass(frozen=True, slots=True)
class SoilValue:
    """One thing said of a field's soil, by somebody, at some time."""

    name: str
    value: float | str | None
    source: str
    """``hand``, a service's short name, or ``assumed``."""
    origin: str
    """Where it is from, in a sentence."""
    recorded_at: datetime | None = None
    """None: nobody kept the time."""
    withdrawn: bool = False
    """From here on the source says nothing of it."""


Standing = Mapping[str, Mapping[str, SoilValue]]


def standing(values: Iterable[SoilValue]) -> Standing:
    """Give what each source says now, by source in the order that counts, then by name.

    Parameters
    ----------
    values
        All of a field's, oldest first.
    """
    last: dict[str, dict[str, SoilValue]] = {}
    for value in values:
        last.setdefault(value.source, {})[value.name] = value
    return {
        source: {name: one for name, one in last[source].items() if not one.withdrawn}
        for source in sorted(last, key=_rank)
    }


def effective(values: Iterable[SoilValue]) -> SoilRecord:
    """Compose the record that counts: by hand, then the services in their order.

    Water contents come as a pair that fits together. A texture entered by hand sets aside
    what a service says of a soil of another texture.

    Parameters
    ----------
    values
        All of a field's, oldest first.

    Returns
    -------
    SoilRecord
        With the origin of every value; one without any value where nothing is known.
    """
    said = standing(values)
    texture = said.get(HAND, {}).get("texture")
    if texture is not None:
        said = {source: _of_same_texture(found, texture) for source, found in said.items()}
    chosen: dict[str, SoilValue] = {}
    for found in said.values():
        for name, value in found.items():
            if name not in PAIR:
                chosen.setdefault(name, value)
    chosen |= _water(said)
    parts = {name: chosen[name].value for name in NAMES if name in chosen}
    return SoilRecord(
        **cast("dict[str, float]", parts),  # type: ignore[arg-type]  # texture is text
        origin=_summary(chosen),
        origins={name: chosen[name].origin for name in NAMES if name in chosen},
    )


def _rank(source: str) -> tuple[int, str]:
    if source == ASSUMED:
        return len(RANK) + 1, source
    return (RANK.index(source) if source in RANK else len(RANK)), source


def _of_same_texture(found: Mapping[str, SoilValue], texture: SoilValue) -> Mapping[str, SoilValue]:
    """Leave out what belongs to a soil of another texture than the one entered."""
    theirs = found.get("texture")
    if theirs is None or theirs.value == texture.value:
        return found
    return {name: value for name, value in found.items() if name not in OF_TEXTURE}


def _water(said: Standing) -> dict[str, SoilValue]:
    """Field capacity and wilting point: one source's, or one by hand with one that fits."""
    hand = {name: value for name, value in said.get(HAND, {}).items() if name in PAIR}
    for found in said.values():
        pair = {name: value for name, value in found.items() if name in PAIR} | hand
        if len(pair) == len(PAIR) and (pair == hand or _fits(pair)):
            return pair
    return hand


def _fits(pair: Mapping[str, SoilValue]) -> bool:
    capacity, wilting = (cast("float", pair[name].value) for name in PAIR)
    return wilting < capacity


def _summary(chosen: Mapping[str, SoilValue]) -> str:
    """Name the sources behind a record in a few words."""
    used = sorted(chosen.values(), key=lambda one: _rank(one.source))
    words = {
        one.origin if one.source == HAND else WORDS.get(one.source, one.source): None
        for one in used
        if one.source != ASSUMED
    }
    return " and ".join(words) or UNKNOWN
