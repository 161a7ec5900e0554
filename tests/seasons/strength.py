"""Does soil harden on drying as the model says? Cone readings and three published laws."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from rootbound_rules.crop.wall import relative_strength, top_layer_water
from rootbound_rules.season.draw import steepest_drying
from rootbound_rules.season.plan import make_plan
from rootbound_rules.season.trace import trace_season
from rootbound_rules.season.values import FieldSeason
from seasons.cone import SENSOR_ERROR, Readings, read_cone
from seasons.drying_laws import TEXTURES, YEARS, Effect, Exponents, effects, exponents
from seasons.sensor_days import iowa_weather
from seasons.sensors import ELEVATION_M, LAT, measured_soil

PLANTED = {2018: date(2018, 5, 8), 2019: date(2019, 6, 3), 2020: date(2020, 4, 23)}
TRIED = "clay loam"


@dataclass(frozen=True, slots=True)
class Wall:
    """The model's wall on the day of a reading."""

    date: date
    kpa_shallow: float
    strength: float
    """Over that at field capacity. [-]"""


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings, laws, and what their spread does."""

    cone: Readings
    laws: tuple[Exponents, ...]
    effects: tuple[Effect, ...]
    walls: tuple[Wall, ...]


def measure(years: Iterable[int] = YEARS) -> Measured:
    """Return everything the section tells.

    Parameters
    ----------
    years
        Seasons on which the laws are tried.
    """
    cone = read_cone()
    return Measured(
        cone=cone,
        laws=tuple(exponents(texture) for texture in TEXTURES),
        effects=tuple(effects(TRIED, years)),
        walls=tuple(_wall(date.fromisoformat(day.date), 1000.0 * day.mean) for day in cone.shallow),
    )


def section(measured: Measured) -> str:
    """Return the page's part on strength."""
    parts = (
        "## How soil hardens as it dries",
        OPENING,
        "\n".join(_days(measured)),
        _level(measured.cone),
        _slopes(measured.cone),
        _change(measured.cone),
        WALLS,
        "\n".join(_walls_table(measured)),
        TILLAGE,
        LAWS,
        "\n".join(_laws_table(measured)),
        EFFECTS,
        "\n".join(_effects_table(measured)),
        VERDICT,
        SOURCES,
    )
    return "\n\n".join(parts) + "\n"


def _wall(day: date, kpa: float) -> Wall:
    """The model's wall in the measured soil on one day."""
    season = FieldSeason(LAT, ELEVATION_M, PLANTED[day.year], measured_soil())
    plan = make_plan(season)
    last = trace_season(season, iowa_weather(date(day.year, 1, 1), day))[-1]
    water, drying = top_layer_water(last.top_depletion_mm, plan.tew), steepest_drying(season.soil)
    return Wall(day, kpa, relative_strength(water, plan.wilting_share, drying))


def _days(measured: Measured) -> list[str]:
    rows = [
        f"| {day.date} | {day.plots} | {day.probes} "
        f"| {day.mean:.2f} ({day.low:.2f}-{day.high:.2f}) | {shallow.mean:.2f} |"
        for day, shallow in zip(measured.cone.days, measured.cone.shallow, strict=True)
    ]
    head = "| date | plots | pushes | 10-20 cm, MPa (95 %) | 5-10 cm, MPa |"
    return [head, "| --- | ---: | ---: | ---: | ---: |", *rows]


def _level(cone: Readings) -> str:
    law = [of_law for of_law, _ in cone.law.values()]
    read = [of_cone for _, of_cone in cone.law.values()]
    return (
        "**Level.** With each plot's own clay, carbon, density and weighed water of 10 May the "
        f"whole equation gives {sum(law) / len(law):.2f} MPa at 10-20 cm; the cone read "
        f"{sum(read) / len(read):.2f}. The model uses the equation's exponent only: how hard a "
        "wall is at field capacity comes from its class."
    )


def _slopes(cone: Readings) -> str:
    told = "; ".join(
        f"{where} {found.slope:+.2f} ({found.low:+.2f} to {found.high:+.2f})"
        for where, found in cone.slopes.items()
    )
    cores = next(iter(cone.slopes.values())).cores
    return (
        f"**Slope between cores of one day.** The law's exponent here is {cone.exponent:.2f}. Over "
        f"the {cores} cores of 10 May the slope of ln resistance on ln water is, with 95 % limits: "
        f"{told}. Cores of one day differ little in water and much in all else, which flattens any "
        "such slope; still nothing in them is as steep as the law."
    )


def _change(cone: Readings) -> str:
    whole = cone.change["both"]
    parts = " and ".join(
        f"{found.ratio:.2f} ({found.low:.2f}-{found.high:.2f}) {name}"
        for name, found in cone.change.items()
        if found is not whole
    )
    said = [
        ((cone.july_water + error) / cone.may_water) ** cone.exponent
        for error in (SENSOR_ERROR, 0.0, -SENSOR_ERROR)
    ]
    flattest = math.log(whole.low) / math.log((cone.july_water - SENSOR_ERROR) / cone.may_water)
    return (
        f"**Change from 10 May to 16 July.** Resistance rose to {whole.ratio:.2f} times "
        f"({whole.low:.2f}-{whole.high:.2f}) of what it was: {parts}. Water went from "
        f"{cone.may_water:.3f} (weighed) to {cone.july_water:.3f} m3/m3 (sensors at 15 cm), from "
        f"which the law makes {said[1]:.2f}, and anything from {said[0]:.2f} to {said[2]:.2f} if "
        f"the sensors are wrong by {SENSOR_ERROR}. Every exponent steeper than about "
        f"{flattest:.1f} agrees with that. The rotations had the same weather and hardened "
        "differently: settling after tillage is in these numbers too."
    )


def _walls_table(measured: Measured) -> list[str]:
    rows = [
        f"| {wall.date} | {0.001 * wall.kpa_shallow:.2f} | {wall.strength:.1f} |"
        for wall in measured.walls
    ]
    return ["| date | read, MPa | model, times |", "| --- | ---: | ---: |", *rows]


def _laws_table(measured: Measured) -> list[str]:
    rows = [
        f"| {law.texture} | {law.dasilva_kay:.1f} | {law.whalley:.1f} | {law.silva:.1f} "
        f"| {law.rise(law.dasilva_kay):.1f} | {law.own_share**law.dasilva_kay:.1f} "
        f"| {law.rise(law.whalley):.1f} | {law.rise(law.silva):.1f} |"
        for law in measured.laws
    ]
    head = (
        "| texture | da Silva & Kay 1997 | Whalley 2007 | Silva 2008 | rise, as in the model "
        "| with its own retention | Whalley | Silva |"
    )
    return [head, "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |", *rows]


def _effects_table(measured: Measured) -> list[str]:
    rows = [
        f"| {found.factor:.1f} | {found.wall_class} | {found.crossed:.0%} | {found.extra:.1f} |"
        for found in measured.effects
    ]
    head = "| exponent times | wall class | through | stress days beyond free roots |"
    return [head, "| ---: | ---: | ---: | ---: |", *rows]


OPENING = (
    "A wall holds roots because it hardens as it dries. The model lets strength rise as water to "
    "the power *c* of da Silva & Kay 1997. A cone was pushed into eight maize plots on four days:"
)
WALLS = (
    "**The wall's own water.** The model takes the wall's water from the top 10 cm. Beside the "
    "readings at 5-10 cm stands its strength, as a multiple of that at field capacity:"
)
TILLAGE = (
    "The two days with the softest soil are those just after tillage and planting (8 May 2018, "
    "3 June 2019); loosening and settling show more than the modelled water does."
)
EFFECTS = (
    f"**What the spread does** ({TRIED}, drains at 1.2 m, Iowa weather, every second season "
    "1981-2019, dug on 28 May). Share of the axes that got through the wall, and stress-day "
    "equivalents beyond those of free roots:"
)
LAWS = (
    "**Other laws.** Two further published equations give an exponent for the same soils. Rise is "
    "strength at the wilting point over strength at field capacity. The model pairs da Silva & "
    "Kay's exponent with another retention curve (Saxton & Rawls 2006); with the curve they "
    "fitted themselves the rise is smaller on fine soil."
)
VERDICT = (
    "**What can be said.** These readings cannot fix the exponent: the one day with weighed water "
    "is one day, and tillage and settling move resistance as much as water does. Between the "
    "published laws the exponent on loam to silty clay loam lies between half and once that of "
    "da Silva & Kay, with a middle near 0.7 of it; on sandy loam they agree. That spread changes "
    "the extra stress of held roots several times over: an outlook has to draw it."
)
SOURCES = (
    "Sources: cone, cores and sensors from the Marsden farm near Ames, Iowa, public R package "
    "maRsden (MIT licence); da Silva & Kay 1997, Soil Sci. Soc. Am. J. 61:877-883, and Silva, "
    "Tormena, Fidalski & Imhoff 2008, Rev. Bras. Cienc. Solo 32:1-10, both read in a library that "
    "cites them; Whalley et al. 2007, Soil Till. Res. 94:412-419, second-hand."
)
