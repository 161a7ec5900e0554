"""The tables of a field's TOML file and the names in each; a CSV row has the same names, flat."""

from __future__ import annotations

from types import MappingProxyType

from rootbound_service.store.soil_record import NAMES as SOIL_NAMES

SECTIONS = MappingProxyType(
    {
        "field": (
            "name",
            "lat",
            "lon",
            "elevation_m",
            "row_spacing_cm",
            "row_spacing_in",
            "irrigated",
        ),
        "season": ("crop", "planted", "black_layer_gdd_f", "seed_depth_cm", "seed_depth_in"),
        "soil": SOIL_NAMES,
        "people": ("grower", "adviser", "units"),
    }
)

TRACE_SECTIONS = MappingProxyType({**SECTIONS, "start": ("depletion_fraction",)})
"""The tables of a file that is traced at a desk: it may also say how the season starts."""

FIELD_KEYS = tuple(key for keys in SECTIONS.values() for key in keys)

DIG_KEYS = (
    "date",
    "wall_class",
    "plants",
    "crossing",
    "held",
    "pan_class",
    "pan_depth_cm",
    "seed_depth_cm",
    "soil_moisture",
    "note",
    "form_id",
)
