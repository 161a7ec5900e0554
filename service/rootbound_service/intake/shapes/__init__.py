"""Places of fields as people upload them: GeoJSON, KML, KMZ and zipped shapefiles."""

from __future__ import annotations

from rootbound_service.intake.shapes.corners import from_corners
from rootbound_service.intake.shapes.outlines import Outline, geometry_of
from rootbound_service.intake.shapes.read import outline_of, read_shapes

__all__ = ["Outline", "from_corners", "geometry_of", "outline_of", "read_shapes"]
