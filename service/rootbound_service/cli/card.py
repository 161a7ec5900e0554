"""The card of one field: what was enrolled, what was dug, what people saw there."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rootbound_service.cli.observed_lines import rows_of
from rootbound_service.notes.en import particulars

if TYPE_CHECKING:
    from rootbound_service.records import (
        DigRecord,
        FieldRecord,
        ObservationRecord,
        SoilRecord,
        Units,
    )

MARGIN = 14
WIDTH = 80
SHOWN = 12
"""Observations and notes that are listed, the last ones. Our choice."""


def entry(head: str, text: str) -> str:
    """One entry of the card, its lines indented under the first."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"  {head:<{MARGIN - 2}}",
        subsequent_indent=" " * MARGIN,
    )


def field_lines(field: FieldRecord) -> Iterator[str]:
    """What was enrolled and dug."""
    yield f"{field.name} (field {field.id})"
    height = "" if field.elevation_m is None else f", {field.elevation_m:.0f} m"
    place = f"lat {field.lat:.5f}, lon {field.lon:.5f}{height}, {field.time_zone}"
    yield entry("place", place + (", irrigated" if field.irrigated else ""))
    tag = field.black_layer_gdd_f
    heat = "the crop's usual black layer" if tag is None else f"black layer at {tag:.0f} gdd_f"
    yield entry(
        "season",
        f"{field.crop} planted {field.planted}, rows {field.row_spacing_cm:g} cm, "
        f"seed {field.seed_depth_cm:g} cm deep, {heat}",
    )
    yield entry("soil", soil_text(field.soil))
    adviser = f", adviser {field.adviser.name}" if field.adviser else ""
    yield entry("people", f"grower {field.grower.name}{adviser}")
    if not field.digs:
        yield entry("digs", "none yet: the field is unrated until its roots are dug")
    for number, dig in enumerate(field.digs):
        yield entry("" if number else "digs", dig_text(dig))


def soil_text(soil: SoilRecord) -> str:
    """The soil as entered or mapped, or that it is still to be fetched."""
    known = soil.texture or ("by its numbers" if soil.is_known else "not known yet, to be fetched")
    parts = [known]
    if soil.field_capacity is not None and soil.wilting_point is not None:
        parts.append(
            f"field capacity {soil.field_capacity:g}, wilting point {soil.wilting_point:g}"
        )
    if soil.clay_pct is not None:
        parts.append(f"clay {soil.clay_pct:g} %")
    if soil.organic_matter_pct is not None:
        parts.append(f"organic matter {soil.organic_matter_pct:g} %")
    if soil.profile_depth_m is not None:
        parts.append(f"profile {soil.profile_depth_m:g} m")
    if soil.water_table_m is not None:
        parts.append(f"water table at {soil.water_table_m:g} m")
    return ", ".join(parts) + (f" ({soil.origin})" if soil.is_known else "")


def dig_text(dig: DigRecord) -> str:
    """One dig card in a line or two."""
    wall = particulars.WALL_WORDS[dig.wall_class]
    parts = [f"{dig.dug_on} wall {dig.wall_class} {wall}", f"{dig.plants} plants"]
    if dig.crossing is not None:
        parts.append(f"{dig.crossing} roots crossing, {dig.held} held")
    if dig.pan_class and dig.pan_depth_cm is not None:
        parts.append(f"pan class {dig.pan_class} at {dig.pan_depth_cm:g} cm")
    if dig.seed_depth_cm is not None:
        parts.append(f"seed at {dig.seed_depth_cm:g} cm")
    if dig.soil_moisture:
        parts.append(f"soil {dig.soil_moisture}")
    if dig.by:
        parts.append(f"by {dig.by}")
    return ", ".join(parts) + (f": {dig.note}" if dig.note else "")


def seen_lines(
    every: Sequence[ObservationRecord], field: FieldRecord, units: Units
) -> Iterator[str]:
    """What people measured, saw and did there: the number to take it back by, who and when."""
    rows = list(rows_of(every, field, units))
    earlier = len(rows) - SHOWN
    head = "seen"
    if earlier > 0:
        yield entry(head, f"{earlier} earlier: rootbound observe {field.id} lists them all")
        head = ""
    for number, day, what, by, recorded, note in rows[-SHOWN:]:
        told = f"{number}: {day} {what}, by {by} (recorded {recorded})"
        yield entry(head, f"{told}: {note}" if note else told)
        head = ""
