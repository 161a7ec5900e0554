"""Moist springs free the roots and dry ones hold them: the pattern of the daily model, section 6.

Made-up weather; a behaviour of the equations, not evidence. Iowa's wet 1993 is real weather.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from rootbound_rules.risk.stress import NEVER, onset
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_numbers
from rules.season import plausible

IOWA = Path(__file__).parents[3].parent / "shared/data/iowa/weather_1980_2020.csv"
SEASONS = 20
WET, DRY = 0.45, 0.10
SPRING_DAYS = 145
"""From the first simulated day to about V10."""
CASES = [("wet", "wet"), ("wet", "dry"), ("dry", "wet"), ("dry", "dry")]
SHARE = {"wet": WET, "dry": DRY}
ALL_SEASON = 1000.0
"""Stands for held roots that run short where free roots never do. [d]"""


@cache
def _table():
    """Median over seasons of (days ahead, final reach, stress held, stress free) by class."""
    found = {}
    for spring, summer in CASES:
        for wall in (1, 2, 3):
            seasons = [_season(spring, summer, wall, seed) for seed in range(SEASONS)]
            found[spring, summer, wall] = np.median(np.array(seasons), axis=0)
    return found


def _season(spring, summer, wall, seed):
    """One made-up season of one wall class."""
    rng = np.random.default_rng([31, seed])
    first = plausible.weather(rng, wet_share=SHARE[spring])
    rain = first.rain_mm.copy()
    later = plausible.weather(np.random.default_rng([32, seed]), wet_share=SHARE[summer])
    rain[SPRING_DAYS:] = later.rain_mm[SPRING_DAYS:]
    season = plausible.plain_field(digs=(Dig(plausible.PLANTED, wall),))
    sky = DailyWeather(first.start, first.tmax_c, first.tmin_c, rain)
    days = run_trace(season, plausible.demand(sky))
    held, free = (
        onset(np.array([[getattr(day, name).stress] for day in days]), 2.0)[0]
        for name in ("held", "free")
    )
    ahead = 0.0 if held == NEVER else ALL_SEASON if free == NEVER else float(free - held)
    end = days[-1]
    return ahead, end.held.reach, end.held.stress_days, end.free.stress_days


def _printed(table):
    rows = ["spring summer class  ahead reach  held  free"]
    for (spring, summer, wall), (ahead, reach, held, free) in table.items():
        rows.append(
            f"{spring:6s} {summer:6s} {wall:5d} {ahead:6.0f} {reach:5.2f} {held:5.1f} {free:5.1f}"
        )
    return "\n".join(rows)


def test_a_moist_spring_lets_more_roots_through_than_a_dry_one():
    table = _table()
    print(_printed(table))
    for wall in (2, 3):
        for summer in ("wet", "dry"):
            assert table["wet", summer, wall][1] > table["dry", summer, wall][1] + 0.05, _printed(
                table
            )


def test_a_worse_wall_leaves_less_reach_in_every_kind_of_season():
    table = _table()
    for spring, summer in CASES:
        reaches = [table[spring, summer, wall][1] for wall in (1, 2, 3)]
        assert reaches[0] > reaches[1] > reaches[2], _printed(table)


def test_a_worse_wall_runs_short_no_later():
    table = _table()
    for spring, summer in CASES:
        ahead = [table[spring, summer, wall][0] for wall in (1, 2, 3)]
        assert ahead == sorted(ahead), _printed(table)
        assert ahead[0] >= 0.0


def test_dryness_after_planting_costs_a_smeared_field_more_than_a_moist_spring_does():
    table = _table()
    dry = table["dry", "dry", 2]
    wet = table["wet", "dry", 2]
    assert dry[2] - dry[3] > wet[2] - wet[3] or dry[0] > wet[0], _printed(table)


def test_a_wet_year_hides_a_smeared_wall():
    table = _table()
    for wall in (1, 2):
        assert table["wet", "wet", wall][0] <= 7.0, _printed(table)
    assert table["wet", "wet", 3][2] >= table["wet", "wet", 1][2]


@pytest.mark.skipif(not IOWA.is_file(), reason=f"the Iowa weather is not at {IOWA}")
def test_iowa_1993_was_too_wet_for_the_wall_to_show():
    lost = {wall: _iowa(1993, wall) for wall in (1, 2, 3)}
    told = {wall: tuple(round(x, 2) for x in pair) for wall, pair in lost.items()}
    for wall, limit in ((1, 0.5), (2, 0.5), (3, 2.0)):
        free, held = lost[wall]
        assert abs(held - free) <= limit, told


@pytest.mark.skipif(not IOWA.is_file(), reason=f"the Iowa weather is not at {IOWA}")
def test_iowa_1988_was_dry_enough_for_every_wall_to_show():
    lost = [_iowa(1988, wall)[1] for wall in (0, 2, 3)]
    assert lost[0] < lost[1] < lost[2]
    assert lost[0] > 10.0


def _iowa(year, wall):
    """Stress-day equivalents of a season in Iowa, free and held."""
    table = pd.read_csv(IOWA, parse_dates=["date"])
    table = table[table["date"].dt.year == year]
    planted = date(year, 5, 5)
    soil = soil_from_numbers(0.32, 0.15, clay_pct=26.0, organic_matter_pct=3.5)
    season = FieldSeason(
        42.0, 310.0, planted, soil, digs=(Dig(planted + timedelta(days=21), wall),)
    )
    sky = DailyWeather(
        start=date(year, 1, 1),
        tmax_c=table["maxt_c"].to_numpy(float),
        tmin_c=table["mint_c"].to_numpy(float),
        rain_mm=table["rain_mm"].to_numpy(float),
        solar_mj=table["radn_MJm2"].to_numpy(float),
    )
    end = run_trace(season, cell_demand(sky, 42.0, 310.0))[-1]
    return end.free.stress_days, end.held.stress_days
