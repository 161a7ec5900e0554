"""The model's water at 15 and 45 cm beside what sensors had there in 2018.

The model keeps one store in the root zone and one below it, no profile within either. A sensor
sees a few centimetres about its depth. So the model is read twice: once *even*, its own
assumption, and once *tapered*, the root zone's depletion laid out as roots take it. The mean
of the two depths stands for 0-60 cm. Sources are those of ``seasons.sensor_days``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from statistics import fmean

from rootbound_rules.season.trace import trace_season
from rootbound_rules.season.trace_day import TraceDay
from rootbound_rules.season.values import FieldSeason, Soil
from rootbound_rules.water.soil import soil_from_numbers
from seasons.sensor_days import (
    DEPTHS_CM,
    FILLED_MM,
    WETTING_MM,
    Cores,
    WetEnd,
    iowa_weather,
    may_cores,
    rain_by_day,
    sensor_days,
    wet_end,
)
from seasons.sensor_fit import Fit, even, fit, model_core, model_points, tapered
from seasons.soil_data import (
    Layer,
    field_capacity_by_layer,
    measured_layers,
    over,
    wilting_point_by_layer,
)

__all__ = ["Measured", "measure", "measured_soil", "section", "sensor_days", "trace_2018"]

PLANTED = date(2018, 5, 8)
LAT, ELEVATION_M = 42.02, 315.0
TABLE_M = 1.2
DRYING = (date(2018, 7, 9), date(2018, 7, 31))
"""From the day the wet weeks had drained to the last before August's rain."""
DRAWN_MM = 600.0
"""The two depths stand for the upper 60 cm. [mm]"""
CORED = date(2018, 5, 10)
GOAL = 0.04
"""RMSE that we want to come under. [m3 m-3]"""
READ = ("even", "even 15 cm", "even 45 cm", "tapered", "tapered 15 cm", "tapered 45 cm")
LIMITS = (
    "**What this can and cannot say.** The sensors were never calibrated for these plots, and "
    "eight of them fix a mean to about 0.02. They stay far under the pore space on days when the "
    "soil stood full of water, so they read low when wet, and in May they may not yet have had "
    "good contact. Their rise and fall is worth more than their level: the third column counts "
    "for more than the first."
)
SPELLS = (
    ("19 May - 13 June, before the wet weeks", date(2018, 5, 19), date(2018, 6, 13)),
    ("14 June - 8 July, 276 mm of rain", date(2018, 6, 14), date(2018, 7, 8)),
    ("9 July - 1 August, drying", date(2018, 7, 9), date(2018, 8, 1)),
    ("2 - 31 August", date(2018, 8, 2), date(2018, 8, 31)),
    ("1 September - 1 October, ripe", date(2018, 9, 1), date(2018, 10, 1)),
)


def measured_soil(bottom_cm: float = 100.0 * TABLE_M, table_m: float | None = TABLE_M) -> Soil:
    """Return the measured layers as one soil, as deep as the drains hold the table."""
    layers = measured_layers()
    share = [layer.bottom_cm - layer.top_cm for layer in layers]
    total = sum(share)
    return soil_from_numbers(
        over(0, bottom_cm, field_capacity_by_layer()),
        over(0, bottom_cm, wilting_point_by_layer()),
        clay_pct=sum(s * layer.clay_pct for s, layer in zip(share, layers, strict=True)) / total,
        organic_matter_pct=layers[0].om_pct,
        water_table_m=table_m,
        texture="clay loam",
    )


def trace_2018(soil: Soil) -> list[TraceDay]:
    """Run the maize of 2018 with free roots on a soil, to the sensors' last day."""
    season = FieldSeason(LAT, ELEVATION_M, PLANTED, soil)
    return trace_season(season, iowa_weather(date(2018, 1, 1), date(2018, 10, 1)))


@dataclass(frozen=True, slots=True)
class Measured:
    """The model beside the sensors of 2018."""

    fits: dict[str, Fit]
    """By way of reading the model (even, tapered), by depth and by spell of weather."""
    drawn_mm: dict[str, float]
    """Fall of the water of 0-60 cm over the dry weeks of July, by sensors and by each way of
    reading the model, and the rain of these weeks. [mm]"""
    series: dict[str, dict[date, float]]
    """Mean of 15 and 45 cm by day: sensors, even, tapered. [m3 m-3]"""
    limits: tuple[tuple[WetEnd, float, float], ...]
    """What sensors show when wet, and field capacity and saturation by texture. [m3 m-3]"""
    cores: Cores
    """Weighed cores of 0-45 cm, 10 May."""
    model_core: float
    """The model's water of 0-45 cm on that day. [m3 m-3]"""


def measure(
    days: list[TraceDay], layers: list[Layer] | None = None, profile_m: float = TABLE_M
) -> Measured:
    """Hold a trace's water at 15 and 45 cm against the sensors.

    Parameters
    ----------
    days
        A trace of the maize of 2018.
    layers
        The soil's layers; None for the measured ones.
    profile_m
        Depth over which the trace keeps its water. [m]
    """
    soil = layers or measured_layers()
    seen, traced = sensor_days(), {day.date: day for day in days}
    both = [day for day in sorted(seen) if day in traced and day >= PLANTED]
    sensed = {day: 0.5 * (seen[day][0] + seen[day][1]) for day in both}
    fits: dict[str, Fit] = {}
    series: dict[str, dict[date, float]] = {"sensors": sensed}
    for name, taken in (("even", even), ("tapered", tapered)):
        points = {day: model_points(traced[day].free, soil, profile_m, taken) for day in both}
        series[name] = {day: 0.5 * (upper + lower) for day, (upper, lower) in points.items()}
        fits[name] = fit([sensed[d] for d in both], [series[name][d] for d in both])
        for which, depth in enumerate(DEPTHS_CM):
            fits[f"{name} {depth} cm"] = fit(
                [seen[d][which] for d in both], [points[d][which] for d in both]
            )
        for title, first, last in SPELLS:
            spell = [d for d in both if first <= d <= last]
            fits[f"{name}, {title}"] = fit(
                [sensed[d] for d in spell], [series[name][d] for d in spell]
            )
    drawn = {
        name: DRAWN_MM * (line[DRYING[0]] - line[DRYING[1]])
        for name, line in series.items()
        if DRYING[0] in line and DRYING[1] in line
    }
    drawn["rain"] = sum(mm for day, mm in rain_by_day().items() if DRYING[0] < day <= DRYING[1])
    return Measured(
        fits=fits,
        drawn_mm=drawn,
        series=series,
        limits=tuple((wet_end(depth), *_by_texture(depth, soil)) for depth in DEPTHS_CM),
        cores=may_cores(),
        model_core=model_core(traced[CORED], soil, profile_m),
    )


def _by_texture(depth_cm: int, soil: list[Layer]) -> tuple[float, float]:
    """Field capacity and saturation of the layers that meet at a depth."""
    touching = [x for x in soil if x.top_cm <= depth_cm <= x.bottom_cm]
    return fmean(x.field_capacity for x in touching), fmean(x.saturation for x in touching)


def section(measured: Measured) -> str:
    """Return the page's part on soil water."""
    parts = (
        "## Soil water beside sensors, 2018",
        _opening(measured),
        "\n".join(_fits_table(measured)),
        _goal(measured),
        "\n".join(_spells_table(measured)),
        _drying(measured),
        _wet_ends(measured),
        _cores(measured),
        LIMITS,
        "Source: Marsden farm near Ames, Iowa, public R package maRsden (MIT licence).",
    )
    return "\n\n".join(parts) + "\n"


def _opening(measured: Measured) -> str:
    return (
        f"Eight maize plots had a sensor at 15 and at 45 cm ({measured.fits['even'].days} days). "
        "The model is read at both depths, from the field capacity of its soil downwards. It keeps "
        "one store in the root zone: *even* spreads what is lacking over it, as the model "
        "supposes; *tapered* lays it out as roots take it, 70 % from the upper half."
    )


def _fits_table(measured: Measured) -> list[str]:
    rows = [
        f"| {name} | {found.rmse:.3f} | {found.bias:+.3f} | {found.unbiased:.3f} "
        f"| {found.correlation:.2f} |"
        for name, found in ((name, measured.fits[name]) for name in READ)
    ]
    head = "| read | RMSE | model less sensors | RMSE without that | correlation |"
    return [head, "| --- | ---: | ---: | ---: | ---: |", *rows]


def _goal(measured: Measured) -> str:
    whole = measured.fits["even"]
    first = "under" if whole.rmse < GOAL else "not under"
    second = "under" if whole.unbiased < GOAL else "not under"
    return (
        f"All in m3/m3. Read even, the RMSE is {first} our goal of {GOAL:.2f}; with the mean "
        f"difference taken away it is {second} it."
    )


def _spells_table(measured: Measured) -> list[str]:
    rows = []
    for title, _, _ in SPELLS:
        flat, taper = measured.fits[f"even, {title}"], measured.fits[f"tapered, {title}"]
        rows.append(f"| {title} | {flat.bias:+.3f} | {taper.bias:+.3f} | {taper.unbiased:.3f} |")
    head = "| spell | even less sensors | tapered less sensors | tapered, RMSE without that |"
    return [head, "| --- | ---: | ---: | ---: |", *rows]


def _drying(measured: Measured) -> str:
    lost = measured.drawn_mm
    return (
        f"**How fast it dries.** From 9 to 31 July {lost['rain']:.0f} mm fell. The upper 60 cm "
        f"lost {lost['sensors']:.0f} mm by the sensors, {lost['even']:.0f} mm by the model read "
        f"even and {lost['tapered']:.0f} mm read tapered."
    )


def _wet_ends(measured: Measured) -> str:
    sentences = [
        f"At {end.depth_cm} cm the sensors stand at {end.after_rain:.2f} two to four days after "
        f"more than {WETTING_MM:.0f} mm, at {end.filled:.2f} where the month before brought more "
        f"than {FILLED_MM:.0f} mm, and at {end.plateau:.2f} in the wettest twentieth of days; the "
        f"texture says {full:.2f} at field capacity and {pores:.2f} full of water. Plots differ "
        f"by a standard deviation of {end.spread:.2f}."
        for end, full, pores in measured.limits
    ]
    return "**How wet it is when wet.** " + " ".join(sentences)


def _cores(measured: Measured) -> str:
    cores = measured.cores
    return (
        f"**Without sensors.** On 10 May, a week after 54 mm, {cores.cores} weighed cores of "
        f"0-45 cm held {cores.mean:.3f} m3/m3 ({cores.low:.3f} to {cores.high:.3f}, 95 %, over "
        f"{cores.plots} plots); the model has {measured.model_core:.3f}."
    )
