"""A forecast as a small compressed file, and back; what is spoilt counts as not there."""

from __future__ import annotations

import gzip
import json
import math
import zlib
from datetime import UTC, date, datetime
from typing import Any

import numpy as np

from rootbound_service.weather.forecast.day import Forecast


def pack(forecast: Forecast) -> bytes:
    """Write a forecast, without the service's own answer.

    Parameters
    ----------
    forecast
        What to write.
    """
    flat = forecast.values.round(4).ravel().tolist()
    known = {
        "source": forecast.source,
        "lat": forecast.lat,
        "lon": forecast.lon,
        "issued": forecast.issued.astimezone(UTC).isoformat(),
        "fetched": forecast.fetched.astimezone(UTC).isoformat(),
        "start": forecast.start.isoformat(),
        "quantities": list(forecast.quantities),
        "shape": list(forecast.values.shape),
        "values": [None if math.isnan(value) else value for value in flat],
        "made": forecast.made.ravel().tolist(),
        "where": forecast.where,
        "fingerprint": forecast.fingerprint,
    }
    return gzip.compress(json.dumps(known, separators=(",", ":")).encode(), mtime=0)


def unpack(content: bytes) -> Forecast | None:
    """Read a forecast back.

    Parameters
    ----------
    content
        Of a file of ours.

    Returns
    -------
    Forecast or None
        None where it is spoilt.
    """
    try:
        known: dict[str, Any] = json.loads(gzip.decompress(content))
        shape = tuple(known["shape"])
        return Forecast(
            source=known["source"],
            lat=known["lat"],
            lon=known["lon"],
            issued=datetime.fromisoformat(known["issued"]),
            fetched=datetime.fromisoformat(known["fetched"]),
            start=date.fromisoformat(known["start"]),
            quantities=tuple(known["quantities"]),
            values=np.array(known["values"], dtype=np.float64).reshape(shape),
            made=np.array(known["made"], dtype=np.uint8).reshape(shape[0], shape[2]),
            where=known["where"],
            fingerprint=known["fingerprint"],
        )
    except (OSError, EOFError, zlib.error, ValueError, KeyError, TypeError, IndexError):
        return None
