"""One upload in, outlines out; what kind it is, its content says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rootbound_service.errors import Problem
from rootbound_service.intake.shapes.archive import MAGIC, members_of
from rootbound_service.intake.shapes.check import checked, outline_from
from rootbound_service.intake.shapes.geojson import drawn_of_geojson, drawn_of_geometry
from rootbound_service.intake.shapes.kml import drawn_of_kml
from rootbound_service.intake.shapes.limits import MB, UPLOAD_BYTES
from rootbound_service.intake.shapes.outlines import Drawn, Outline
from rootbound_service.intake.shapes.refuse import Flaw, refused
from rootbound_service.intake.shapes.shapefiles import drawn_of_shapefile
from rootbound_service.intake.wrong import shown

KINDS = "send GeoJSON, KML, KMZ or a zipped shapefile"
SHP_MAGIC = b"\x00\x00\x27\x0a"
UTF16 = (b"\xff\xfe", b"\xfe\xff")
UTF8_MARK = b"\xef\xbb\xbf"
PARTS_OF_A_SHAPEFILE = (".shp", ".dbf", ".prj")


def read_shapes(name: str, data: bytes) -> tuple[Outline, ...]:
    """Read the fields of an uploaded file.

    Parameters
    ----------
    name
        The file's name as sent; said in refusals, never trusted.
    data
        Its content.

    Returns
    -------
    tuple[Outline, ...]
        One for each field, in the order of the file.

    Raises
    ------
    RefusedInput
        With everything wrong; nothing is taken of a file with a fault.
    """
    where = shown(name) if name.strip() else "the file"
    try:
        if not data.strip(b"\x00\t\r\n "):
            raise Flaw("is empty", KINDS)  # noqa: TRY301  one place says where
        if len(data) > UPLOAD_BYTES:
            raise Flaw(f"has {len(data) / MB:.1f} MB", f"send at most {UPLOAD_BYTES // MB} MB")  # noqa: TRY301  the same
        return checked(_drawn(data), where)
    except Flaw as flaw:
        raise refused([flaw.at(where)]) from None


def outline_of(geojson: Mapping[str, object]) -> Outline:
    """Read a stored geometry again.

    Parameters
    ----------
    geojson
        What ``geometry_of`` gave.

    Returns
    -------
    Outline
        Without a name.

    Raises
    ------
    RefusedInput
        If it is not the geometry of a field.
    """
    try:
        return outline_from(drawn_of_geometry(dict(geojson)), "")
    except Flaw as flaw:
        raise refused([Problem("the stored outline", flaw.what, flaw.wanted)]) from None


def _drawn(data: bytes) -> Iterator[Drawn]:
    if data.startswith(MAGIC):
        return _of_zip(data)
    if data.startswith(SHP_MAGIC):
        raise Flaw(
            "is one part of a shapefile", "zip the .shp with its .dbf and .prj, send the zip"
        )
    first = data.removeprefix(UTF8_MARK).lstrip()[:1]
    if first == b"{":
        return drawn_of_geojson(data)
    if first == b"<" or data.startswith(UTF16):
        return drawn_of_kml(data)
    raise Flaw("is none of the kinds we read", KINDS)


def _of_zip(data: bytes) -> Iterator[Drawn]:
    files = members_of(data, (*PARTS_OF_A_SHAPEFILE, ".kml"))
    if any(name.endswith(".shp") for name in files):
        return drawn_of_shapefile(files)
    for name, body in files.items():
        if name.endswith(".kml"):
            return drawn_of_kml(body)
    raise Flaw("holds neither a .shp nor a .kml", KINDS)
