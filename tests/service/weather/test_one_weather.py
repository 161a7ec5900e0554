"""All stand-in services tell one invented weather: each late, off and unsettled in its own way."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from loopback.climate import ClimatePlay
from loopback.outlook import outlook
from loopback.sky import ARCHIVE, GRIDMET, POWER, PRELIM, REANALYSIS, SCALED, Sky, View

AMES = (42.0, -93.75)
NOW = datetime(2026, 7, 6, 9, 30, tzinfo=UTC)
START, END = date(2026, 4, 1), date(2026, 7, 10)
VOICES = (POWER, GRIDMET, PRELIM, SCALED, ARCHIVE, REANALYSIS)


def view(now=NOW, seed=7, fault=""):
    return View(Sky(ClimatePlay(), seed), now, fault)


@pytest.mark.parametrize("voice", VOICES, ids=lambda voice: voice.name)
def test_days_become_known_with_the_lag_of_each_service(voice):
    told = view().days(voice, *AMES, START, END)

    for name, values in told.items():
        last = date(2026, 7, 6) - timedelta(days=voice.late.get(name, voice.lag))
        known = np.flatnonzero(np.isfinite(values))
        assert START + timedelta(days=int(known[-1])) == last
        assert len(known) == known[-1] + 1


def test_what_is_told_does_not_depend_on_the_order_of_questions():
    one, other = view(), view()
    whole = one.days(GRIDMET, *AMES, START, END)
    other.days(POWER, *AMES, START, END)
    part = other.days(GRIDMET, *AMES, date(2026, 6, 1), date(2026, 6, 10))

    for name, values in part.items():
        assert np.array_equal(values, whole[name][61:71])
    different = view(seed=8).days(GRIDMET, *AMES, START, END)
    assert not np.array_equal(different["tmax_c"][:90], whole["tmax_c"][:90])


@pytest.mark.parametrize("voice", VOICES, ids=lambda voice: voice.name)
def test_the_services_agree_but_for_a_small_bias(voice):
    now = datetime(2028, 1, 1, tzinfo=UTC)
    told = view(now).days(voice, *AMES, START, END)
    true = ClimatePlay()(*AMES, START, END)

    assert abs((told["tmax_c"] - true["tmax_c"]).mean()) < 0.4
    assert 0.9 < told["rain_mm"].sum() / true["rain_mm"].sum() < 1.1
    assert ((told["rain_mm"] > 0) == (true["rain_mm"] > 0)).all()
    assert (told["tmax_c"] >= told["tmin_c"]).all()


def test_young_values_are_revised_less_each_time_and_then_never():
    days = date(2026, 5, 20), date(2026, 6, 10)
    told = [
        view(datetime(*when, 12, tzinfo=UTC)).days(GRIDMET, *AMES, *days)["tmax_c"]
        for when in ((2026, 6, 13), (2026, 7, 1), (2026, 9, 1), (2026, 12, 1))
    ]
    early, provisional, permanent, later = told

    assert np.array_equal(permanent, later)
    newest = slice(-2, None)
    assert np.abs(early - permanent)[newest].sum() > np.abs(provisional - permanent)[newest].sum()
    assert np.abs(provisional - permanent).mean() > 0.03


def test_small_cells_differ_a_little_and_always_in_the_same_way():
    lats, lons = np.array([42.025, 41.983]), np.array([-93.6, -93.558, -93.517])
    box = view().box(GRIDMET, lats, lons, date(2026, 6, 1), date(2026, 6, 30))
    again = view().box(GRIDMET, lats[1:], lons[:1], date(2026, 6, 1), date(2026, 6, 30))

    assert box["tmax_c"].shape == (30, 2, 3)
    assert np.allclose(box["tmax_c"][:, 1, 0], again["tmax_c"][:, 0, 0])
    assert 0 < np.ptp(box["tmax_c"], axis=(1, 2)).max() < 0.5
    assert ((box["rain_mm"] > 0).all((1, 2)) == (box["rain_mm"] > 0).any((1, 2))).all()


def test_a_forecast_is_the_future_worse_with_every_day_ahead():
    sky, true = View(Sky(ClimatePlay(), 7), NOW), ClimatePlay()
    heat, wet = np.zeros(10), np.zeros(10)
    for i in range(120):
        issued = date(2026, 4, 1) + timedelta(days=i)
        told = outlook(sky, 4, AMES, issued, 10)
        real = true(*AMES, issued, issued + timedelta(days=9))
        heat += np.abs(told["tmax_c"] - real["tmax_c"]) / 120
        wet += ((told["rain_mm"] > 0) == (real["rain_mm"] > 0)) / 120

    assert heat[0] < 0.8
    assert (np.diff(heat[::3]) > 0.3).all()
    assert wet[0] == pytest.approx(1)
    assert wet[9] < 0.85


def test_members_spread_around_the_control_and_are_the_same_when_asked_again():
    sky = view()
    runs = np.array(
        [outlook(sky, 6, AMES, NOW.date(), 10, member)["tmax_c"] for member in range(31)]
    )
    again = outlook(view(), 6, AMES, NOW.date(), 10, 17)["tmax_c"]

    assert np.array_equal(runs[17], again)
    assert runs[:, 8].std() > 1.5 * runs[:, 1].std()
    assert len(np.unique(runs[:, 5])) == 31
