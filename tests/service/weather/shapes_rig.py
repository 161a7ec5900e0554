"""Recorded answers of the services, and their names in order all the way down."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import requests

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
TODAY = date(2026, 7, 6)
PLACE = {"latitude": "42.03", "longitude": "-93.62"}


def recorded(name):
    return json.loads((SHAPES / name).read_text())


def get(server, service, path, query=None, **more):
    return requests.get(server.url(service) + path, params=query, timeout=10, **more)


def names(document):
    """Names in their order all the way down, and kinds of values; of a list its first item."""
    if isinstance(document, dict):
        return [(name, names(part)) for name, part in document.items()]
    if isinstance(document, list):
        return [names(document[0])] if document else []
    return "number" if isinstance(document, int | float) else type(document).__name__
