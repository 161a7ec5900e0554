"""From forecasts kept of a place to the days an outlook begins with."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.values import DailyWeather
from rootbound_rules.tables import load_table
from rootbound_service.nights.coming import MOST_GAP, coming_days, last_moment, split_rain
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.day import PARTIAL, RAIN_CHANCE, Forecast
from rootbound_service.weather.places import Place
from service.weather.feed_rig import FINE

NIGHT = date(2026, 7, 6)
MOMENT = datetime(2026, 7, 6, 9, 30, tzinfo=UTC)
PLACE, HEIGHT = Place(FINE.cell(177, 747)), 300.0
LIMITS = (50.0, 86.0)
ROWS = load_table("outlook")
TRACES = int(ROWS.number("forecast.traces"))
SINGLE, ENSEMBLE = (int(ROWS.number(f"forecast.{one}_days")) for one in ("single", "ensemble"))
AIR = {"tmax_c": 31.0, "tmin_c": 18.0, "solar_mj": 24.0, "dewpoint_c": 16.0, "wind_m_s": 2.5}


def issue(day=NIGHT, hour=6, days=10, members=1, rain=4.0, chance=0.5, source="nws"):
    """A forecast issued on a day, from that day on, all of its days whole and alike."""
    names = (*QUANTITY_NAMES, *(() if chance is None else (RAIN_CHANCE,)))
    told = AIR | {"rain_mm": rain, RAIN_CHANCE: chance}
    values = np.array([np.full((members, days), told[name], float) for name in names])
    issued = datetime(day.year, day.month, day.day, hour, tzinfo=UTC)
    return Forecast(
        source, 42.0, -93.6, issued, issued, day, names, values,
        np.zeros((len(names), days), np.uint8),
    )  # fmt: skip


def changed(one, name, column, value):
    values = one.values.copy()
    values[one.quantities.index(name), :, column] = value
    return replace(one, values=values)


def partial(one, column):
    made = one.made.copy()
    made[:, column] |= PARTIAL
    return replace(one, made=made)


def look(issues, known=NIGHT - timedelta(days=1), limits=(LIMITS,), moment=MOMENT):
    return coming_days(issues, PLACE, HEIGHT, known, NIGHT, moment, limits)


def test_a_fresh_forecast_begins_on_the_night_and_is_believed_for_its_days():
    found = look([issue()])
    assert found is not None
    days = found.days[LIMITS]
    assert (days.start, days.days, days.traces) == (NIGHT, SINGLE, TRACES)
    assert (found.source, found.issued, found.through) == ("nws", NIGHT, days.end)


def test_an_ensemble_is_believed_for_longer_and_each_member_is_a_trace():
    many = issue(days=15, members=TRACES, chance=None)
    many.values[many.quantities.index("rain_mm")] = np.arange(TRACES)[:, None]
    found = look([many])
    assert found is not None
    days = found.days[LIMITS]
    assert days.days == ENSEMBLE
    assert np.array_equal(days.rain_mm[:, 0], np.arange(TRACES))


def test_members_fewer_than_the_traces_come_round_again():
    many = issue(members=3, chance=None)
    many.values[many.quantities.index("rain_mm")] = np.arange(3)[:, None]
    found = look([many])
    assert found is not None
    assert np.array_equal(found.days[LIMITS].rain_mm[:, 0], np.arange(TRACES) % 3)


def test_members_that_differ_in_the_air_differ_in_demand_and_heat():
    many = issue(members=2, chance=None)
    many.values[many.quantities.index("tmax_c"), 0] -= 6.0
    found = look([many])
    assert found is not None
    days = found.days[LIMITS]
    assert (days.et0_mm[1] > days.et0_mm[0]).all()
    assert (days.gdd_f[1] > days.gdd_f[0]).all()
    assert np.array_equal(days.et0_mm[0], days.et0_mm[2])


def test_demand_and_heat_are_those_of_measured_days_with_the_same_weather():
    found = look([issue()], limits=(LIMITS, (45.0, 90.0)))
    assert found is not None
    sky = DailyWeather(
        NIGHT, rain_mm=np.full(SINGLE, 4.0), **{k: np.full(SINGLE, v) for k, v in AIR.items()}
    )
    for limits in (LIMITS, (45.0, 90.0)):
        same = cell_demand(sky, PLACE.cell.lat, HEIGHT, *limits)
        for name in ("et0_mm", "gdd_f", "climate"):
            row = getattr(found.days[limits], name)
            assert np.allclose(row, getattr(same, name)[None, :], rtol=1e-5), name


@pytest.mark.parametrize("missing", ["solar_mj", "dewpoint_c", "wind_m_s"])
def test_a_forecast_without_a_further_quantity_still_counts(missing):
    one = issue()
    row = one.quantities.index(missing)
    kept = tuple(name for name in one.quantities if name != missing)
    less = replace(
        one, quantities=kept, values=np.delete(one.values, row, 0), made=np.delete(one.made, row, 0)
    )
    found = look([less])
    assert found is not None
    assert np.isfinite(found.days[LIMITS].et0_mm).all()


def test_no_forecast_or_one_without_rain_is_none():
    one = issue()
    assert look([]) is None
    assert look([changed(one, "rain_mm", slice(None), np.nan)]) is None


def test_a_forecast_older_than_its_hours_is_not_used():
    hours = int(ROWS.number("forecast.oldest_hours"))
    made = MOMENT - timedelta(hours=hours)
    yesterdays = replace(issue(NIGHT - timedelta(days=1)), issued=made)
    assert look([yesterdays]) is not None
    assert look([replace(yesterdays, issued=made - timedelta(minutes=1))]) is None


def test_a_hole_ends_the_days_and_nothing_after_it_counts():
    found = look([changed(issue(), "rain_mm", 3, np.nan)])
    assert found is not None
    assert found.through == NIGHT + timedelta(days=2)


def test_a_day_that_one_member_lacks_is_no_day():
    many = issue(members=5, chance=None)
    many.values[many.quantities.index("tmin_c"), 4, 2] = np.nan
    found = look([many])
    assert found is not None
    assert found.days[LIMITS].days == 2


def test_a_part_of_a_day_is_not_taken_for_the_whole():
    assert look([partial(issue(), 0)]) is None
    found = look([partial(issue(), 6)])
    assert found is not None
    assert found.days[LIMITS].days == 6


def test_a_night_that_tonights_issue_has_in_part_comes_from_yesterdays():
    now = partial(issue(rain=1.0, chance=None), 0)
    before = issue(NIGHT - timedelta(days=1), rain=9.0, chance=None)
    found = look([now, before])
    assert found is not None
    assert found.days[LIMITS].rain_mm[0].tolist() == [9.0] + [1.0] * (SINGLE - 1)


def test_days_between_come_from_the_issue_that_was_newest_for_them():
    """Known through three days ago; each later issue has its own first day in part only."""
    back = [NIGHT - timedelta(days=n) for n in range(4)]
    issues = [partial(issue(day, rain=float(n), chance=None), 0) for n, day in enumerate(back)]
    found = look(issues, known=NIGHT - timedelta(days=3))
    assert found is not None
    days = found.days[LIMITS]
    assert days.start == NIGHT - timedelta(days=2)
    assert days.rain_mm[0].tolist() == [3.0, 2.0, 1.0] + [0.0] * (SINGLE - 1)


def test_a_forecast_after_a_gap_that_no_older_issue_closes_is_not_used():
    assert look([issue()], known=NIGHT - timedelta(days=3)) is None


def test_issues_that_end_before_the_night_are_not_used():
    """The days between are whole, the night itself is not told of by anything fresh."""
    old = issue(NIGHT - timedelta(days=3), days=9)
    assert look([old], known=NIGHT - timedelta(days=3)) is None


def test_a_gap_too_wide_for_old_issues_is_not_bridged():
    old = issue(NIGHT - timedelta(days=20), days=30)
    known = NIGHT - timedelta(days=MOST_GAP + 1)
    assert look([issue(), old], known=known) is not None
    assert look([issue(), old], known=known - timedelta(days=1)) is None


def test_a_night_of_the_past_knows_no_later_forecast():
    later = MOMENT + timedelta(days=40)
    assert last_moment(NIGHT, MOMENT) == MOMENT
    assert last_moment(NIGHT, later) == datetime(2026, 7, 7, 12, tzinfo=UTC)


def test_a_night_played_again_the_day_after_has_what_it_had():
    """Tonight's issue has the night in part: yesterday's must still count as fresh."""
    issues = [
        partial(issue(rain=1.0, chance=None), 0),
        issue(NIGHT - timedelta(days=1), chance=None),
    ]
    later = last_moment(NIGHT, MOMENT + timedelta(days=9))
    tomorrows = issue(NIGHT + timedelta(days=1), rain=99.0, chance=None)
    assert tomorrows.issued <= later
    before = look(issues)
    again = look([tomorrows, *issues], moment=later)
    assert before is not None
    assert again is not None
    assert np.array_equal(before.days[LIMITS].rain_mm, again.days[LIMITS].rain_mm)


@given(st.floats(0.01, 200.0), st.floats(0.0, 1.0), st.integers(1, 64), st.text(max_size=9))
def test_split_rain_keeps_its_mean_and_is_wet_as_often_as_it_is_likely(amount, chance, count, key):
    rain = split_rain(amount, chance, count, key)
    assert rain.mean() == pytest.approx(amount)
    assert (rain >= 0.0).all()
    wet = np.count_nonzero(rain) / count
    assert abs(wet - chance) <= max(0.5 / count, 1.0 / count - chance) + 1e-9
    assert len(set(rain[rain > 0.0])) == 1
    assert np.array_equal(rain, split_rain(amount, chance, count, key))


def test_rain_without_a_chance_is_not_split_and_none_stays_none():
    assert split_rain(6.0, np.nan, 8, "x").tolist() == [6.0] * 8
    assert split_rain(0.0, 0.9, 8, "x").tolist() == [0.0] * 8


def test_which_traces_are_wet_differs_by_day_and_not_by_the_order_of_asking():
    found, again = look([issue()]), look([issue()])
    assert found is not None
    assert again is not None
    rain = found.days[LIMITS].rain_mm
    assert np.array_equal(rain, again.days[LIMITS].rain_mm)
    assert ((rain > 0.0).sum(axis=0) == TRACES // 2).all()
    assert len({tuple(column) for column in (rain > 0.0).T.tolist()}) > 1
