"""Files of fields as programs write them, around an invented farm in Iowa."""

from __future__ import annotations

import io
import json
import zipfile

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.intake.shapes import read_shapes

SQUARE = [[-93.62, 42.03], [-93.615, 42.03], [-93.615, 42.034], [-93.62, 42.034], [-93.62, 42.03]]


def polygon(*rings):
    return {"type": "Polygon", "coordinates": list(rings)}


def feature(geometry, **properties):
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def collection(*features, **members):
    return {"type": "FeatureCollection", "features": list(features)} | members


def zipped(files, method=zipfile.ZIP_DEFLATED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as packed:
        for name, body in files.items():
            packed.writestr(name, body)
    return out.getvalue()


@pytest.fixture
def read():
    """Read what may be given as a document, text or bytes."""

    def run(given, name="farm.geojson"):
        text = json.dumps(given) if isinstance(given, dict) else given
        return read_shapes(name, text.encode() if isinstance(text, str) else text)

    return run


@pytest.fixture
def refusal(read):
    """What is said of a file that is refused."""

    def run(given, name="farm.geojson"):
        with pytest.raises(RefusedInput) as caught:
            read(given, name)
        return str(caught.value)

    return run


@pytest.fixture
def make():
    """The makers of files, as one object: tests are no packages to import from."""

    class Make:
        pass

    for maker in (polygon, feature, collection, zipped):
        setattr(Make, maker.__name__, staticmethod(maker))
    Make.square = SQUARE
    return Make
