"""From the coordinates of a shapefile to degrees of WGS 84."""

from __future__ import annotations

from collections.abc import Callable

from rootbound_service.intake.shapes.limits import PRJ_BYTES
from rootbound_service.intake.shapes.outlines import Position
from rootbound_service.intake.shapes.refuse import Flaw

ToDegrees = Callable[[list[Position]], list[Position]]
WANTED = "export it in WGS 84 (EPSG:4326)"
NAMES_A_FILE = ("PARAMETERFILE", "EXTENSION", "NADGRIDS")


def as_they_are(positions: list[Position]) -> list[Position]:
    """Leave the coordinates; those that are not in degrees are refused later."""
    return positions


def to_degrees(prj: bytes) -> ToDegrees:
    """Make the function that brings coordinates to WGS 84.

    Parameters
    ----------
    prj
        Content of the .prj, well-known text.

    Returns
    -------
    ToDegrees
        From pairs of x and y to longitude and latitude. [degrees]

    Raises
    ------
    Flaw
        If the reference system is not known, or names a file of its own.
    """
    from pyproj import CRS, Transformer
    from pyproj.exceptions import ProjError
    from pyproj.network import set_network_enabled  # type: ignore[attr-defined]  # pyright: ignore[reportPrivateImportUsage]

    text = prj[: PRJ_BYTES + 1].decode("utf-8-sig", errors="replace").strip("\x00 \r\n\t")
    if len(prj) > PRJ_BYTES or any(word in text.upper() for word in NAMES_A_FILE):
        raise Flaw("its .prj is not a plain one", WANTED)
    set_network_enabled(active=False)
    try:
        system = CRS.from_wkt(text)
        if not (system.is_geographic or system.is_projected):
            raise Flaw("its .prj is not of a map", WANTED)
        road = Transformer.from_crs(system, "EPSG:4326", always_xy=True)
    except ProjError:
        raise Flaw("its .prj names no reference system we know", WANTED) from None

    def moved(positions: list[Position]) -> list[Position]:
        xs, ys = [x for x, _ in positions], [y for _, y in positions]
        lons, lats = road.transform(xs, ys)
        return [(float(lon), float(lat)) for lon, lat in zip(lons, lats, strict=True)]

    return moved
