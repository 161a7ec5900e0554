"""Plain scores of invented seasons, by hand and against scipy's own fit."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.special import comb, gamma
from scipy.stats import norm

from rootbound_rules.risk.exposure import exposure
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.draw import central_draw
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.baselines import (
    bucket,
    days_between,
    dry_july,
    dry_season,
    rain_of,
    spei_3,
    usual_year,
    weighted_stress,
    whole_years,
)

LAT, ELEVATION_M = 42.0, 300.0
FIELD = FieldSeason(LAT, ELEVATION_M, date(2000, 5, 5), soil_from_texture("loam"))


def weather(first=2000, years=2, summer_rain=6.0, seed=3):
    start = date(first, 1, 1)
    n = (date(first + years, 1, 1) - start).days
    days = [start + timedelta(days=i) for i in range(n)]
    rng = np.random.default_rng(seed)
    mean = 9.0 + 15.0 * np.cos([2.0 * np.pi * (d.timetuple().tm_yday - 201) / 365.25 for d in days])
    summer = np.array([6 <= d.month <= 8 for d in days])
    amount = rng.exponential(np.where(summer, summer_rain, 8.0)) + 0.5 * summer_rain * summer
    rain = np.where(np.arange(n) % 4 == 0, amount, 0.0)
    return DailyWeather(start, mean + 6.0, mean - 6.0, rain)


def test_whole_years_are_those_with_every_day():
    days = weather(2000, 3)
    assert whole_years(days) == (2000, 2001, 2002)
    assert whole_years(days_between(days, date(2000, 1, 2), date(2002, 12, 30))) == (2001,)


def test_rain_is_summed_over_the_months_and_turned_round():
    start = date(2001, 1, 1)
    ones = DailyWeather(start, *np.ones((2, 730)), np.arange(730.0))
    july = sum(range(181, 212))
    assert rain_of(ones, (2001,), (7, 7)) == pytest.approx([july])
    assert dry_july(ones, (2001,)) == pytest.approx([-july])
    assert dry_season(ones, (2002,)) == pytest.approx([-sum(range(365 + 120, 365 + 243))])
    assert rain_of(ones, (2001,), (1, 12)) == pytest.approx([sum(range(365))])


def test_missing_rain_leaves_the_year_unknown_and_missing_days_are_refused():
    days = weather(2000, 2)
    days.rain_mm[days.rain_mm.size - 160] = np.nan  # in July of 2001
    assert np.isnan(dry_july(days, (2000, 2001))).tolist() == [False, True]
    with pytest.raises(RefusedInput, match="give every day from 2002-07-01 to 2002-07-31"):
        dry_july(days, (2002,))


def test_the_guess_of_a_usual_year_is_the_mean_of_the_others_and_runs_against_what_came():
    anomaly = np.array([-0.3, 0.1, 0.2, 0.4])
    found = usual_year(anomaly)
    assert found[0] == pytest.approx(np.mean([0.1, 0.2, 0.4]))
    assert np.corrcoef(found, anomaly)[0, 1] == pytest.approx(-1.0)


def by_published_moments(balance):
    """SPEI as its authors work it out: log-logistic by unbiased probability-weighted moments.

    Vicente-Serrano, Begueria & Lopez-Moreno 2010. J. Climate 23:1696-1718; the unbiased moments
    are those of Begueria and others 2014. Int. J. Climatol. 34:3001-3023.
    """
    ordered, n = np.sort(balance), len(balance)
    left = n - np.arange(1, n + 1)
    w0, w1, w2 = (np.mean(comb(left, s) / comb(n - 1, s) * ordered) for s in range(3))
    beta = (2 * w1 - w0) / (6 * w1 - w0 - 6 * w2)
    both = gamma(1 + 1 / beta) * gamma(1 - 1 / beta)
    alpha = (w0 - 2 * w1) * beta / both
    origin = w0 - alpha * both
    return norm.ppf(1.0 / (1.0 + (alpha / (np.asarray(balance) - origin)) ** beta))


def test_the_spei_is_its_authors_own_over_june_to_august():
    days = weather(1980, 35)
    years = whole_years(days)
    demand = cell_demand(days, LAT, ELEVATION_M)
    balance = []
    for year in years:
        at = slice(demand.index(date(year, 6, 1)), demand.index(date(year, 9, 1)))
        balance.append(float((demand.rain_mm - demand.et0_mm)[at].sum()))
    found = spei_3(days, years, LAT, ELEVATION_M)
    # the library fits by likelihood, its authors by moments: alike but for the fit
    apart = np.abs(found + by_published_moments(balance))
    assert np.median(apart) < 0.03
    assert apart.max() < 0.15
    assert np.argsort(found).tolist() == np.argsort(-np.array(balance)).tolist()
    assert spei_3(days, years[3:5], LAT, ELEVATION_M) == pytest.approx(found[3:5])


def test_an_index_that_does_not_fit_is_refused(monkeypatch):
    monkeypatch.setattr("scipy.stats.fisk.fit", lambda *_, **__: (0.3, -800.0, 1.5))
    with pytest.raises(RefusedInput, match="not 0 and 1"):
        spei_3(weather(1980, 30), (1985,), LAT, ELEVATION_M)


def test_without_its_library_or_with_few_years_the_spei_says_so(monkeypatch):
    with pytest.raises(RefusedInput, match="2 whole years of weather; give 30 or more"):
        spei_3(weather(), (2000,), LAT, ELEVATION_M)
    monkeypatch.setitem(sys.modules, "spei", None)
    with pytest.raises(RefusedInput, match="needs the library spei; install it"):
        spei_3(weather(), (2000,), LAT, ELEVATION_M)


def test_the_bucket_has_more_stress_in_a_dry_summer_and_none_in_a_wet_one():
    planted = {2000: date(2000, 5, 5), 2001: date(2001, 5, 5)}
    dry = bucket(FIELD, weather(summer_rain=2.0), planted)
    wet = bucket(FIELD, weather(summer_rain=25.0), planted)
    assert list(dry) == [2000, 2001]
    assert all(dry[year] > 50.0 for year in planted)
    assert all(wet[year] < 0.1 * dry[year] for year in planted)


def test_the_bucket_knows_no_dig_and_no_water_table():
    planted = {2000: date(2000, 5, 5)}
    days = weather(summer_rain=3.0)
    soil = replace(FIELD.soil, water_table_m=1.0)
    dug = replace(FIELD, soil=soil, digs=(Dig(date(2000, 6, 1), 3),))
    assert bucket(dug, days, planted) == bucket(FIELD, days, planted)


def test_the_bucket_keeps_the_published_coefficient_whatever_the_rules_use():
    # FAO-56 Table 17: Kcb mid of field maize 1.15
    planted, days = date(2000, 5, 5), weather(summer_rain=6.0)
    found = bucket(FIELD, days, {2000: planted})[2000]
    demand = cell_demand(days_between(days, days.start, date(2000, 12, 31)), LAT, ELEVATION_M)
    by_coefficient = {
        kcb: weighted_stress(
            run_trace(FIELD, demand, replace(central_draw(FIELD.soil), kcb_mid=kcb))
        )
        for kcb in (1.0, 1.15)
    }
    assert found == pytest.approx(by_coefficient[1.15])
    assert by_coefficient[1.0] < found


def test_a_season_weighs_the_same_whatever_else_the_weather_covers():
    days = weather(2000, 3, summer_rain=3.0)
    planted = {2001: date(2001, 5, 5)}
    cut = days_between(days, date(2001, 1, 1), date(2001, 12, 31))
    assert bucket(FIELD, days, planted)[2001] == pytest.approx(bucket(FIELD, cut, planted)[2001])


def test_weighted_stress_is_the_middle_of_the_published_exposure_where_that_is_under_100():
    days = weather(summer_rain=12.0)
    season = replace(FIELD, digs=(Dig(date(2000, 5, 30), 2),))
    trace = run_trace(season, cell_demand(days, LAT, ELEVATION_M))
    for held in (False, True):
        twins = [(day.stage, (day.held if held else day.free).stress) for day in trace]
        published = exposure([(stage, part) for stage, part in twins if part > 0.0])
        expected = published.middle if published else 0.0
        assert expected < 100.0
        assert weighted_stress(trace, held=held) == pytest.approx(expected)
    assert weighted_stress(trace, held=True) > weighted_stress(trace) > 0.0
