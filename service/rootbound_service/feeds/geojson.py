"""How fields stand, on a map: GeoJSON, RFC 7946, longitude first."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rootbound_service.feeds.table import row_of

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Stand

MIME = "application/geo+json"


def geojson_of(stands: Sequence[Stand]) -> str:
    """Write the fields as points with their figures.

    Parameters
    ----------
    stands
        The fields.
    """
    features = [
        {
            "type": "Feature",
            "id": stand.field.id,
            "geometry": {"type": "Point", "coordinates": [stand.field.lon, stand.field.lat]},
            "properties": {
                name: value for name, value in row_of(stand).items() if name not in {"lat", "lon"}
            },
        }
        for stand in stands
    ]
    whole = {"type": "FeatureCollection", "features": features}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False)
