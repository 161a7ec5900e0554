"""The USDA texture triangle against its corner points, and against Saxton & Rawls' class middles.

Corner points: the twelve polygons of the triangle as the soil-texture literature prints them
(Soil Survey Manual 2017, figure of the triangle; from memory), clay and sand in %. They say
nothing of inequalities, so they are an independent telling of the same classes. Middles: Saxton
& Rawls 2006, Table 3.
"""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.path import Path as Polygon

from rootbound_rules.errors import RulesError
from rootbound_rules.tables import load_table
from rootbound_rules.water.soil import texture_names
from rootbound_rules.water.texture import texture_class

CORNERS = {
    "sand": [(0, 100), (10, 90), (0, 85)],
    "loamy sand": [(0, 85), (10, 90), (15, 85), (0, 70)],
    "sandy loam": [(0, 70), (15, 85), (20, 80), (20, 52), (7, 52), (7, 43), (0, 50)],
    "loam": [(7, 52), (20, 52), (27, 45), (27, 23), (7, 43)],
    "silt loam": [(0, 50), (27, 23), (27, 0), (12, 0), (12, 8), (0, 20)],
    "silt": [(0, 20), (12, 8), (12, 0), (0, 0)],
    "sandy clay loam": [(20, 80), (35, 65), (35, 45), (27, 45), (20, 52)],
    "clay loam": [(27, 45), (40, 45), (40, 20), (27, 20)],
    "silty clay loam": [(27, 20), (40, 20), (40, 0), (27, 0)],
    "sandy clay": [(35, 65), (55, 45), (35, 45)],
    "silty clay": [(40, 20), (60, 0), (40, 0)],
    "clay": [(40, 45), (55, 45), (100, 0), (60, 0), (40, 20)],
}


def polygon_of(clay: float, sand: float) -> list[str]:
    """The classes whose polygon holds a point, lines left out."""
    return [
        name
        for name, corners in CORNERS.items()
        if Polygon([*corners, corners[0]], closed=True).contains_point((clay, sand))
    ]


def test_the_polygons_cover_the_triangle_once() -> None:
    areas = []
    for corners in CORNERS.values():
        clay, sand = np.array(corners, dtype=float).T
        areas.append(0.5 * abs(np.dot(clay, np.roll(sand, 1)) - np.dot(sand, np.roll(clay, 1))))

    assert sum(areas) == pytest.approx(100 * 100 / 2)
    assert set(CORNERS) == set(texture_names())


def test_every_point_of_the_triangle_has_the_class_of_its_polygon() -> None:
    wrong = []
    for clay in np.arange(0.25, 100, 1.0):
        for sand in np.arange(0.15, 100 - clay, 1.0):
            (expected,) = polygon_of(clay, sand)
            found = texture_class(sand, 100 - sand - clay, clay)
            if found != expected:
                wrong.append((clay, sand, found, expected))

    assert wrong == []


def test_the_middle_of_every_class_lies_in_it() -> None:
    soils = load_table("soils")
    for name in texture_names():
        sand, clay = soils.numbers(f"{name.replace(' ', '_')}.sand_clay_pct")

        assert texture_class(sand, 100 - sand - clay, clay) == name


@pytest.mark.parametrize(
    ("sand", "silt", "clay", "name"),
    [
        # lines belong to the class above or to the right (Benham, Ahrens, Nettleton 2009)
        (85.0, 15.0, 0.0, "loamy sand"),
        (70.0, 30.0, 0.0, "sandy loam"),
        (50.0, 50.0, 0.0, "silt loam"),
        (20.0, 80.0, 0.0, "silt"),
        (33.0, 40.0, 27.0, "clay loam"),
        (20.0, 40.0, 40.0, "silty clay"),
        (52.0, 28.0, 20.0, "loam"),
        (0.0, 0.0, 100.0, "clay"),
    ],
)
def test_a_point_on_a_line_belongs_to_the_finer_side(
    sand: float, silt: float, clay: float, name: str
) -> None:
    assert texture_class(sand, silt, clay) == name


@pytest.mark.parametrize("grains", [(-1, 51, 50), (60, 60, 60), (float("nan"), 50, 50)])
def test_shares_that_make_no_soil_are_refused(grains: tuple[float, float, float]) -> None:
    with pytest.raises(RulesError, match="make 100 % together"):
        texture_class(*grains)
