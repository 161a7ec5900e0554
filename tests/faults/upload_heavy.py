"""Uploads made to cost more than they are worth."""

from __future__ import annotations

import json
import math

from faults.upload_samples import RING, png_saying, shapefile_of, zip_of


def wavy(number: int) -> bytes:
    """A placemark with as many corners as a ring may have, none of them needless."""
    turns = [2.0 * math.pi * at / 1_990 for at in range(1_990)]
    reach = [0.004 + 0.0002 * (at % 2) for at in range(1_990)]
    pairs = [
        f"{-93.62 + number / 1e3 + r * math.cos(a):.7f},{42.03 + r * math.sin(a):.7f}"
        for r, a in zip(reach, turns, strict=True)
    ]
    ring = f"<LinearRing><coordinates>{' '.join([*pairs, pairs[0]])}</coordinates></LinearRing>"
    polygon = f"<Polygon><outerBoundaryIs>{ring}</outerBoundaryIs></Polygon>"
    return f"<Placemark>{polygon}</Placemark>".encode()


def heavy_shapes() -> dict[str, bytes]:
    """Files made to cost more than they are worth, each at the limit of an upload."""
    corner = "-93.62,42.03 "
    kml = b'<kml xmlns="http://www.opengis.net/kml/2.2">%s</kml>'
    lines = [[-93.62 + 1e-6 * (n % 2), 42.03 + 1e-6 * n] for n in range(1999)]
    ragged = json.dumps({"type": "Polygon", "coordinates": [[*lines, lines[0]]] * 60}).encode()
    many = json.dumps(
        {"type": "MultiPolygon", "coordinates": [[[*RING[:3], RING[0]]]] * 40_000}
    ).encode()
    empty = shapefile_of([list(corner) for corner in RING])
    return {
        "deep lists": b'{"type":"Polygon","coordinates":' + b"[" * 4_000_000,
        "deep objects": b'{"a":' * 900_000,
        "wide lists": b'{"a":[' + b"[]," * 1_600_000 + b"[]]}",
        "wide features": b'{"type":"FeatureCollection","features":[' + b"{}," * 1_600_000 + b"{}]}",
        "long number": b'{"a":' + b"9" * 4_900_000 + b"}",
        "long text": b'{"type":"Feature","properties":{"name":"' + b"x" * 4_900_000 + b'"}}',
        "ragged": ragged,
        "many parts": many,
        "deep xml": kml % (b"<Folder>" * 300_000),
        "wide xml": kml % (b"<Placemark/>" * 400_000),
        "many corners": kml
        % (
            b"<Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>"
            + corner.encode() * 350_000
            + b"</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
        ),
        "laughs": b'<!DOCTYPE k [<!ENTITY a "haha">'
        + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 40) for n in range(8))
        + b"]><kml>&i;</kml>",
        "many attributes": b"<kml " + b" ".join(b'a%d="1"' % n for n in range(300_000)) + b"/>",
        "bomb": zip_of({"doc.kml": b" " * 200_000_000}),
        "most corners": zip_of({"doc.kml": kml % b"".join(wavy(n) for n in range(50))}),
        "packed corners": zip_of({"doc.kml": kml % (b"<Placemark/>" * 9 + b"1,2 " * 4_000_000)}),
        "many members": zip_of({f"{n}.kml": b"" for n in range(20_000)}),
        "long table": zip_of(empty | {"a.dbf": empty["a.dbf"] + b" " * 9_000_000}),
    }


def heavy_photos() -> dict[str, bytes]:
    """Pictures of the most pixels that are allowed, and of more."""
    return {
        "most pixels": png_saying(8000, 5000, 5000),
        "too many pixels": png_saying(8001, 5000, 10),
        "very many pixels": png_saying(60_000, 60_000, 1),
        "a line": png_saying(1, 40_000_000 // 40, 10),
        "a wide line": png_saying(1_000_000, 1, 1),
    }
