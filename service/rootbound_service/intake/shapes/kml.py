"""Shapes of a KML text, OGC 07-147r2 (KML 2.2) and the versions before it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from rootbound_service.intake.shapes.names import clean_properties
from rootbound_service.intake.shapes.outlines import Drawn, Position
from rootbound_service.intake.shapes.refuse import Flaw

if TYPE_CHECKING:
    from lxml.etree import _Element  # pyright: ignore[reportPrivateUsage]

NAMESPACES = (
    "",
    "http://www.opengis.net/kml/2.2",
    "http://earth.google.com/kml/2.0",
    "http://earth.google.com/kml/2.1",
    "http://earth.google.com/kml/2.2",
)
EXPORT = "export the fields as KML again"


def drawn_of_kml(data: bytes) -> Iterator[Drawn]:
    """Take the shapes out of a text.

    Parameters
    ----------
    data
        A KML document; nothing it links to is fetched.

    Yields
    ------
    Drawn
        One for each Placemark.

    Raises
    ------
    Flaw
        If it is not KML, or declares entities.
    """
    root = _root(data)
    for placemark in root.iter("{*}Placemark"):
        yield _placemark(placemark)


def _root(data: bytes) -> _Element:
    from lxml import etree

    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        huge_tree=False,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.LxmlError, ValueError, LookupError) as error:
        raise Flaw(f"is not XML: {str(error)[:100]}", EXPORT) from None
    if root.getroottree().docinfo.internalDTD is not None:
        raise Flaw("declares a document type", "export it as plain KML, without a DOCTYPE")
    name = etree.QName(root)
    if name.localname != "kml" or (name.namespace or "") not in NAMESPACES:
        raise Flaw("is XML, but not KML", EXPORT)
    if not _has(root, "Placemark") and _has(root, "NetworkLink"):
        raise Flaw("only links to places elsewhere, which we do not fetch", EXPORT)
    return root


def _has(element: _Element, name: str) -> bool:
    return next(element.iter(f"{{*}}{name}"), None) is not None


def _placemark(placemark: _Element) -> Drawn:
    name = " ".join((placemark.findtext("{*}name") or "").split())
    properties = clean_properties(_data(placemark))
    try:
        polygons = [_polygon(part) for part in placemark.iter("{*}Polygon")]
        point = None if polygons else _point(placemark)
    except ValueError as error:
        return Drawn([], None, properties, name, str(error))
    if not polygons and point is None and _has(placemark, "LineString"):
        return Drawn([], None, properties, name, "is a line")
    return Drawn(polygons, point, properties, name)


def _data(placemark: _Element) -> Iterator[tuple[object, object]]:
    """ExtendedData in both of its forms, OGC 07-147r2 section 9.2."""
    for item in placemark.iterfind("{*}ExtendedData/{*}Data"):
        yield item.get("name", ""), item.findtext("{*}value") or ""
    for item in placemark.iterfind("{*}ExtendedData/{*}SchemaData/{*}SimpleData"):
        yield item.get("name", ""), item.text or ""


def _polygon(polygon: _Element) -> list[list[Position]]:
    outer = polygon.findtext("{*}outerBoundaryIs/{*}LinearRing/{*}coordinates")
    if not outer:
        raise ValueError("its Polygon has no outer boundary")
    holes = polygon.iterfind("{*}innerBoundaryIs/{*}LinearRing/{*}coordinates")
    return [_ring(outer), *(_ring(hole.text or "") for hole in holes)]


def _point(placemark: _Element) -> Position | None:
    for found in placemark.iter("{*}Point"):
        positions = _positions(found.findtext("{*}coordinates") or "")
        if len(positions) != 1:
            raise ValueError("its Point is not one position")
        return positions[0]
    return None


def _ring(text: str) -> list[Position]:
    """Closed as the standard asks; some programs leave the last corner out."""
    ring = _positions(text)
    return ring if not ring or ring[0] == ring[-1] else [*ring, ring[0]]


def _positions(text: str) -> list[Position]:
    """Tuples of ``lon,lat[,alt]`` between white space, OGC 07-147r2 section 15.1."""
    positions: list[Position] = []
    for word in text.split():
        try:
            numbers = [float(number) for number in word.split(",")]
            positions.append((numbers[0], numbers[1]))
        except (ValueError, IndexError):
            raise ValueError('its coordinates are not "lon,lat" pairs') from None
    return positions
