"""Years and wall classes as people write them, and what is refused before anything is played."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rootbound_service.desk.season_file import DeskField
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.asking import ask, read_classes, read_years
from service.replay.rig import DUG, FIELD, weather

NORTH = DeskField("North", DUG, ())


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("1988", (1988,)),
        ("1987-1989", (1987, 1988, 1989)),
        (" 2012, 1988 - 1989,2012 ", (1988, 1989, 2012)),
    ],
)
def test_years_are_read_each_once_and_in_order(text, years):
    assert read_years(text) == years


@pytest.mark.parametrize("text", ["", "88", "1989-1987", "1988;1989", "1988-", "nineteen", "1988,"])
def test_what_is_no_year_is_refused_with_an_example(text):
    with pytest.raises(RefusedInput, match=r"--years: .* write 1987-2004 or 1988,2012"):
        read_years(text)


def test_classes_are_read_each_once_and_in_order():
    assert read_classes("3, 0,3") == (0, 3)


@pytest.mark.parametrize("text", ["", "4", "-1", "2-3", "two", "1.0", "0,,2"])
def test_what_is_no_wall_class_is_refused(text):
    with pytest.raises(RefusedInput, match="is no wall class; give classes from 0"):
        read_classes(text)


def test_a_field_is_played_with_its_own_digs_unless_classes_are_asked_for():
    own = ask([NORTH], weather(), (2003, 2004))
    asked = ask([NORTH], weather(), (2003,), (0, 3))

    assert [one.season.digs[0].wall_class for one in own.asked] == [2, 2]
    assert [one.season.planted.year for one in own.asked] == [2003, 2004]
    assert [one.season.digs[0].wall_class for one in asked.asked] == [0, 3]


def test_years_outside_the_weather_are_refused_with_those_that_can_be_played():
    with pytest.raises(RefusedInput) as refused:
        ask([NORTH], weather(), (1999, 2000, 2004))

    assert str(refused.value) == (
        "--years: 1999, 2000: the weather does not hold the season and a whole year before it; "
        "give years from 2001 to 2004, or more weather"
    )


def test_weather_without_any_season_is_refused():
    late = DeskField("Late", replace(FIELD, planted=date(2004, 11, 1)), ())

    with pytest.raises(RefusedInput, match="no season of Late lies in it"):
        ask([late], weather(2003, 1))


def test_seasons_with_few_earlier_years_are_left_out_unless_they_are_named():
    days = weather(1990, 14)

    unasked, named = ask([NORTH], days), ask([NORTH], days, (1991,))

    assert [one.season.planted.year for one in unasked.asked] == [2000, 2001, 2002, 2003]
    assert any("1991 to 1999 are left out" in one for one in unasked.remarks)
    assert [one.season.planted.year for one in named.asked] == [1991]
    assert named.remarks == ()


def test_short_weather_is_played_as_it_is():
    assert len(ask([NORTH], weather()).asked) == 4


def test_two_fields_of_one_name_are_refused():
    with pytest.raises(RefusedInput, match="North: is the name of two fields"):
        ask([NORTH, DeskField("North", FIELD, ())], weather())


def test_fields_far_apart_are_played_with_a_remark():
    far = DeskField("South", replace(FIELD, lat=38.5), ())
    near = DeskField("East", replace(FIELD, lat=42.05), ())

    assert ask([NORTH, near], weather()).remarks == ()
    (remark,) = ask([NORTH, far], weather()).remarks
    assert remark.startswith("South lies 3.5 degrees of latitude and 0 m of height from North")


def test_what_was_assumed_of_a_field_is_said_with_its_name():
    given = DeskField("North", DUG, ("no elevation_m: sea level is taken",))

    assert "North: no elevation_m: sea level is taken" in ask([given], weather()).remarks
