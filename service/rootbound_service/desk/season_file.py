"""A field's TOML file as the values the rules compute with."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import cast

from rootbound_rules.crop.gaps import gaps
from rootbound_rules.crop.words import crop_words
from rootbound_rules.season.values import FieldSeason
from rootbound_rules.tables import load_table
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.fields import row_spacing_cm, seed_depth_cm, soil_record
from rootbound_service.intake.seasons import season_from
from rootbound_service.intake.sections import TRACE_SECTIONS
from rootbound_service.intake.toml_file import read_field_toml
from rootbound_service.to_rules import dig_of, soil_of


@dataclass(frozen=True, slots=True)
class DeskField:
    """One field as its file tells it."""

    name: str
    season: FieldSeason
    remarks: tuple[str, ...]
    """What was assumed where the file or the crop's sources are silent, one sentence each."""


def read_season(path: Path) -> DeskField:
    """Read a field's file for a trace.

    Parameters
    ----------
    path
        TOML with ``[field] [season] [soil] [start]`` and any number of ``[[dig]]``.

    Raises
    ------
    RefusedInput
        With every problem of the file.
    """
    document = read_field_toml(path, TRACE_SECTIONS)
    form, digs = season_from(document)
    remarks = [] if form.elevation_m is not None else ["no elevation_m: sea level is taken"]
    season = FieldSeason(
        lat=form.lat,
        elevation_m=form.elevation_m or 0.0,
        planted=form.planted,
        soil=soil_of(soil_record(form)),
        crop=form.crop,
        row_spacing_cm=row_spacing_cm(form),
        seed_depth_cm=seed_depth_cm(form),
        black_layer_gdd_f=form.black_layer_gdd_f,
        digs=tuple(dig_of(dig) for dig in digs),
        start_depletion=_start(document),
    )
    return DeskField(form.name or path.stem, season, (*remarks, *gaps(form.crop)))


def stress_begins(crop: str) -> str:
    """Name the stage from which stress counts, as growers of the crop do.

    Parameters
    ----------
    crop
        A crop that has a table.
    """
    return crop_words(crop).at_collar(int(load_table("ladder").number("stress_from_collar")))


def _start(document: dict[str, object]) -> float | None:
    """Depleted share of every store on the first day, as ``[start]`` gives it."""
    table = cast("dict[str, object]", document.get("start", {}))
    value = table.get("depletion_fraction")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.0 <= value <= 1.0:
        wanted = "give the depleted share of the available water, 0 to 1"
        raise RefusedInput((Problem("[start] depletion_fraction", f"is {value!r}", wanted),))
    return float(value)
