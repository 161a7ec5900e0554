"""A gridMET that answers from a formula in the recorded shapes; every fault can be played."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import unquote, urlsplit

import responses

from rootbound_service.public.http import Caller, Patience
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.gridmet_names import GRID, VARIABLES

SHAPES = Path(__file__).parents[4] / "fixtures" / "shapes"
DAS = (SHAPES / "gridmet_tmmx.das").read_text()
DDS = (SHAPES / "gridmet_tmmx.dds").read_text()
POINT = (SHAPES / "gridmet_tmmx_point.ascii").read_text()
ERROR = (SHAPES / "gridmet_error.txt").read_text()
URL = "http://127.0.0.1/thredds"
LENGTH = 17354
"""Days of the recorded DDS: the last one is 2026-07-06."""
CELL = GRID.cell(177, 748)
BY_SHORT = {variable.short: variable for variable in VARIABLES}
# unit, scale, offset: the offsets of the temperatures are the service's own, 10 K apart
PACKING = {
    "tmmx": ("K", 0.1, 220.0),
    "tmmn": ("K", 0.1, 210.0),
    "pr": ("mm", 0.1, 0.0),
    "srad": ("W m-2", 0.1, 0.0),
    "vs": ("m/s", 0.1, 0.0),
    "rmax": ("%", 0.1, 0.0),
    "rmin": ("%", 0.1, 0.0),
}
BASE = {"tmmx": 812, "tmmn": 800, "pr": 0, "srad": 2500, "vs": 30, "rmax": 900, "rmin": 400}


def das(short):
    """Describe a variable as the service does."""
    units, scale, offset = PACKING[short]
    text = DAS.replace("daily_maximum_temperature", BY_SHORT[short].inside)
    text = text.replace('units "K"', f'units "{units}"')
    return text.replace("scale_factor 0.1", f"scale_factor {scale}").replace(
        "add_offset 220.0", f"add_offset {offset}"
    )


def packed(short, day, row, column):
    """Packed number of a variable, another one for each neighbour and the next 7 days."""
    return BASE[short] + day % 7 + 10 * (row % 3) + 30 * (column % 3)


def ascii_of(short, days, rows, columns, number=packed):
    """Write the answer to a box."""
    inside = BY_SHORT[short].inside
    shape = f"[{len(days)}][{len(rows)}][{len(columns)}]"
    lines = ["Dataset {", f"    UInt16 {inside}{shape};", "} x;", "-" * 45]
    lines.append(f"{inside}.{inside}{shape}")
    for d, day in enumerate(days):
        for r, row in enumerate(rows):
            numbers = ", ".join(str(number(short, day, row, column)) for column in columns)
            lines.append(f"[{d}][{r}], {numbers}")
    first = (date(1979, 1, 1) - date(1900, 1, 1)).days
    for axis, values in (
        ("day", [float(first + day) for day in days]),
        ("lat", [49.4 - row / 24 for row in rows]),
        ("lon", [-124.76666663 + column / 24 for column in columns]),
    ):
        lines += ["", f"{inside}.{axis}[{len(values)}]", ", ".join(map(str, values))]
    return "\n".join(lines) + "\n\n"


class Service:
    """The service; ``spoil(short, kind, text)`` changes an answer on its way."""

    def __init__(self, length=LENGTH, spoil=lambda short, kind, text: text, number=packed):
        self.length = length
        self.spoil = spoil
        self.number = number
        self.seen = []

    def __call__(self, request):
        url = urlsplit(request.url)
        short, kind = re.search(
            r"agg_met_(\w+?)_1979_CurrentYear_CONUS\.nc\.(\w+)$", url.path
        ).groups()
        self.seen.append((short, kind, url.query))
        answer = self.spoil(short, kind, self._answer(short, kind, unquote(url.query)))
        return answer if isinstance(answer, tuple) else (200, {}, answer)

    def _answer(self, short, kind, query):
        if kind == "das":
            return das(short)
        if kind == "dds":
            text = DDS.replace("daily_maximum_temperature", BY_SHORT[short].inside)
            return text.replace(str(LENGTH), str(self.length))
        inside, *pairs = re.split(r"\[|\]\[|\]", query.rstrip("]"))
        assert inside == BY_SHORT[short].inside
        days, rows, columns = (
            range(int(a), int(b) + 1) for a, _, b in (p.split(":") for p in pairs)
        )
        if days[-1] >= self.length:
            return ERROR
        return ascii_of(short, days, rows, columns, self.number)


def fetch(ask, service=None, source=None):
    """Make one request to the service."""
    with responses.RequestsMock() as mock:
        mock.add_callback("GET", re.compile(re.escape(URL)), service or Service())
        caller = Caller(Patience(retries=0))
        try:
            return (source or GridMet)(caller, URL).fetch(ask)
        finally:
            caller.close()


def day(index):
    """Give the day at a place of the axis."""
    return date(1979, 1, 1) + timedelta(days=index)
