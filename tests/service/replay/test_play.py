"""A season played again sees no day and no year that came later, and no dig before its day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_rules.season.coming import ComingDays
from rootbound_rules.season.values import DailyWeather, Dig
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.play import FIRST_NIGHT, LAST_DAY, play
from service.replay.rig import DUG, FIELD, changed, demand, weather

END = FIELD.planted + timedelta(days=LAST_DAY)


def cut(days: DailyWeather, last: date) -> DailyWeather:
    """The weather to a day."""
    n = (last - days.start).days + 1
    return DailyWeather(days.start, days.tmax_c[:n], days.tmin_c[:n], days.rain_mm[:n])


@pytest.fixture(scope="module")
def usual():
    return play("North", DUG, demand())


@pytest.mark.parametrize("rain_mm", [0.0, 25.0])
def test_no_night_sees_a_later_day(usual, rain_mm):
    last = date(2004, 7, 8)
    other = play("North", DUG, demand(changed(weather(), last - timedelta(days=1), rain_mm)))

    known = [one for one in usual.nights if one.night <= last]
    assert known
    assert [one for one in other.nights if one.night <= last] == known
    assert other.nights != usual.nights
    assert other.held.stress != usual.held.stress


def test_a_night_that_is_told_late_does_not_see_the_days_that_had_not_come_in():
    last = date(2004, 7, 8)
    other = changed(weather(), last - timedelta(days=4), 25.0)
    late, again = (play("North", DUG, demand(days), late=3) for days in (weather(), other))

    known = [one for one in late.nights if one.night <= last]
    assert [one for one in again.nights if one.night <= last] == known
    assert again.nights != late.nights


def test_where_weather_is_late_the_first_word_is_no_earlier(usual):
    late = play("North", DUG, demand(), late=5)
    first, then = (
        next(one.night for one in season.nights if one.held.rung >= 3) for season in (usual, late)
    )

    assert first < then <= first + timedelta(days=6)
    assert late.held == usual.held


def test_the_night_after_a_change_sees_it(usual):
    """The same look from the other side: the check above could fail."""
    last = date(2004, 7, 8)
    other = play("North", DUG, demand(changed(weather(), last - timedelta(days=1), 25.0)))
    seen = last + timedelta(days=1)

    assert next(one for one in other.nights if one.night == seen) != next(
        one for one in usual.nights if one.night == seen
    )


def test_later_years_are_no_members(usual):
    longer = weather(2000, 8)
    same = DailyWeather(
        longer.start,
        *(
            np.where(np.arange(len(longer)) < len(weather()), padded(one, len(longer)), other)
            for one, other in (
                (weather().tmax_c, longer.tmax_c + 9.0),
                (weather().tmin_c, longer.tmin_c + 9.0),
                (weather().rain_mm, 0.0 * longer.rain_mm),
            )
        ),
    )

    assert play("North", DUG, demand(same)) == usual


def padded(values, n):
    """Values with nothing behind them."""
    return np.concatenate([values, np.zeros(n - len(values))])


def test_members_are_the_years_before(usual):
    assert {one.members for one in usual.nights} == {4}
    early = play("North", replace(FIELD, planted=date(2002, 5, 5)), demand())
    assert {one.members for one in early.nights} == {2}


def test_a_dig_counts_from_its_own_night_on(usual):
    dug_on = DUG.digs[0].dug_on
    undug = play("North", FIELD, demand())

    before = [one for one in usual.nights if one.night < dug_on]
    assert before
    assert before == [one for one in undug.nights if one.night < dug_on]
    assert [one.rated for one in usual.nights] == [one.night >= dug_on for one in usual.nights]
    assert all(one.held == one.free for one in undug.nights)
    assert any(one.held != one.free for one in usual.nights)


def test_nights_begin_when_the_crop_is_up_and_end_before_black_layer(usual):
    nights = [one.night for one in usual.nights]

    assert nights[0] >= FIELD.planted + timedelta(days=FIRST_NIGHT)
    assert nights == [nights[0] + timedelta(days=k) for k in range(len(nights))]
    assert usual.stages[nights[-1] - timedelta(days=1)] != "R6"
    assert usual.stages[END] == "R6"


def test_a_dry_summer_is_warned_of_before_it_runs_short(usual):
    first = next(one.night for one in usual.nights if one.held.rung > 0)

    assert usual.held.onset is not None
    assert first < usual.held.onset
    assert usual.held.onset <= usual.free.onset


def test_the_onset_is_the_day_on_which_the_sum_passes_two(usual):
    days = sorted(usual.held.stress)
    counted = [usual.held.stress[day] for day in days]

    assert sum(counted) == pytest.approx(usual.held.total)
    at = days.index(usual.held.onset)
    assert sum(counted[:at]) <= 2.0 < sum(counted[: at + 1])


def test_a_season_may_end_with_the_weather(usual):
    assert play("North", DUG, demand(cut(weather(), END))).nights == usual.nights


def test_a_season_beyond_the_weather_is_refused_with_the_day_that_is_needed():
    with pytest.raises(RefusedInput) as refused:
        play("North", DUG, demand(cut(weather(), END - timedelta(days=1))))

    assert "North" in str(refused.value)
    assert f"weather to {END}" in str(refused.value)


def test_a_season_without_an_earlier_year_is_refused():
    first = replace(FIELD, planted=date(2000, 5, 5))

    with pytest.raises(RefusedInput, match="no whole year before 2000"):
        play("North", first, demand())


def test_a_season_planted_on_a_leap_day_is_played():
    leap = replace(FIELD, planted=date(2004, 2, 29))

    found = play("South", leap, demand())

    assert found.year == 2004
    assert found.nights


def test_a_forecast_of_much_rain_lowers_the_chance_of_stress(usual):
    def drowned(night):
        days = (1, 7)
        return ComingDays(
            night, np.full(days, 40.0), np.full(days, 2.0), np.full(days, 20.0), np.zeros(days)
        )

    wet = play("North", DUG, demand(), forecasts=drowned)
    chances = [
        (one.held.chance_7, other.held.chance_7)
        for one, other in zip(usual.nights, wet.nights, strict=True)
    ]

    assert all(other <= one for one, other in chances)
    assert sum(other for _, other in chances) < 0.5 * sum(one for one, _ in chances)


def test_nights_without_a_forecast_are_those_that_know_none(usual):
    assert play("North", DUG, demand(), forecasts=lambda _: None) == usual


def test_what_came_does_not_hang_on_the_forecast_or_the_seed(usual):
    other = play("North", DUG, demand(), seed=9)

    assert (other.free, other.held) == (usual.free, usual.held)


def test_losses_are_weighed_for_maize_alone():
    sorghum = replace(FIELD, crop="sorghum", planted=date(2004, 5, 25))

    found = play("North", sorghum, demand())

    assert np.isnan(found.held.weighted)
    assert found.held.by_band == {}
    assert found.held.total > 0.0


def test_stress_by_stage_adds_up_to_all_of_it(usual):
    assert sum(usual.held.by_band.values()) == pytest.approx(usual.held.total)


def test_rain_of_the_season_is_that_of_may_to_august():
    days = weather()
    first, last = (date(2003, 5, 1) - days.start).days, (date(2003, 8, 31) - days.start).days

    found = play("North", replace(FIELD, planted=date(2003, 5, 5)), demand())

    assert found.rain_mm == pytest.approx(days.rain_mm[first : last + 1].sum())


def test_the_last_dig_gives_the_season_its_class():
    twice = replace(FIELD, digs=(Dig(date(2004, 6, 20), 1), Dig(date(2004, 6, 1), 3)))

    assert play("North", twice, demand()).wall_class == 1
    assert play("North", FIELD, demand()).wall_class is None
