"""Invented CF files and the presets that describe them; a service that hands files out."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.cf import CfSource
from rootbound_service.weather.sources.cf_preset import Files, HabitsRow, Preset, Variable

netCDF4 = pytest.importorskip("netCDF4")  # noqa: N816 - its own name
pytest.importorskip("xarray")

FIRST = date(2026, 7, 1)
LATER = date(2026, 12, 1)
HABITS = HabitsRow(lag=2, recent=10, settled=60)
SINCE = date(1900, 1, 1)


@dataclass(frozen=True)
class Made:
    """One invented file: 3 rows, 4 columns, 5 days unless told otherwise."""

    lat: tuple[float, ...] = (41.0, 41.5, 42.0)
    lon: tuple[float, ...] = (-94.0, -93.5, -93.0, -92.5)
    times: tuple[float, ...] | None = None
    days: tuple[date, ...] = tuple(date(2026, 7, day) for day in range(1, 6))
    time_units: str | None = "days since 1900-01-01"
    calendar: str | None = "gregorian"
    time_name: str = "time"
    name: str = "tmax"
    units: str | None = "degC"
    dims: tuple[str, ...] = ("time", "lat", "lon")
    kind: str = "f4"
    packing: dict[str, Any] = field(default_factory=dict)
    fill: Any = None
    attributes: dict[str, str] = field(default_factory=dict)
    form: str = "NETCDF4"

    def with_(self, **changes: Any) -> Made:
        """The same but for some parts."""
        return replace(self, **changes)

    @property
    def numbers(self) -> tuple[float, ...]:
        """The time axis."""
        return self.times or tuple((day - SINCE).days for day in self.days)

    def values(self) -> np.ndarray:
        """A different number for each place and day, shape (day, row, column)."""
        shape = len(self.numbers), len(self.lat), len(self.lon)
        return (np.arange(np.prod(shape)) * 0.1 - 3.0).reshape(shape).round(1)

    def write(self, path: Path, values: np.ndarray | None = None) -> Path:
        """Write it as netCDF; ``values`` over time, lat, lon instead of its own."""
        with netCDF4.Dataset(path, "w", format=self.form) as file:
            file.setncatts(self.attributes)
            sizes = {"time": len(self.numbers), "lat": len(self.lat), "lon": len(self.lon)}
            for name, size in sizes.items():
                file.createDimension(self._called(name), size)
            for name in set(self.dims) - set(sizes):
                file.createDimension(name, 1)
            self._axes(file)
            dims = tuple(map(self._called, self.dims))
            made = file.createVariable(self.name, self.kind, dims, fill_value=self.fill)
            made.setncatts(self.packing)
            if self.units is not None:
                made.units = self.units
            given = self.values() if values is None else values
            order = [("time", "lat", "lon").index(n) for n in self.dims if n in sizes]
            made[:] = given.transpose(order).reshape(made.shape)
        return path

    def _called(self, name: str) -> str:
        """The name of a dimension in the file."""
        return self.time_name if name == "time" else name

    def _axes(self, file: Any) -> None:
        """Write the coordinates."""
        for name, numbers, units in (
            ("lat", self.lat, "degrees_north"),
            ("lon", self.lon, "degrees_east"),
            ("time", self.numbers, self.time_units),
        ):
            axis = file.createVariable(self._called(name), "f8", (self._called(name),))
            axis[:] = numbers
            if units is not None:
                axis.units = units
        if self.calendar is not None:
            file[self.time_name].calendar = self.calendar


PLAIN = Made()


def a_preset(
    where: str | Path, variables: dict[str, Variable] | None = None, **more: Any
) -> Preset:
    """A preset for invented files, of the highest temperature unless told otherwise."""
    given = {
        "name": "made",
        "title": "Made",
        "earliest": date(1981, 1, 1),
        "files": (Files(where=str(where)),),
        "habits": HABITS,
        "variables": variables or {"tmax_c": Variable(name="tmax")},
    }
    return Preset(**{**given, **more})


def a_source(where: str | Path, variables: dict[str, Variable] | None = None, **more: Any):
    """The source of :func:`a_preset`."""
    return CfSource(a_preset(where, variables, **more))


def ask_all(source: CfSource, start: date = FIRST, end: date = date(2026, 7, 5)) -> Ask:
    """Every cell of a small source."""
    grid = source.grid
    cells = tuple(grid.cell(r, c) for r in range(grid.rows) for c in range(grid.columns))
    return Ask(cells, start, end, LATER)


def as_cells(values: np.ndarray) -> np.ndarray:
    """Values over time, lat, lon as the source gives them: (cell, day)."""
    return values.reshape(len(values), -1).T


class Service:
    """Stands for the caller: hands out files by address, and knows what changed."""

    def __init__(self) -> None:
        self.files: dict[str, tuple[Path, str]] = {}
        self.asked: list[tuple[str, dict[str, str]]] = []
        self.status: int | None = None

    def put(self, url: str, path: Path, changed: str = "Wed, 01 Jul 2026 10:00:00 GMT") -> None:
        """Have a file to hand out."""
        self.files[url] = path, changed

    def download(self, url: str, path: Path, who: str, *, headers=None) -> SimpleNamespace:
        self.asked.append((url, dict(headers or {})))
        if self.status is not None:
            return SimpleNamespace(status=self.status, headers={})
        if url not in self.files:
            return SimpleNamespace(status=404, headers={})
        file, changed = self.files[url]
        said = {"Last-Modified": changed, "ETag": f'"{hash(changed)}"'}
        if (headers or {}).get("If-Modified-Since") == changed:
            return SimpleNamespace(status=304, headers=said)
        shutil.copy(file, path)
        return SimpleNamespace(status=200, headers=said)
