"""The card of one field: what was enrolled, what was dug, and how it stands tonight."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from rootbound_service.notes import particulars, wording
from rootbound_service.notes.facts import FieldFacts
from rootbound_service.records import DigRecord, FieldRecord, SoilRecord, Units

MARGIN = 14
WIDTH = 80


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
    return ", ".join(parts) + (f": {dig.note}" if dig.note else "")


def night_lines(facts: FieldFacts | None, units: Units) -> Iterator[str]:
    """How the field stands, in the words its notes use."""
    if facts is None:
        yield entry("rung", "not computed yet")
        return
    yield entry("rung", wording.status_label(facts))
    known = facts.status in {"watched", "unrated"}
    why = wording.why(facts) or wording.change(facts)
    yield entry("why", " ".join(text for text in (why, wording.cause(facts)) if text))
    yield entry("stage", particulars.stage_line(facts))
    if known:
        yield entry("water", wording.water_line(facts, units))
        yield entry("days ahead", wording.ahead_line(facts.days_ahead))
        sure = wording.sure_line(facts, 0)
        if sure:
            yield entry("outlook", sure)
    yield entry("weather", particulars.weather_line(facts, units))
