"""A desk: a field's file, invented weather, and the command that traces them."""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from rootbound_service.cli.app import app

PLANTED = date(2021, 5, 5)
FIRST = PLANTED - timedelta(days=60)
DAYS = 230
HEADER = ("date", "tmax_c", "tmin_c", "rain_mm")

FIELD = """
[field]
name = "Gravel Bend"
lat = 41.0
elevation_m = 280
[season]
crop = "maize"
planted = 2021-05-05
black_layer_gdd_f = 2600
[soil]
texture = "silt loam"
"""
DIG = """
[[dig]]
date = 2021-06-05
wall_class = 3
plants = 8
crossing = 6
held = 50
"""

Row = dict[str, object]


def invented(first: date = FIRST, days: int = DAYS, seed: int = 11) -> list[Row]:
    """Days of an invented warm summer with a shower on every third day or so."""
    rng = np.random.default_rng(seed)
    doy = np.array([(first + timedelta(days=i)).timetuple().tm_yday for i in range(days)])
    mean = 10.0 + 14.0 * np.cos(2 * np.pi * (doy - 201) / 365.25) + rng.normal(0.0, 2.5, days)
    half = rng.uniform(4.0, 8.0, days)
    rain = np.where(rng.random(days) < 0.3, rng.gamma(0.8, 8.0, days), 0.0)
    return [
        {
            "date": first + timedelta(days=i),
            "tmax_c": round(float(mean[i] + half[i]), 1),
            "tmin_c": round(float(mean[i] - half[i]), 1),
            "rain_mm": round(float(rain[i]), 1),
        }
        for i in range(days)
    ]


@dataclass(frozen=True)
class Desk:
    """A folder with the two files of a trace, and what comes out of it."""

    folder: Path

    @property
    def table(self) -> Path:
        return self.folder / "trace.csv"

    @property
    def picture(self) -> Path:
        return self.folder / "trace.png"

    def field(self, text: str = FIELD + DIG) -> Path:
        path = self.folder / "field.toml"
        path.write_text(text, encoding="utf-8")
        return path

    def weather(self, rows: Sequence[Row]) -> Path:
        path = self.folder / "weather.csv"
        names = list(dict.fromkeys(name for row in rows for name in row)) or list(HEADER)
        with path.open("w", newline="", encoding="utf-8") as handle:
            writer = csv.DictWriter(handle, names, restval="")
            writer.writeheader()
            writer.writerows(rows)
        return path

    def text(self, *lines: str) -> Path:
        path = self.folder / "weather.csv"
        path.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
        return path

    def trace(self, field: Path, weather: Path, *more: object) -> Result:
        words = ["trace", str(field), "--weather", str(weather), *map(str, more)]
        return CliRunner().invoke(app, words)

    def told(self, field: Path, weather: Path) -> dict[str, list[str]]:
        """Every column of the table that a good trace writes."""
        result = self.trace(field, weather, "--out", self.table)
        assert result.exit_code == 0, result.stderr
        with self.table.open(newline="", encoding="utf-8") as handle:
            rows = list(csv.DictReader(handle))
        return {name: [row[name] for row in rows] for name in rows[0]}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """An empty desk."""
    monkeypatch.delenv("ROOTBOUND_DEBUG", raising=False)
    return Desk(tmp_path)


@pytest.fixture(scope="session")
def sky() -> Callable[..., list[Row]]:
    """Make days of invented weather."""
    return invented


@pytest.fixture(scope="session")
def field_text() -> str:
    """A field's file without a dig."""
    return FIELD


@pytest.fixture(scope="session")
def dig_text() -> str:
    """A dig that found a hard wall."""
    return DIG


def numbers(column: Sequence[str]) -> np.ndarray:
    """A column of a trace as numbers."""
    return np.array(column, float)


@pytest.fixture(scope="session")
def as_numbers() -> Callable[[Sequence[str]], np.ndarray]:
    """Read a column of a trace as numbers."""
    return numbers
