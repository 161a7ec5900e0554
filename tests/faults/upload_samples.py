"""Right files of every kind that people upload, to be spoilt."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib

import shapefile
from PIL import Image
from pyproj import CRS

CORNERS = [(-93.62, 42.03), (-93.615, 42.03), (-93.615, 42.034), (-93.62, 42.034), (-93.62, 42.03)]
RING = [[-93.62, 42.03], [-93.615, 42.03], [-93.615, 42.034], [-93.62, 42.03]]


def good_shapes() -> dict[str, bytes]:
    """One right file of each kind of shape."""
    pairs = " ".join(f"{lon},{lat}" for lon, lat in CORNERS)
    kml = (
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark>'
        '<name>A</name><ExtendedData><Data name="s"><value>1</value></Data></ExtendedData>'
        f"<Polygon><outerBoundaryIs><LinearRing><coordinates>{pairs}</coordinates></LinearRing>"
        "</outerBoundaryIs></Polygon></Placemark></Document></kml>"
    ).encode()
    ring = [list(corner) for corner in CORNERS]
    feature = {
        "type": "Feature",
        "properties": {"name": "A", "n": 1, "deep": {"a": [1]}},
        "geometry": {"type": "MultiPolygon", "coordinates": [[ring], [ring]]},
    }
    geojson = json.dumps({"type": "FeatureCollection", "features": [feature, feature]}).encode()
    files = shapefile_of(ring)
    return {
        "geojson": geojson,
        "kml": kml,
        "kmz": zip_of({"doc.kml": kml}),
        "kmz stored": zip_of({"doc.kml": kml}, zipfile.ZIP_STORED),
        "shapefile": zip_of(files),
        "shapefile stored": zip_of(files, zipfile.ZIP_STORED),
    }


def shapefile_of(ring: list[list[float]]) -> dict[str, bytes]:
    """Write a shapefile of one field, in degrees."""
    shp, shx, dbf = io.BytesIO(), io.BytesIO(), io.BytesIO()
    with shapefile.Writer(shp=shp, shx=shx, dbf=dbf, shapeType=shapefile.POLYGON) as writer:
        writer.field("NAME", "C", size=20)
        writer.field("WHEN", "D")
        writer.field("N", "N", decimal=2)
        writer.poly([ring[::-1]])
        writer.record("A", "20260504", 1.5)
    prj = CRS.from_epsg(4326).to_wkt("WKT1_ESRI").encode()
    return {"a.shp": shp.getvalue(), "a.shx": shx.getvalue(), "a.dbf": dbf.getvalue(), "a.prj": prj}


def zip_of(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """Pack files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as packed:
        for name, body in files.items():
            packed.writestr(name, body)
    return out.getvalue()


def good_photos() -> dict[str, bytes]:
    """One right picture of each kind, with all the metadata that a camera writes."""
    picture = Image.linear_gradient("L").resize((320, 200)).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825).update({1: "N", 2: (42.0, 1.0, 48.0)})
    found: dict[str, bytes] = {}
    for name, form, how in (
        ("jpeg", "JPEG", {"exif": exif, "comment": b"words"}),
        ("progressive jpeg", "JPEG", {"progressive": True}),
        ("png", "PNG", {"exif": exif}),
        ("webp", "WEBP", {"exif": exif}),
        ("moving png", "PNG", {"save_all": True, "append_images": [picture.rotate(90)]}),
        ("moving webp", "WEBP", {"save_all": True, "append_images": [picture.rotate(90)]}),
    ):
        out = io.BytesIO()
        picture.save(out, form, **how)
        found[name] = out.getvalue()
    palette, grey = io.BytesIO(), io.BytesIO()
    picture.convert("P").save(palette, "PNG", transparency=3)
    picture.convert("CMYK").save(grey, "JPEG")
    return found | {"palette png": palette.getvalue(), "cmyk jpeg": grey.getvalue()}


def png_saying(wide: int, tall: int, rows: int) -> bytes:
    """A PNG that claims a size and carries so many rows of one colour."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", wide, tall, 8, 6, 0, 0, 0)
    body = zlib.compress((b"\0" + b"\x80" * (4 * wide)) * rows)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
