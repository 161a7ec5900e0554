"""The cast of intake's tests: one right field and one right dig, to be made wrong one by one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from rootbound_service.errors import RefusedInput

TODAY = date(2026, 7, 14)

FIELD = {
    "name": "North Forty",
    "lat": "42.03",
    "lon": "-93.62",
    "planted": "2026-05-04",
    "texture": "silt loam",
    "grower": "Ada Quill <ada@quill.example>",
}
DIG = {"date": "2026-06-10", "wall_class": "2"}

TOML = """
[field]
name = "North Forty"
lat = 42.03
lon = -93.62
elevation_m = 310
row_spacing_in = 30
irrigated = true

[season]
crop = "corn"
planted = 2026-05-04
black_layer_gdd_f = 2650
seed_depth_cm = 4.5

[soil]
texture = "Silt-Loam"
clay_pct = 22
water_table_m = 1.8

[people]
grower = "Ada Quill <ada@quill.example>"
adviser = "Ben Marsh <ben@marsh.example>"
units = "metric"

[[dig]]
date = 2026-06-20
wall_class = 3

[[dig]]
date = 2026-06-10
wall_class = 2
plants = 6
crossing = 9
held = 21
pan_class = 1
pan_depth_cm = 22
soil_moisture = "moist"
note = "smeared on the wheel side"
"""

Said = Callable[[Callable[[], object]], list[str]]
Write = Callable[[str, str], Path]


@pytest.fixture
def today() -> date:
    return TODAY


@pytest.fixture
def field_values() -> dict[str, object]:
    return dict(FIELD)


@pytest.fixture
def dig_values() -> dict[str, object]:
    return dict(DIG)


@pytest.fixture
def toml_text() -> str:
    return TOML


@pytest.fixture
def said() -> Said:
    """What a person is told when something is refused, line by line."""

    def run(action: Callable[[], object]) -> list[str]:
        with pytest.raises(RefusedInput) as refused:
            action()
        return [str(problem) for problem in refused.value.problems]

    return run


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a file of a name and give its path."""

    def run(name: str, text: str) -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return run


@pytest.fixture
def csv_text() -> Callable[..., str]:
    """A CSV text of rows that differ from the right field as told."""

    def run(*rows: Mapping[str, str]) -> str:
        lines = [",".join(FIELD)]
        lines += [",".join((FIELD | dict(row)).values()) for row in rows]
        return "\n".join(lines) + "\n"

    return run
