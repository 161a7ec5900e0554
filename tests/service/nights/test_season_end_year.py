"""Many seasons of a year: counts, days of warning, lessons, and the words for them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from rootbound_service.nights.season_end import season_end
from rootbound_service.nights.season_end_shapes import Days, LeadRange, SeasonPast
from rootbound_service.nights.season_end_year import year_end
from rootbound_service.notes.en import season_words as words
from rootbound_service.records import DigRecord, NoteRecord

PLANTED, RIPE = date(2026, 5, 1), date(2026, 9, 15)
SPAN = [PLANTED + timedelta(days=at) for at in range((RIPE - PLANTED).days + 1)]
STRESS = date(2026, 7, 12)
"""Three whole days from 10 July on: the sum passes 2.0 on the third."""


def past(number, lead=None, *, stress=True, grower="Ada Quill", wall=2, free=False):
    """A season that was warned ``lead`` days before its stress, or not at all."""
    dry = {date(2026, 7, 10) + timedelta(days=at): 1.0 for at in range(3)} if stress else {}
    none = dict.fromkeys(SPAN, 0.0)
    notes = ()
    if lead is not None:
        night = STRESS - timedelta(days=lead)
        notes = (NoteRecord(number, night, 1, 2, "x", {}, f"note-{number}"),)
    return SeasonPast(
        season_id=number,
        field_name=f"Field {number}",
        grower=grower,
        crop="maize",
        planted=PLANTED,
        days=Days({**none, **dry}, {**none, **dry} if free else none),
        notes=notes,
        digs=() if wall is None else (DigRecord(date(2026, 5, 25), wall, soil_moisture="wet"),),
        silk=date(2026, 7, 20),
        black_layer=RIPE,
    )


def ends(*pasts):
    return [season_end(one) for one in pasts]


def test_a_year_is_counted_by_hand():
    year = year_end(
        ends(
            past(1, 3), past(2, 9), past(3, 6), past(4, 12), past(5, 5),
            past(6), past(7, 4, stress=False), past(8, stress=False, grower="Cy Moor", wall=None),
        )
    )  # fmt: skip
    one = year.every
    assert (one.seasons, one.stressed, one.hits, one.misses) == (8, 6, 5, 1)
    assert (one.false_alarms, one.rain_came, one.not_known) == (1, 0, 0)
    assert one.lead == LeadRange(5, 6, 3, 12)
    assert [(group.name, group.seasons, group.few) for group in year.by_grower] == [
        ("Ada Quill", 7, False),
        ("Cy Moor", 1, True),
    ]
    assert [(group.name, group.seasons) for group in year.by_wall] == [("2", 7), ("not dug", 1)]


def test_a_year_without_seasons_says_so():
    year = year_end([])
    assert words.tally_text(year.every) == words.NO_SEASON
    assert words.leaves_text(year) == words.NO_LEAVES


def test_under_five_seasons_nothing_is_said_but_how_many():
    four, five = (year_end(ends(*(past(at, 3) for at in range(n)))) for n in (4, 5))
    assert words.tally_text(four.every) == "4 seasons: too few to say."
    assert words.owed_text(four.lessons.by_wall[0]) == "4 seasons: too few to say."
    assert "5 warned of, 0 missed" in words.tally_text(five.every)
    assert "(n 5)" in words.tally_text(five.every)


def test_lessons_name_fields_whose_free_roots_would_not_have_run_short():
    year = year_end(ends(past(1), past(2, free=True), past(3, stress=False), past(4, wall=None)))
    assert year.lessons.spared == ("Field 1",)  # field 4 was not dug
    assert [row.id for row in year.lessons.actions] == ["next_planter"]
    (wet,) = year.lessons.by_moisture
    assert (wet.name, wet.n, wet.stressed, wet.middle, wet.high) == ("wet", 3, 2, 0.0, 3.0)


@pytest.mark.parametrize(
    ("t_ha", "crop", "units", "told"),
    [
        # 10 000 kg / 25.40 kg = 393.70 bushels a hectare; by 0.404686 ha an acre: 159.3
        (10.0, "maize", "us", "159 bu/ac"),
        (10.0, "maize", "metric", "10.0 t/ha"),
        # 3000 kg / 27.22 kg = 110.21 bushels a hectare: 44.6
        (3.0, "soybean", "us", "45 bu/ac"),
        (None, "maize", "us", words.NO_YIELD),
    ],
)
def test_a_yield_is_told_in_the_readers_units(t_ha, crop, units, told):
    assert words.yield_text(t_ha, crop, units) == told


def test_a_season_is_told_with_its_lead():
    (end,) = ends(past(1, 3))
    assert words.season_line(end, "us") == (
        "Stress set in on July 12: 3.0 days with held roots, 0.0 days with free ones, which would "
        "not have run short. 2 tight or worse was told 3 days before. 3 short or worse was never "
        "told."
    )
    assert words.warning_text(end.warnings[0], "metric") == (
        "2 tight, first told 9 July. It came (3.0 days of stress, rain not known)."
    )


def test_a_quiet_season_says_that_nothing_came_and_nothing_was_warned():
    (end,) = ends(past(1, stress=False))
    assert words.season_line(end, "us") == f"{words.NOTHING_HAPPENED} {words.NOTHING_WARNED}"
    gap = replace(end, unknown=2)
    assert words.season_line(gap, "us").startswith(
        "No real stress came on the days that are known."
    )
