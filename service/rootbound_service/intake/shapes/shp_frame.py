"""The frame of a .shp: that its records fit the file, before the library trusts their counts.

ESRI Shapefile Technical Description, July 1998: 100 bytes of header, then records of 8 bytes
of header and a content whose length is in words of 16 bits.
"""

from __future__ import annotations

import struct

from rootbound_service.intake.shapes.limits import ALL_CORNERS, PARTS, SHAPES
from rootbound_service.intake.shapes.refuse import Flaw

CODE = 9994
HEADER = 100
RECORD_HEADER = 8
WORD = 2
NULL, POINTS, POLYGONS = 0, (1, 11, 21), (5, 15, 25)
POLYGON_HEAD = 44
CORNER_BYTES = 16
AGAIN = "export the fields as a shapefile again"
TOO_MANY = f"send at most {SHAPES} fields of at most {PARTS} parts"


def check_frame(shp: bytes) -> None:
    """Refuse a .shp whose records do not fit it.

    Parameters
    ----------
    shp
        The whole file.

    Raises
    ------
    Flaw
        If it is no shapefile, broken, too long, or of lines.
    """
    if len(shp) < HEADER or struct.unpack_from(">i", shp)[0] != CODE:
        raise Flaw("its .shp is not a shapefile", AGAIN)
    (kind,) = struct.unpack_from("<i", shp, 32)
    if kind not in (*POINTS, *POLYGONS):
        raise Flaw("its shapes are not polygons or points", "export the outlines of the fields")
    (words,) = struct.unpack_from(">i", shp, 24)
    if words * WORD != len(shp):
        raise Flaw("its .shp is cut short or longer than it says", AGAIN)
    at, count = HEADER, 0
    while at < len(shp):
        count += 1
        if count > SHAPES:
            raise Flaw("holds too many shapes", TOO_MANY)
        at = _record(shp, at, kind)


def _record(shp: bytes, at: int, kind: int) -> int:
    """Check the record at a byte; give where the next begins."""
    start = at + RECORD_HEADER
    if start + 4 > len(shp):
        raise Flaw("its .shp ends within a record", AGAIN)
    words = int.from_bytes(shp[at + 4 : start], "big", signed=True)
    end = start + words * WORD
    (own,) = struct.unpack_from("<i", shp, start)
    if words < WORD or end > len(shp) or own not in (NULL, kind):
        raise Flaw("a record of its .shp is broken", AGAIN)
    if own in POLYGONS:
        _check_polygon(shp, start, end)
    elif own in POINTS and end - start < 4 + CORNER_BYTES:
        raise Flaw("a record of its .shp is broken", AGAIN)
    return end


def _check_polygon(shp: bytes, start: int, end: int) -> None:
    if end - start < POLYGON_HEAD:
        raise Flaw("a record of its .shp is broken", AGAIN)
    parts, corners = struct.unpack_from("<ii", shp, start + 36)
    if parts > PARTS or corners > ALL_CORNERS:
        raise Flaw("a shape has too many parts or corners", TOO_MANY)
    if parts < 1 or corners < 1 or POLYGON_HEAD + 4 * parts + CORNER_BYTES * corners > end - start:
        raise Flaw("a record of its .shp is broken", AGAIN)
    firsts = struct.unpack_from(f"<{parts}i", shp, start + POLYGON_HEAD)
    if firsts[0] != 0 or list(firsts) != sorted(set(firsts)) or firsts[-1] >= corners:
        raise Flaw("the parts of a shape of its .shp are out of order", AGAIN)
