"""Rain to hold: exactly that rain keeps the field, a tenth less does not; else it says why."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.rain_to_hold import ToHold, rain_to_hold
from rootbound_rules.tables import load_table
from rules.risk.hold_cases import climbs, random_case, rung_of, with_water

CASES = 200
CHANCE = load_table("ladder").rows
"""The rows that the ladder reads its shares from."""
MOST_MM = 150.0


def cases_of(kind, count, *, irrigation=False, seeds=range(5000)):
    """Random cases of one answer."""
    for seed in seeds:
        outlook, today, rung = random_case(seed)
        told = rain_to_hold(outlook, today, rung, irrigation=irrigation)
        if told.kind == kind:
            count -= 1
            yield seed, outlook, today, rung, told
        if count == 0:
            return


@pytest.mark.parametrize(("irrigation", "count"), [(False, CASES), (True, 40)])
def test_exactly_that_water_keeps_the_field_and_a_tenth_less_does_not(irrigation, count):
    fell, kept_on_less = [], []
    for seed, outlook, today, rung, told in cases_of("rain", count, irrigation=irrigation):
        answers = [day for day in told.days if day.mm is not None]
        day = answers[np.random.default_rng(seed).integers(len(answers))]
        exact = with_water(outlook, day.day, day.mm, irrigation=irrigation)
        # an answer is good to a hundredth of a millimetre, which may be more than a tenth of it
        fewer = max(min(0.9 * day.mm, day.mm - 0.02), 0.0)
        less = with_water(outlook, day.day, fewer, irrigation=irrigation)
        if climbs(exact, today, rung):
            fell.append((seed, day))
        if not climbs(less, today, rung):
            kept_on_less.append((seed, day))
    assert not fell, fell
    assert not kept_on_less, kept_on_less


def test_a_field_that_does_not_climb_needs_none():
    for seed, outlook, today, rung, told in cases_of("none_needed", 15):
        assert told.days == ()
        assert not climbs(outlook, today, rung), seed


def test_where_no_rain_would_the_field_climbs_with_the_most_on_any_day():
    for seed, outlook, today, rung, told in cases_of("none_would", 15):
        assert all(day.mm is None for day in told.days)
        for n in range(1, 8):
            flooded = with_water(outlook, today + timedelta(days=n), MOST_MM)
            # nights before the rain are as they were
            before = range(1, n)
            assert climbs(outlook, today, rung, before) or climbs(flooded, today, rung), seed


def test_no_rain_mends_a_climb_on_a_night_before_it():
    for seed, outlook, today, rung, told in cases_of("rain", 25):
        nights = [n for n in range(1, 8) if rung_of(outlook, today + timedelta(days=n)) > rung]
        late = [day for n, day in enumerate(told.days, 1) if n > nights[0]]
        assert all(day.mm is day.low is day.high is None for day in late), seed
        assert [day.day for day in told.days] == [today + timedelta(days=n) for n in range(1, 8)]


def test_the_range_holds_in_one_member_of_five_and_in_four_of_five(monkeypatch):
    """The ladder's own shares are put in the place of those of the range."""
    cases, tried = list(cases_of("rain", 25)), {0.8: 0, 0.2: 0}
    for seed, outlook, today, rung, told in cases:
        for n, day in enumerate(told.days, 1):
            nights = range(n, 8)
            for share, mm in ((0.8, day.low), (0.2, day.high)):
                if day.mm is None or mm is None or mm == 0.0:
                    continue
                tried[share] += 1
                with monkeypatch.context() as patch:
                    patch.setattr("rootbound_rules.risk.rungs.threshold", lambda _, s=share: s)
                    patch.setitem(CHANCE, "chance", replace(CHANCE["chance"], value=share))
                    exact = with_water(outlook, day.day, mm)
                    less = with_water(outlook, day.day, 0.9 * mm)
                    assert not climbs(exact, today, rung, nights), (seed, share)
                    assert climbs(less, today, rung, nights), (seed, share)
    assert min(tried.values()) > 10, tried


def test_low_is_no_more_than_the_amount_and_high_no_less():
    for seed, _, _, _, told in cases_of("rain", 60):
        for day in told.days:
            if day.mm is not None:
                assert day.low is not None, seed
                assert 0.0 <= day.low <= day.mm <= (day.high or MOST_MM), seed


def test_water_given_loses_nothing_to_runoff_and_so_never_takes_more_than_rain():
    for seed, outlook, today, rung, rain in cases_of("rain", 40):
        given = rain_to_hold(outlook, today, rung, irrigation=True)
        assert given.kind == "rain"
        for one, other in zip(rain.days, given.days, strict=True):
            if one.mm is not None:
                assert other.mm is not None, seed
                assert other.mm <= 1.011 * one.mm + 0.02, seed


def test_the_top_rung_has_nothing_to_climb_to():
    outlook, today, _ = random_case(1)
    assert rain_to_hold(outlook, today, 4) == ToHold("at_top")


def test_a_field_whose_own_reading_is_above_its_rung_is_climbing_already():
    outlook, today, rung = next(c for c in map(random_case, range(99)) if c[2] in {1, 2, 3})
    assert rain_to_hold(outlook, today, rung - 1) == ToHold("already_climbing")


def test_the_same_night_gives_the_same_answer():
    _, outlook, today, rung, told = next(cases_of("rain", 1))
    assert rain_to_hold(outlook, today, rung) == told


@pytest.mark.parametrize("days", [-400, 400])
def test_a_day_the_outlook_does_not_cover_is_refused(days):
    outlook, today, _ = random_case(0)
    with pytest.raises(RulesError, match="does not cover"):
        rain_to_hold(outlook, today + timedelta(days=days), 0)


def test_the_last_days_of_the_season_need_none():
    outlook, _, _ = random_case(0)
    last = outlook.date(outlook.run.days - 1)
    for back in range(4):
        assert rain_to_hold(outlook, last - timedelta(days=back), 0) == ToHold("none_needed")
