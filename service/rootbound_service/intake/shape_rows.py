"""Rows of fields from a file of outlines: what its properties say is read as a table's cells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rootbound_service.errors import Problem
from rootbound_service.intake.report import Row
from rootbound_service.intake.sections import FIELD_KEYS
from rootbound_service.intake.shapes.archive import MAGIC, members_of
from rootbound_service.intake.shapes.check import outline_from
from rootbound_service.intake.shapes.geojson import drawn_of_geojson
from rootbound_service.intake.shapes.kml import drawn_of_kml
from rootbound_service.intake.shapes.limits import ALL_CORNERS, SHAPES
from rootbound_service.intake.shapes.names import NAME_KEYS, name_of
from rootbound_service.intake.shapes.outlines import Drawn, Outline
from rootbound_service.intake.shapes.refuse import Flaw, refused
from rootbound_service.intake.shapes.shapefiles import drawn_of_shapefile
from rootbound_service.intake.wrong import Label

PARTS = (".shp", ".dbf", ".prj", ".kml")
EXPORT = "send outlines as GeoJSON, KML, KMZ or a zipped shapefile, or a table as CSV"


@dataclass(frozen=True, slots=True)
class ShapeRows:
    """What a file of outlines holds."""

    rows: tuple[Row, ...]
    outlines: dict[str, Outline]
    """By the place of their row; a field given as a point has none."""
    unused: tuple[str, ...]
    """Properties that say nothing to us."""


def shape_rows(data: bytes) -> ShapeRows:
    """Read the fields of a file, going on past every bad one.

    Parameters
    ----------
    data
        GeoJSON, KML, KMZ or a zipped shapefile.

    Raises
    ------
    RefusedInput
        If the file as a whole cannot be understood.
    """
    rows: list[Row] = []
    outlines: dict[str, Outline] = {}
    unused: dict[str, None] = {}
    corners = 0
    try:
        for number, drawn in enumerate(_drawn(data), 1):
            corners += sum(len(ring) for part in drawn.polygons for ring in part)
            if number > SHAPES or corners > ALL_CORNERS:
                wanted = f"send at most {SHAPES} fields and {ALL_CORNERS:,} corners at once"
                raise Flaw("holds too many fields or corners", wanted)  # noqa: TRY301  said once
            row, outline = _row(number, drawn)
            rows.append(row)
            if outline is not None and outline.rings:
                outlines[row.place] = outline
            unused |= dict.fromkeys(key for key in drawn.properties if not _is_ours(key))
    except Flaw as flaw:
        raise refused([flaw.at("File")]) from None
    if not rows:
        raise refused([Problem("File", "holds no field", EXPORT)])
    return ShapeRows(tuple(rows), outlines, tuple(unused))


def _drawn(data: bytes) -> Iterator[Drawn]:
    """The shapes of whichever kind of file it is."""
    if data.startswith(MAGIC):
        files = members_of(data, PARTS)
        if any(name.endswith(".shp") for name in files):
            return drawn_of_shapefile(files)
        for name, body in files.items():
            if name.endswith(".kml"):
                return drawn_of_kml(body)
        raise Flaw("holds neither a .shp nor a .kml", EXPORT)
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{"):
        return drawn_of_geojson(data)
    return drawn_of_kml(data)


def _row(number: int, drawn: Drawn) -> tuple[Row, Outline | None]:
    """One field: its cells, and where it lies unless that is what is wrong."""
    place, label = f"field {number}", _label(number)
    values: dict[str, object] = {
        key.strip().lower(): value
        for key, value in drawn.properties.items()
        if key.strip().lower() in FIELD_KEYS
    }
    values["name"] = name_of(drawn)
    try:
        outline = outline_from(drawn, str(values["name"]))
    except Flaw as flaw:
        return Row(place, label, values, (flaw.at(place),)), None
    values |= {"lat": outline.middle[1], "lon": outline.middle[0]}
    return Row(place, label, values), outline


def _label(number: int) -> Label:
    return lambda name: f"field {number}, {name}"


def _is_ours(key: str) -> bool:
    return key.strip().lower() in {*FIELD_KEYS, *NAME_KEYS}
