"""What bulletins and papers say of maize and drought, held against our model and tables.

The source stands beside each check; where the published numbers disagree with ours or with
one another, the check says so instead of hiding it.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from outside.plain_seasons import DRY, MOIST, NONE, season
from rootbound_rules.risk.assess import assess
from rootbound_rules.risk.exposure import exposure, fao33_left, fao33_loss, loss_bands
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.outlook import look_out
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import DailyWeather, FieldSeason
from rootbound_rules.tables import load_table
from rootbound_rules.water.rootzone import depletion_fraction, stress
from rootbound_rules.water.soil import soil_from_texture
from rules.season import plausible

IOWA = Path(__file__).parents[2].parent / "shared/data/iowa/weather_1980_2020.csv"
NEEDS_IOWA = pytest.mark.skipif(not IOWA.is_file(), reason=f"the Iowa weather is not at {IOWA}")
MM_PER_INCH = 25.4


# --- the critical window: Nielsen 2005 (Purdue) and UGA: two weeks before silk to two or three
# weeks after; MSU (Kelley): a week before and three weeks after tassel ---


@pytest.fixture(scope="module")
def outlook():
    """A season to come under ten past years of plausible weather."""
    begin, end = date(2010, 1, 1), date(2020, 12, 31)
    sky = plausible.weather(np.random.default_rng(7), begin, (end - begin).days + 1, 0.25)
    field = FieldSeason(42.0, 300.0, date(2020, 5, 5), soil_from_texture("silt loam"))
    return look_out(field, plausible.demand(sky), date(2020, 6, 10), 5)


def test_the_critical_window_runs_from_two_weeks_before_silk_to_three_weeks_after(outlook):
    reached = outlook.gdd_f >= 1400.0  # NCH-40: silks at 1400 units of a 2700-unit hybrid
    assert reached.any(axis=0).all()
    silk = int(np.median(reached.argmax(axis=0)))
    last = outlook.gdd_f.shape[0]
    open_on = [d for d in range(last) if assess(outlook, outlook.date(d)).critical]
    assert open_on == list(range(open_on[0], open_on[-1] + 1)), "it opens once and closes once"
    assert open_on[0] - silk == pytest.approx(-14, abs=1)  # a table's 1400 is our 1401
    assert open_on[-1] - silk == pytest.approx(21, abs=1)


# --- sensitivity by stage ---

# Lauer 2003 (Wisconsin), from Rhoads & Bennett 1990 and Shaw 1988: loss, % per stress day.
LAUER = {
    "V12": (2.1, 3.0, 3.7), "V16": (2.5, 3.2, 4.0), "R1": (3.0, 6.8, 8.0), "R2": (3.0, 4.2, 6.0),
    "R3": (3.0, 4.2, 5.8), "R4": (3.0, 4.0, 5.0), "R5": (2.5, 3.0, 4.0), "R6": (0.0, 0.0, 0.0),
}  # fmt: skip
# Shaw 1988 as Nielsen 2005 (Purdue) gives it: % per day.
SHAW = {"VT": (2.0, 4.0), "R1": (3.0, 8.0), "R2": (3.0, 5.0)}
# Licht & Archontoulis 2017 (Iowa State), second-hand: % per day, from four days on.
LICHT = {
    "V14": (2.0, 5.0), "R1": (3.0, 9.0), "R2": (3.0, 9.0), "R3": (3.0, 6.0), "R4": (3.0, 5.0),
    "R5": (2.0, 4.0), "R6": (0.0, 0.0),
}  # fmt: skip
# Four days of visible wilting, % in all: Ohio State after Claassen & Shaw; dough: Foth, Table 5.2.
FOUR_DAYS = {"V13": (5.0, 10.0), "VT": (10.0, 25.0), "R4": (20.0, 30.0)}
AT_SILK = (40.0, 50.0)


def loss(stage, days=1.0):
    """Least, average and most of our table for some stress days at a stage. [%]"""
    told = exposure([(stage, days)])
    return told.low, told.middle, told.high


def test_a_stress_day_costs_what_the_published_table_says():
    assert {band: pytest.approx(loss(band)) for band in loss_bands()} == LAUER


def test_a_stress_day_costs_most_at_silk_then_less_before_and_after_and_nothing_at_black_layer():
    by_stage = {band: loss(band)[1] for band in loss_bands()}
    falling = sorted(by_stage, key=by_stage.__getitem__, reverse=True)
    assert falling[0] == "R1"
    assert set(falling[1:3]) == {"R2", "R3"}
    assert falling[3:5] == ["R4", "V16"]
    assert falling[-1] == "R6"
    assert by_stage["V12"] < by_stage["V16"] < by_stage["R1"]


@pytest.mark.parametrize(("table", "name"), [(SHAW, "Shaw"), (LICHT, "Licht")])
def test_two_other_tables_have_our_average_within_their_ranges(table, name):
    outside = {
        stage: loss(stage)
        for stage, (low, high) in table.items()
        if not low <= loss(stage)[1] <= high
    }
    assert outside == {}, name


@pytest.mark.parametrize("stage", FOUR_DAYS)
def test_four_days_of_wilting_cost_what_the_ranges_share(stage):
    low, _, high = loss(stage, 4.0)
    assert low <= FOUR_DAYS[stage][1]
    assert high >= FOUR_DAYS[stage][0]


def test_four_days_of_visible_wilting_at_silk_are_published_at_more_than_our_table_can_say():
    """The sources disagree: the range shown is no upper bound, and its caveat must stay."""
    _, _, most = loss("R1", 4.0)
    assert most == pytest.approx(32.0)
    assert most < AT_SILK[0]
    assert "not a forecast" in exposure([("R1", 4.0)]).caveat


def test_fao_33_of_a_published_worked_season():
    """A public library's docstring: ETc 60, 110, 120, 40 and ETa 57, 77, 102, 36 mm of maize."""
    parts = {
        "vegetative": (57.0, 60.0),
        "flowering": (77.0, 110.0),
        "yield_formation": (102.0, 120.0),
        "ripening": (36.0, 40.0),
    }
    ky = load_table("exposure")
    left = [1.0 - fao33_loss(ky.number(f"ky.{name}"), *both) for name, both in parts.items()]
    assert left == pytest.approx([0.980, 0.550, 0.925, 0.980], abs=5e-4)
    assert fao33_left(parts) == pytest.approx(0.489, abs=5e-4)
    season_ky = ky.number("ky.season")
    assert 1.0 - fao33_loss(season_ky, 272.0, 330.0) == pytest.approx(0.780, abs=5e-4)


def test_flowering_answers_most_to_a_shortage_by_fao_33():
    ky = {name.removeprefix("ky."): row.number for name, row in load_table("exposure").rows.items()
          if name.startswith("ky.")}  # fmt: skip
    del ky["season"]
    assert max(ky, key=ky.__getitem__) == "flowering"
    assert ky["flowering"] > ky["yield_formation"] > ky["vegetative"] > ky["ripening"]


# --- moist springs and dry ones: Kentucky 2011 ("Mudding in corn"): if soil stays moist roots can
# get through, if it dries they cannot; K-State eUpdate 639 says the same; Michigan State (Staton
# 2014): most detrimental when soil becomes dry after planting; Steinhardt (Indiana): larger in a
# dry year, masked in a wet one. Plain invented weather, the same field and dig. They say which way
# it goes; how far is ours, and less for a wall that is only firm ---


@cache
def year(spring, summer, wall=2):
    return season(spring, summer, wall)


@pytest.mark.parametrize(("wall", "less"), [(1, 0.15), (2, 0.2), (3, 0.2)])
def test_roots_get_through_in_a_moist_spring_and_are_locked_in_by_a_dry_one(wall, less):
    moist, dry = year(MOIST, DRY, wall).reach, year(DRY, DRY, wall).reach
    assert moist > 0.7
    assert dry < moist - less


@pytest.mark.parametrize(("wall", "sooner"), [(1, 1.5), (2, 5.0)])
def test_a_moist_spring_leaves_few_days_ahead_in_a_dry_summer(wall, sooner):
    """Free roots run short as well; the wall takes hardly anything from the held ones."""
    moist, dry = year(MOIST, DRY, wall), year(DRY, DRY, wall)
    assert moist.short[1] < float("inf"), "the summer is dry enough for free roots to run short"
    assert 0.0 <= moist.ahead <= 3.0
    assert dry.ahead >= moist.ahead + sooner


@pytest.mark.parametrize("wall", [2, 3])
def test_dryness_after_planting_brings_held_roots_down_in_a_summer_that_free_roots_pass(wall):
    dry_spring = year(DRY, MOIST, wall)
    held, free = dry_spring.short
    assert held < float("inf")
    assert free == float("inf")


@pytest.mark.parametrize("wall", [1, 2, 3])
def test_a_wet_year_hides_the_wall(wall):
    held, free = year(MOIST, MOIST, wall).stress
    assert (held, free) == pytest.approx((0.0, 0.0), abs=0.5)


def test_the_same_wall_costs_more_in_a_dry_year_than_in_a_wet_one():
    wet, dry = year(MOIST, MOIST).stress, year(DRY, DRY).stress
    assert dry[0] - dry[1] > wet[0] - wet[1] + 4.0


# --- young maize: Nafziger (Illinois): no lasting loss from moderate stress in V1-V10; Lee 2023
# (Kentucky): minimal before V12 if water comes then. Lauer's table is blank up to V12 ---


def test_no_lasting_loss_is_counted_before_v8_however_dry_it_is():
    days = year(NONE, NONE).days
    young = [day for day in days if day.stage in {f"V{n}" for n in range(1, 8)}]
    assert min(day.held.ks for day in young) < 0.9, "the roots are short"
    assert max(day.held.stress_days for day in young) == 0.0
    assert days[-1].held.stress_days > 5.0


def test_dry_days_before_v12_are_told_without_a_number_where_the_table_has_none():
    """Licht & Archontoulis give 1-3 % a day there, Nafziger none: neither is picked."""
    told = exposure([("V9", 2.0)])
    assert (told.high, told.unpriced) == (0.0, 2.0)


# --- half depletion: Michigan State (Kelley & Hall): leaves start rolling on a hot afternoon at
# about 50 % depletion of the available water ---


@pytest.mark.parametrize("use_mm", [5.5, 6.5, 7.5])
def test_on_a_hot_day_stress_begins_at_about_half_depletion(use_mm):
    p = depletion_fraction(load_table("maize").number("depletion_fraction"), use_mm)
    assert p == pytest.approx(0.50, abs=0.05)
    assert stress((p - 0.02) * 100.0, 100.0, p) == 1.0
    assert stress((p + 0.05) * 100.0, 100.0, p) < 1.0


# --- water use ---


def test_maize_uses_the_published_share_of_reference_et_around_tassel():
    """Michigan State (Kelley & Hall): 1.15 to 1.20 times grass reference ET in tassel week."""
    tassel = [day for day in year(MOIST, MOIST).days if day.stage in {"VT", "R1"}]
    ratio = np.mean(
        [(day.free.evaporation + day.free.transpiration) / day.et0_mm for day in tassel]
    )
    assert 1.14 <= ratio <= 1.20


@pytest.fixture(scope="module")
def late_use():
    """Water used and days by late stages, watered, in each Iowa season that ripened in its year."""
    table = pd.read_csv(IOWA, parse_dates=["date"])
    return [found for year in range(1990, 2011) if (found := _late_use(table, year)) is not None]


def _late_use(table, year):
    """One season: (mm from R4, days from R4, mm from R5, days of R5), None if it did not ripen."""
    days = table[table["date"].dt.year == year]
    given = np.zeros(len(days))
    given[150:280:4] = 25.0
    sky = DailyWeather(
        start=date(year, 1, 1),
        tmax_c=days["maxt_c"].to_numpy(float),
        tmin_c=days["mint_c"].to_numpy(float),
        rain_mm=days["rain_mm"].to_numpy(float),
        solar_mj=days["radn_MJm2"].to_numpy(float),
        irrigation_mm=given,
    )
    field = FieldSeason(42.0, 310.0, date(year, 5, 5), soil_from_texture("silt loam"))
    trace = run_trace(field, cell_demand(sky, 42.0, 310.0))
    if trace[-1].stage != "R6":
        return None
    used = {
        stage: [d.free.evaporation + d.free.transpiration for d in trace if d.stage == stage]
        for stage in ("R4", "R5")
    }
    dough, dent = used["R4"], used["R5"]
    return sum(dough) + sum(dent), len(dough) + len(dent), sum(dent), len(dent)


@NEEDS_IOWA
def test_from_dough_to_black_layer_maize_uses_about_the_published_water(late_use, record_property):
    """NebGuide G1871: 7.5 in from dough, 5 in from beginning dent. Ours: 192 and 127 mm."""
    from_dough, _, from_dent, _ = np.median(np.array(late_use), axis=0)
    record_property("mm_from_dough", float(from_dough))
    record_property("mm_from_dent", float(from_dent))
    assert len(late_use) >= 15
    assert from_dough == pytest.approx(7.5 * MM_PER_INCH, rel=0.10)
    assert from_dent == pytest.approx(5.0 * MM_PER_INCH, rel=0.10)


@NEEDS_IOWA
def test_dent_lasts_as_long_as_published(late_use):
    """Purdue 2021, after Abendroth and Brown: R5 lasts 30 to 33 days. Ours: 32."""
    assert 30 <= np.median([row[3] for row in late_use]) <= 33


@NEEDS_IOWA
def test_from_dough_to_black_layer_takes_some_days_longer_with_us_than_published(late_use):
    """Ours: 44 days. G1871 has 34; days after silking in the bulletins make it 27 to 41.

    The sum of water agrees, the days do not: known, and left as it is (stages go by heat here;
    Wisconsin says that kernel stages go more by days since silk).
    """
    days = np.median([row[1] for row in late_use])
    assert 41 < days <= 47


def test_the_season_that_was_held_against_the_bulletins_is_a_whole_one():
    days = year(MOIST, MOIST).days
    assert days[-1].stage == "R6"
    assert days[0].date + timedelta(days=len(days) - 1) == days[-1].date
