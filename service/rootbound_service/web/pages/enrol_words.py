"""What the boxes of the pages for enrolling are called, and which box a problem belongs to."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from rootbound_service.errors import Problem

BOXES = {
    "name": ("Name", "name"),
    "grower": ("Grower", "grower"),
    "grower_name": ("Name of the new grower", "grower_name"),
    "grower_email": ("E-mail of the new grower", "grower_email"),
    "adviser": ("Adviser", "grower"),
    "lat": ("Latitude", "lat"),
    "lon": ("Longitude", "lon"),
    "elevation_m": ("Elevation", "lat"),
    "outline": ("Outline", "shape"),
    "corners": ("Corners", "corners"),
    "crop": ("Crop", "crop"),
    "planted": ("Planted", "planted"),
    "row_spacing_in": ("Row spacing", "row_spacing"),
    "row_spacing_cm": ("Row spacing", "row_spacing"),
    "seed_depth_in": ("Seed depth", "seed_depth"),
    "seed_depth_cm": ("Seed depth", "seed_depth"),
    "black_layer_gdd_f": ("Heat units", "black_layer_gdd_f"),
    "irrigated": ("Irrigated", "irrigated"),
    "texture": ("Texture", "texture"),
    "field_capacity": ("Field capacity", "field_capacity"),
    "wilting_point": ("Wilting point", "wilting_point"),
    "clay_pct": ("Clay", "clay_pct"),
    "organic_matter_pct": ("Organic matter", "organic_matter_pct"),
    "profile_depth_m": ("Depth of the profile", "profile_depth_m"),
    "water_table_m": ("Water table", "water_table_m"),
}
"""Title and box by the name that the checks use."""
BOX_OF = dict(BOXES.values())
FORM_ID = re.compile(r"[A-Za-z0-9-]{1,64}")


@dataclass(frozen=True, slots=True)
class Complaint:
    """A problem with the box it stands beside; empty: none of the page's."""

    where: str
    text: str
    box: str


def titled(name: str) -> str:
    """Name a value as the page calls it."""
    return BOXES[name][0] if name in BOXES else name


def complaints(problems: Iterable[Problem]) -> list[Complaint]:
    """Give problems with the boxes they belong to.

    Parameters
    ----------
    problems
        Whose places are titles of boxes, perhaps with more after a comma.
    """
    return [
        Complaint(one.where, f"{one.what}; {one.wanted}.", BOX_OF.get(_title(one.where), ""))
        for one in problems
    ]


def beside(found: Iterable[Complaint]) -> dict[str, str]:
    """Give what to write beside each box."""
    told: dict[str, list[str]] = {}
    for one in found:
        if one.box:
            told.setdefault(one.box, []).append(one.text)
    return {box: " ".join(texts) for box, texts in told.items()}


def form_id_of(text: str) -> str:
    """Give the number of a form; what cannot be one of ours is none."""
    return text if FORM_ID.fullmatch(text) else ""


def _title(where: str) -> str:
    return where.partition(",")[0]
