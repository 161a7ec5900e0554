"""Throws bytes at the readers of forecasts: a value that can be or a refusal, nothing else.

Run with ``python tests/bench/fuzz_nws.py -max_total_time=180``; libFuzzer's options pass on.
A mutation starts from the recorded shapes, without what no reader looks at.
"""

from __future__ import annotations

import json
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

try:
    import atheris
except ImportError:
    print("skipped: atheris is not installed (pip install atheris)")
    sys.exit(0)

import numpy as np

atheris.enabled_hooks.add("RegEx")
atheris.enabled_hooks.add("str")
with atheris.instrument_imports(
    include=["rootbound_service.weather.forecast", "rootbound_service.public.replies"]
):
    from rootbound_service.public.http import Reply, Unavailable
    from rootbound_service.public.replies import part, read_object
    from rootbound_service.weather.day import QUANTITY_NAMES
    from rootbound_service.weather.forecast.intervals import read_interval
    from rootbound_service.weather.forecast.make import POSSIBLE
    from rootbound_service.weather.forecast.nws_answer import Question, read_grid
    from rootbound_service.weather.forecast.nws_points import GridPoint, read_point
    from rootbound_service.weather.forecast.nws_problem import refuse
    from rootbound_service.weather.forecast.open_meteo_answer import read_days, read_places

SHAPES = Path(__file__).parents[2] / "fixtures" / "shapes"
WHO = "fuzz"
NOW = datetime(2026, 7, 6, 10, tzinfo=UTC)
POINT = GridPoint("DMX", 73, 71, ZoneInfo("America/Chicago"))
BYTES_SHARE = 0.3
DEEPER = 0.95
MOST = 1e300
TEXTS = (
    "",
    "wmoUnit:degF",
    "wmoUnit:mm",
    "mm",
    "\N{DEGREE SIGN}C",
    "0001-01-01T00:00:00+14:00/PT1H",
    "9999-12-31T23:00:00Z/P9999D",
    "2026-07-06T03:00:00Z/PT1S",
    "2026-03-08T02:30:00-06:00/P6DT15H",
    "2026-07-06",
    "9999-12-31",
    "America/Chicago",
)
THINGS = (None, True, 0, -1, 1e308, -1e-308, 10**400, [], {}, *TEXTS)
LAYERS = (
    "gridId",
    "gridX",
    "gridY",
    "updateTime",
    "maxTemperature",
    "minTemperature",
    "dewpoint",
    "windSpeed",
    "skyCover",
    "quantitativePrecipitation",
)


def once(content: bytes) -> None:
    """Read one input; only a refusal may be raised."""
    try:
        read(content[:1], content[1:])
    except Unavailable:
        return


def read(kind: bytes, body: bytes) -> None:
    """Read a body as what its first byte says."""
    reply = Reply(200, body, "application/json")
    if kind == b"g":
        told = read_grid(reply, Question(42.03, -93.62, POINT, NOW, WHO))
        check(told.values)
    elif kind == b"p":
        point = read_point(part(read_object(reply, WHO), "properties", WHO), WHO)
        NOW.astimezone(point.zone)
    elif kind == b"o":
        (place,) = read_places(reply, 1, WHO)
        if np.isinf(read_days(place, WHO).values).any():
            raise AssertionError(place)
    elif kind == b"i":
        interval(body.decode("utf-8", "replace"))
    else:
        refuse(Reply(404, body, "application/problem+json"), WHO)


def interval(text: str) -> None:
    """Read an interval; it must be ahead of its begin, or no interval."""
    try:
        found = read_interval(text)
    except ValueError:
        return
    if not found.end > found.begin:
        raise AssertionError(text)


def check(values: np.ndarray) -> None:
    """Hold values against what can be."""
    for row, name in enumerate(QUANTITY_NAMES):
        low, high = POSSIBLE[name]
        known = values[row][~np.isnan(values[row])]
        if not ((low <= known) & (known <= high)).all():
            raise AssertionError(name, known)


def mutate(content: bytes, most: int, seed: int) -> bytes:
    """Change one part of the JSON into another thing, or some bytes as the library does."""
    random = Random(seed)
    if random.random() < BYTES_SHARE:
        return atheris.Mutate(content, most)
    try:
        whole = [json.loads(content[1:])]
    except (ValueError, RecursionError):
        return atheris.Mutate(content, most)
    inner, name = whole, 0
    while isinstance(inner[name], dict | list) and inner[name] and random.random() < DEEPER:
        inner = inner[name]
        name = (
            random.choice(list(inner)) if isinstance(inner, dict) else random.randrange(len(inner))
        )
    inner[name] = another(inner[name], random)
    return content[:1] + json.dumps(whole[0], separators=(",", ":")).encode()[: most - 1]


def another(value: object, random: Random) -> object:
    """Make something else of a value: nearly the same, or quite another."""
    if random.random() < BYTES_SHARE:
        return random.choice(THINGS)
    if isinstance(value, str):
        return atheris.Mutate(value.encode(), 60).decode("utf-8", "replace")
    if isinstance(value, float | int) and abs(value) < MOST:
        return random.choice([-value, value * 10, value + 0.5, value - 273.15])
    if isinstance(value, list) and value:
        return random.choice([value[::-1], value[1:], value * 2, [*value, random.choice(value)]])
    return value


def seeds() -> dict[str, bytes]:
    """Recorded shapes, small."""
    found = {"interval": b"i2026-07-06T03:00:00+00:00/P1DT6H"}
    grid = json.loads((SHAPES / "nws_gridpoint_forecastgriddata.json").read_text("utf-8"))
    kept = {name: grid["properties"][name] for name in LAYERS}
    found["grid"] = b"g" + json.dumps({"properties": kept}, separators=(",", ":")).encode()
    for kind, name in (
        (b"p", "nws_points"),
        (b"o", "openmeteo_forecast_daily"),
        (b"o", "openmeteo_ensemble_daily"),
        (b"r", "nws_problem_503_forecast_grid_expired"),
    ):
        document = json.loads((SHAPES / f"{name}.json").read_text("utf-8"))
        document.pop("@context", None)
        found[name] = kind + json.dumps(document, separators=(",", ":")).encode()
    return found


def main() -> None:
    """Fuzz until libFuzzer's options say stop."""
    with tempfile.TemporaryDirectory() as corpus:
        for name, content in seeds().items():
            (Path(corpus) / name).write_bytes(content)
        atheris.Setup([*sys.argv, corpus], once, custom_mutator=mutate)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
