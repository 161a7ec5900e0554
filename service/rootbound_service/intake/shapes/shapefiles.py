"""Shapes of a zipped shapefile: .shp with its table .dbf and its reference system .prj."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from typing import Any

from rootbound_service.intake.shapes.limits import RING_CORNERS
from rootbound_service.intake.shapes.names import clean_properties
from rootbound_service.intake.shapes.outlines import Drawn, Position
from rootbound_service.intake.shapes.planar import lies_within, signed_area
from rootbound_service.intake.shapes.projection import ToDegrees, as_they_are, to_degrees
from rootbound_service.intake.shapes.refuse import Flaw
from rootbound_service.intake.shapes.shp_frame import AGAIN, check_frame

NO_PRJ = "The shapefile has no .prj; its coordinates are taken as degrees of WGS 84."
DBF_HEADER = 32


def drawn_of_shapefile(files: Mapping[str, bytes]) -> Iterator[Drawn]:
    """Take the shapes out of the files of one shapefile.

    Parameters
    ----------
    files
        Content by name; exactly one .shp, whose stem the others share.

    Yields
    ------
    Drawn
        One for each record.

    Raises
    ------
    Flaw
        If the files are not one readable shapefile of polygons or points.
    """
    stems = [name[:-4] for name in files if name.endswith(".shp")]
    if len(stems) != 1:
        raise Flaw(f"holds {len(stems)} shapefiles", "pack one, with its .dbf and .prj")
    shp, dbf = files[f"{stems[0]}.shp"], files.get(f"{stems[0]}.dbf")
    prj = files.get(f"{stems[0]}.prj")
    check_frame(shp)
    move = as_they_are if prj is None else to_degrees(prj)
    notice = NO_PRJ if prj is None else ""
    try:
        rows = _rows(shp, dbf)
    except Flaw:
        raise
    except Exception:  # noqa: BLE001  the library lets through whatever a broken byte causes
        raise Flaw("its .shp or .dbf cannot be read", AGAIN) from None
    for shape, properties in rows:
        yield _drawn(shape, properties, move, notice)


def _rows(shp: bytes, dbf: bytes | None) -> list[tuple[Any, dict[str, str]]]:
    import shapefile

    if dbf is None:
        reader: Any = shapefile.Reader(shp=io.BytesIO(shp))
        return [(shape, {}) for shape in reader.iterShapes()]
    _check_dbf(dbf)
    reader = shapefile.Reader(
        shp=io.BytesIO(shp), dbf=io.BytesIO(dbf), encoding=_encoding(dbf), encodingErrors="replace"
    )
    shapes: list[Any] = list(reader.iterShapes())
    if len(shapes) != len(reader):
        raise Flaw("its .shp and .dbf do not have the same fields", AGAIN)
    return [(shape, _properties(reader.record(at))) for at, shape in enumerate(shapes)]


def _check_dbf(dbf: bytes) -> None:
    """The table's own counts must fit the file before anything is read by them."""
    rows = int.from_bytes(dbf[4:8], "little")
    head, width = int.from_bytes(dbf[8:10], "little"), int.from_bytes(dbf[10:12], "little")
    if len(dbf) < DBF_HEADER or head <= DBF_HEADER or head + rows * width > len(dbf):
        raise Flaw("its .dbf is broken", AGAIN)


def _encoding(dbf: bytes) -> str:
    """UTF-8 where the rows read as that; else the one that older programs wrote."""
    try:
        dbf[int.from_bytes(dbf[8:10], "little") :].decode()
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _properties(record: Any) -> dict[str, str]:
    return clean_properties(record.as_dict(date_strings=True).items())


def _drawn(shape: Any, properties: dict[str, str], move: ToDegrees, notice: str) -> Drawn:
    if not shape.points:
        return Drawn([], properties=properties)
    points: list[Position] = [(float(point[0]), float(point[1])) for point in shape.points]
    moved = move(points)
    if shape.shapeTypeName.startswith("POINT"):
        return Drawn([], moved[0], properties, notice=notice)
    ends = [*shape.parts[1:], len(moved)]
    rings = [moved[start:end] for start, end in zip(shape.parts, ends, strict=True)]
    if max(len(ring) for ring in rings) > RING_CORNERS:
        return Drawn([], properties=properties, flaw=f"a ring has over {RING_CORNERS:,} corners")
    return Drawn(_parts(rings), properties=properties, notice=notice)


def _parts(rings: list[list[Position]]) -> list[list[list[Position]]]:
    """Outer rings turn clockwise, holes the other way (the Technical Description, page 8)."""
    outers = [[ring] for ring in rings if not signed_area(ring) > 0.0]
    holes = [ring for ring in rings if signed_area(ring) > 0.0]
    if not outers:
        return [[ring] for ring in holes]  # wound the wrong way, as some programs do
    for hole in holes:
        around = [part for part in outers if lies_within(hole[0], part[0])]
        (around or outers)[0].append(hole)
    return outers
