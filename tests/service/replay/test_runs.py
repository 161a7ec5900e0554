"""Many seasons: moved into other years, held to the weather, the same from many workers."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date, timedelta

import pytest

from rootbound_rules.season.values import Dig
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.play import LAST_DAY
from rootbound_service.replay.runs import Asked, in_year, play_all, seed_of, with_class, years_in
from rootbound_service.replay.tables import write_nights, write_seasons
from service.replay.rig import DUG, FIELD, weather


def test_a_season_moves_with_its_digs():
    found = in_year(DUG, 1999)

    assert found.planted == date(1999, 5, 5)
    assert [dig.dug_on for dig in found.digs] == [date(1999, 6, 1)]
    assert in_year(found, 2004) == DUG


def test_a_leap_day_becomes_the_28th():
    leap = replace(FIELD, planted=date(2004, 2, 29), digs=(Dig(date(2004, 2, 29), 1),))

    found = in_year(leap, 2003)

    assert (found.planted, found.digs[0].dug_on) == (date(2003, 2, 28), date(2003, 2, 28))
    assert in_year(leap, 2008).planted == date(2008, 2, 29)


def test_a_dig_in_the_year_after_stays_in_the_year_after():
    late = replace(FIELD, planted=date(2003, 12, 20), digs=(Dig(date(2004, 1, 15), 1),))

    found = in_year(late, 2010)

    assert (found.planted, found.digs[0].dug_on) == (date(2010, 12, 20), date(2011, 1, 15))


def test_a_class_is_found_on_the_first_digs_day_and_replaces_all_digs():
    twice = replace(FIELD, digs=(Dig(date(2004, 6, 20), 1), Dig(date(2004, 6, 3), 3)))

    assert with_class(twice, 2).digs == (Dig(date(2004, 6, 3), 2),)
    assert with_class(FIELD, 0).digs == (Dig(date(2004, 6, 1), 0),)


def test_years_have_a_whole_year_before_and_end_within_the_weather():
    assert years_in(FIELD, weather()) == [2001, 2002, 2003, 2004]
    assert years_in(FIELD, weather(), fewest=3) == [2003, 2004]
    assert years_in(FIELD, weather(), fewest=9) == []


def test_a_season_that_ends_a_day_after_the_weather_is_none_of_them():
    last = date(2004, 12, 31) - timedelta(days=LAST_DAY)

    assert years_in(replace(FIELD, planted=last), weather())[-1] == 2004
    assert years_in(replace(FIELD, planted=last + timedelta(days=1)), weather())[-1] == 2003


def test_a_year_is_no_earlier_year_where_its_spin_up_is_cut():
    """Planted on 1 March, the 90 days before begin in the year before the weather."""
    early = replace(FIELD, planted=date(2004, 3, 1))

    assert years_in(early, weather()) == [2002, 2003, 2004]


def test_every_year_that_is_offered_can_be_played():
    early = replace(FIELD, planted=date(2004, 3, 1))
    asked = [Asked("North", in_year(early, year)) for year in years_in(early, weather())]

    assert [one.year for one in play_all(asked, weather())] == [2002, 2003, 2004]


def test_the_seed_hangs_on_name_and_year_alone():
    assert seed_of("North", 2004) == seed_of("North", 2004)
    assert len({seed_of(name, year) for name in ("North", "South") for year in (2003, 2004)}) == 4


def test_two_workers_write_the_same_bytes_as_one():
    asked = [
        Asked("North", in_year(season, year))
        for season in (with_class(FIELD, 3), DUG)
        for year in (2003, 2004)
    ]

    def written(workers):
        seasons = list(play_all(asked, weather(), workers))
        file = io.StringIO(newline="")
        write_nights(seasons, file)
        write_seasons(seasons, file)
        return file.getvalue()

    assert written(2) == written(1)


def test_a_season_outside_the_weather_is_refused_from_a_worker_too():
    asked = [Asked("North", in_year(DUG, 2005))]

    with pytest.raises(RefusedInput, match="North"):
        list(play_all(asked, weather(), 2))
