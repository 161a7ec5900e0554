"""What the plain ways tell of the yields of Boone County, Iowa, 1987-2004.

Yields are those of a county, the weather is that of one place in the next county, and every
season is taken as planted on 5 May on loam: nothing here was fitted to the yields.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from rootbound_rules.season.values import DailyWeather, FieldSeason
from rootbound_rules.water.soil import soil_from_texture
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.baselines import (
    SEASON_MONTHS,
    bucket,
    dry_july,
    dry_season,
    rain_of,
    spei_3,
    usual_year,
)
from rootbound_service.replay.detrend import anomalies, fit_trend, left_out_anomalies
from rootbound_service.replay.skill import Range, Skill, gain, measure_skill
from rootbound_service.replay.yields import Yields, read_yields

IOWA = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "iowa"
YIELDS = IOWA / "county_yield_1987_2004.csv"
WEATHER = IOWA / "weather_1980_2020.csv"
LAT, ELEVATION_M = 42.02, 315.0
PLANTED = (5, 5)
TEXTURE = "loam"
WET_MM = 600.0
"""May-August rain above which yields were lost for other reasons than drought. [mm]"""
SEED = 1987
OPENING = """\
## What plain ways tell

Maize yields of Boone County, Iowa, {first}-{last} (USDA NASS), against what anybody could have
known without a dig. A yield counts as its distance from the Theil-Sen trend ({slope:+.1f} bu/ac a
year). A score is higher where stress was worse, so that a good one has a correlation near -1; in
brackets stands the 95 % interval over draws of years. Seasons with more than {limit:.0f} mm of rain
from May to August ({wet}) lost or won yield for other reasons than drought, and
are left out of the other columns."""
NOTHING = "says nothing | "
USUAL_ROW = f"| a usual year (mean of the others) | {4 * NOTHING}0 |"
NOTES = """\
- **Left-out skill**: each season is predicted from a line through the other seasons, against a
  trend that does not know it. 1 is perfect, 0 no better than a usual year, below 0 worse.
- **A usual year** has a correlation of {usual:.0f} with what came, whatever came: the mean of the
  others falls as the year itself rises. It is the mark to beat, not a competitor.
- **SPEI** is the climate index of Vicente-Serrano and others 2010, rain minus reference
  evapotranspiration, fitted to all years of weather by the public library `spei`, sign turned.
- **Plain bucket** is FAO-56 as published on {texture}, planted on 5 May, roots free, no water
  table: stress-day equivalents times the published mean loss per stress day.
- **Without {worst}**: one year far from all others can make a correlation, so it is taken away.
- Intervals of so few seasons hold the truth about 92 times in 100, not 95.
- Weather: Marsden farm near Ames, Iowa (R package maRsden), 1980-2020, one place for a county,
  without humidity and wind."""
Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Baseline:
    """One plain way and what it is worth."""

    name: str
    score: Values | None
    """One a year, higher is worse; None where it could not be computed."""
    whole: Skill
    """All seasons."""
    not_wet: Skill
    """Seasons under 600 mm."""
    not_worst: Skill
    """The same without the worst of them, which alone could make a correlation."""
    left_out: float | None
    """Skill of predicting a season under 600 mm by the others, trend included. [-]"""
    why_not: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """All plain ways on the same seasons."""

    years: tuple[int, ...]
    slope: float
    """Of the trend. [bu/ac a year]"""
    share: Values
    """Anomaly of each year as a share of the trend through all. [-]"""
    rain_mm: Values
    """May to August. [mm]"""
    usual: float
    """Correlation of the mean of the other years with what came. [-]"""
    baselines: tuple[Baseline, ...]

    @property
    def worst(self) -> int:
        """Year of the poorest yield among the seasons under 600 mm."""
        return self.years[int(np.argmin(np.where(self.not_wet, self.share, np.inf)))]

    @property
    def not_wet(self) -> NDArray[np.bool_]:
        """Seasons under 600 mm."""
        return self.rain_mm < WET_MM


def read_weather(path: Path = WEATHER) -> DailyWeather:
    """The daily weather of the Marsden farm, 1980-2020."""
    with path.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))

    def column(name: str) -> Values:
        return np.array([float(row[name]) for row in rows])

    series = (column("maxt_c"), column("mint_c"), column("rain_mm"), column("radn_MJm2"))
    return DailyWeather(date.fromisoformat(rows[0]["date"]), *series)


def measure(yields: Yields | None = None, weather: DailyWeather | None = None) -> Measured:
    """Score every season by every plain way, and compare with its yield.

    Parameters
    ----------
    yields, weather
        None for those of Boone County and the Marsden farm.
    """
    yields = read_yields(YIELDS) if yields is None else yields
    weather = read_weather() if weather is None else weather
    years = tuple(yields.by_year)
    at, bushels = np.array(years), np.array(list(yields.by_year.values()))
    share = anomalies(at, bushels).share
    rain = rain_of(weather, years, SEASON_MONTHS)
    field = FieldSeason(LAT, ELEVATION_M, date(years[0], *PLANTED), soil_from_texture(TEXTURE))
    planted = {year: date(year, *PLANTED) for year in years}
    ways = {
        "July rain": lambda: dry_july(weather, years),
        "May-August rain": lambda: dry_season(weather, years),
        "SPEI of June-August": lambda: spei_3(weather, years, LAT, ELEVATION_M),
        "plain bucket": lambda: np.array(list(bucket(field, weather, planted).values())),
    }
    usual = float(np.corrcoef(usual_year(share), share)[0, 1])
    rng = np.random.default_rng(SEED)
    honest = left_out_anomalies(at, bushels).share
    found = tuple(_baseline(*way, share, honest, rain < WET_MM, rng) for way in ways.items())
    return Measured(years, fit_trend(at, bushels).slope, share, rain, usual, found)


def _baseline(name, way, share, honest, not_wet, rng: Generator) -> Baseline:
    """One way; what it lacks is kept beside its name."""
    try:
        score = way()
    except RefusedInput as refused:
        return Baseline(name, None, Skill(0), Skill(0), Skill(0), None, str(refused))
    return Baseline(
        name,
        score,
        measure_skill(score, share, rng),
        measure_skill(score, share, rng, not_wet),
        measure_skill(score, share, rng, not_wet & (share > share[not_wet].min())),
        measure_skill(score, honest, rng, not_wet).left_out,
    )


def gains(measured: Measured, score: Values) -> dict[str, Range | None]:
    """By how much a score's correlation is better than each plain way's, seasons under 600 mm.

    Parameters
    ----------
    measured
        From :func:`measure`.
    score
        One for each of its years, higher is worse.
    """
    dry, rng = measured.not_wet, np.random.default_rng(SEED)
    return {
        way.name: gain(score[dry], way.score[dry], measured.share[dry], rng)
        for way in measured.baselines
        if way.score is not None
    }


def section(measured: Measured) -> str:
    """The page's section."""
    wet = [year for year, dry in zip(measured.years, measured.not_wet, strict=True) if not dry]
    dry, limit = int(measured.not_wet.sum()), f"under {WET_MM:.0f} mm"
    heads = (
        "way",
        f"correlation, all {len(measured.years)} seasons",
        f"correlation, {dry} seasons {limit}",
        f"the same without {measured.worst}",
        f"rank correlation, the same {dry}",
        "left-out skill",
    )
    opening = OPENING.format(
        first=measured.years[0],
        last=measured.years[-1],
        slope=measured.slope,
        wet=", ".join(map(str, wet)) or "none here",
        limit=WET_MM,
    )
    table = [f"| {' | '.join(heads)} |", "| --- " * len(heads) + "|", USUAL_ROW]
    table += [_row(way) for way in measured.baselines]
    notes = NOTES.format(worst=measured.worst, usual=measured.usual, texture=TEXTURE)
    return "\n\n".join((opening, "\n".join(table), _verdict(measured), notes)) + "\n"


def _row(way: Baseline) -> str:
    """One line of the table."""
    if way.score is None:
        return f"| {way.name} | not computed: {way.why_not} | | | | |"
    skills = (way.whole, way.not_wet, way.not_worst)
    parts = (*(skill.pearson for skill in skills), way.not_wet.spearman)
    left = "too few to say" if way.left_out is None else f"{way.left_out:+.2f}"
    return f"| {way.name} | {' | '.join(_said(part) for part in parts)} | {left} |"


def _said(found: Range | None) -> str:
    """A figure with its interval."""
    if found is None:
        return "too few to say"
    return f"{found.value:+.2f} ({found.low:+.2f} to {found.high:+.2f})"


def _verdict(measured: Measured) -> str:
    """What the table comes to, by the figures as they stand in it."""
    told = [way for way in measured.baselines if way.not_wet.pearson is not None]
    sure = [way.name for way in told if round(way.not_wet.pearson.high, 2) < 0.0]
    better = [
        f"{way.name} by {way.left_out:.0%}" for way in told if round(way.left_out or 0.0, 2) > 0.0
    ]
    return (
        f"Ways whose interval stays below zero: {_listed(sure)}. Ways that predict a season they "
        f"do not know better than a usual year would (share of its squared error that is saved): "
        f"{_listed(better)}."
    )


def _listed(names: list[str]) -> str:
    """Names in a sentence."""
    return ", ".join(names) if names else "none"
