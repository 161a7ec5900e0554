"""The measured soil of the Iowa trial: texture, carbon and density by layer, mean over plots.

Source: cores of 2014 from the Marsden farm near Ames, Iowa (public R package maRsden), eight
plots, clay loam over loam. Water contents are Saxton & Rawls 2006 at the layer's mean sand,
clay and organic matter (1.724 times organic carbon), once at the density their equations
give a normal soil and once at the density that was measured.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import fmean, stdev

from rootbound_rules.water.retention import Retention, retention

IOWA = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "iowa"
TEXTURE = IOWA / "soil_texture_2014.csv"
DEPTHS_CM = ((0, 15), (15, 30), (30, 60), (60, 90))
OM_FROM_CARBON = 1.724
DENSITY_FACTORS = (0.9, 1.3)
"""What Saxton & Rawls 2006 allow of a density over the normal one."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, mean over the plots. [cm, %, g cm-3, m3 m-3]"""

    top_cm: int
    bottom_cm: int
    plots: int
    sand_pct: float
    clay_pct: float
    carbon_pct: float
    density: float
    density_sd: float
    """Between plots."""
    clay_sd: float
    normal: Retention
    """At the density the equations themselves give."""
    packed: Retention
    """At the density measured, within what the equations allow."""

    @property
    def om_pct(self) -> float:
        """Organic matter by mass. [%]"""
        return OM_FROM_CARBON * self.carbon_pct

    @property
    def field_capacity(self) -> float:
        """At the measured density. [m3 m-3]"""
        return self.packed.field_capacity

    @property
    def wilting_point(self) -> float:
        """Does not change with density. [m3 m-3]"""
        return self.packed.wilting_point

    @property
    def saturation(self) -> float:
        """At the measured density. [m3 m-3]"""
        return self.packed.saturation

    @property
    def porosity(self) -> float:
        """Of the measured density, particles 2.65 g cm-3. [m3 m-3]"""
        return 1.0 - self.density / 2.65


def with_water(layer: Layer, field_capacity: float, wilting_point: float) -> Layer:
    """Return a layer with other water contents, its depth and pore space as they are.

    Parameters
    ----------
    layer
        As measured.
    field_capacity, wilting_point
        In their place. [m3 m-3]
    """
    packed = replace(layer.packed, field_capacity=field_capacity, wilting_point=wilting_point)
    return replace(layer, packed=packed)


def measured_layers() -> list[Layer]:
    """Return the layers from the top down."""
    rows = _rows()
    return [
        _layer(top, bottom, [row for row in rows if row["depth_cm"] == f"{top}-{bottom}"])
        for top, bottom in DEPTHS_CM
    ]


def field_capacity_by_layer() -> dict[tuple[int, int], float]:
    """Field capacity of each layer by its depths in cm. [m3 m-3]"""
    return {(layer.top_cm, layer.bottom_cm): layer.field_capacity for layer in measured_layers()}


def wilting_point_by_layer() -> dict[tuple[int, int], float]:
    """Wilting point of each layer by its depths in cm. [m3 m-3]"""
    return {(layer.top_cm, layer.bottom_cm): layer.wilting_point for layer in measured_layers()}


def saturation_by_layer() -> dict[tuple[int, int], float]:
    """Saturation of each layer by its depths in cm. [m3 m-3]"""
    return {(layer.top_cm, layer.bottom_cm): layer.saturation for layer in measured_layers()}


def over(top_cm: float, bottom_cm: float, what: dict[tuple[int, int], float]) -> float:
    """Mean of a layered quantity between two depths; the lowest layer goes on below.

    Parameters
    ----------
    top_cm, bottom_cm
        From the surface. [cm]
    what
        One of the functions above.

    Returns
    -------
    float
        Weighted by thickness, in the quantity's own unit.
    """
    deepest = max(what)
    total = 0.0
    for (top, bottom), value in what.items():
        end = max(bottom, bottom_cm) if (top, bottom) == deepest else bottom
        total += value * max(min(end, bottom_cm) - max(top, top_cm), 0.0)
    return total / (bottom_cm - top_cm)


def _layer(top: int, bottom: int, rows: list[dict[str, str]]) -> Layer:
    """One layer of all its plots' cores."""

    def numbers(name: str) -> list[float]:
        return [float(row[name]) for row in rows]

    sand, clay = fmean(numbers("sand_prct")), fmean(numbers("clay_prct"))
    carbon, density = fmean(numbers("SOCfinal_prct")), fmean(numbers("bulkden_g.cm3"))
    normal = retention(sand, clay, OM_FROM_CARBON * carbon)
    low, high = DENSITY_FACTORS
    factor = min(max(density / normal.density, low), high)
    return Layer(
        top_cm=top,
        bottom_cm=bottom,
        plots=len(rows),
        sand_pct=sand,
        clay_pct=clay,
        carbon_pct=carbon,
        density=density,
        density_sd=stdev(numbers("bulkden_g.cm3")),
        clay_sd=stdev(numbers("clay_prct")),
        normal=normal,
        packed=retention(sand, clay, OM_FROM_CARBON * carbon, factor),
    )


@dataclass(frozen=True, slots=True)
class Plot:
    """One plot's soil between two depths. [%, g cm-3]"""

    rotation: int
    """Crops of its rotation: 2 is chiselled, 4 is ploughed."""
    sand_pct: float
    clay_pct: float
    carbon_pct: float
    density: float


def plots_between(top_cm: float, bottom_cm: float) -> dict[str, Plot]:
    """Return each plot's soil between two depths, layers weighted by thickness.

    Parameters
    ----------
    top_cm, bottom_cm
        From the surface. [cm]
    """
    rows = _rows()
    return {
        plot: Plot(
            rotation=int(next(row["rot"] for row in rows if row["plot"] == plot)),
            sand_pct=over(top_cm, bottom_cm, _of_plot(rows, plot, "sand_prct")),
            clay_pct=over(top_cm, bottom_cm, _of_plot(rows, plot, "clay_prct")),
            carbon_pct=over(top_cm, bottom_cm, _of_plot(rows, plot, "SOCfinal_prct")),
            density=over(top_cm, bottom_cm, _of_plot(rows, plot, "bulkden_g.cm3")),
        )
        for plot in sorted({row["plot"] for row in rows})
    }


def _of_plot(rows: list[dict[str, str]], plot: str, name: str) -> dict[tuple[int, int], float]:
    """One quantity of one plot by layer."""
    return {
        (top, bottom): float(row[name])
        for top, bottom in DEPTHS_CM
        for row in rows
        if row["plot"] == plot and row["depth_cm"] == f"{top}-{bottom}"
    }


def _rows() -> list[dict[str, str]]:
    """The cores as text, without the file's empty lines."""
    with TEXTURE.open(encoding="utf-8", newline="") as text:
        return [row for row in csv.DictReader(text) if row["depth_cm"]]
