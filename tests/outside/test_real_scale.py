"""Real years hold no answer on another scale; the same in inches or miles an hour is found.

Sources: Marsden farm near Ames, Iowa (R package maRsden) 1980-2020, the drought of 2012 and the
spring of records before it among them; Chicago (R package modeldata) 2001-2016.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from outside.real_days import chicago, iowa
from rootbound_service.weather.calendar_slots import SLOTS, slots_of
from rootbound_service.weather.normals import normals_of
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import Flag

INCH_MM, MPH_M_S = 25.4, 0.44704


def scaled(block, **context):
    """Names of quantities marked for their scale."""
    flags = check_block(block, Context(**context)) & np.uint16(Flag.SCALE)
    return {name for name, row in zip(block.quantities, flags, strict=True) if row.any()}


def part(block, first, last):
    """Days of a block by their places."""
    return replace(
        block,
        start=block.start + timedelta(days=first),
        values=block.values[:, :, first:last],
        status=block.status[:, first:last],
    )


def five_years(block):
    """Five years at a time, and the year after them or a season of it at their places."""
    for year in range(block.start.year + 1, block.end.year - 5):
        first, end = ((date(y, 1, 1) - block.start).days for y in (year, year + 5))
        past = part(block, first, end)
        for begin, last in ((0, 365), (30, 95), (100, 165), (180, 245)):
            held = np.full((len(block.quantities), 1, SLOTS), np.nan)
            some = block.values[:, :, end + begin : end + last]
            held[:, :, slots_of(date(year + 5, 1, 1), 365)[begin:last]] = some
            yield past, held[:, :, slots_of(past.start, past.days)], last - begin


@pytest.mark.parametrize("read", [iowa, chicago])
def test_no_answer_of_weeks_is_marked_beside_what_is_usual(read):
    block = read()
    usual = normals_of(block.values, block.start, block.quantities)
    windows = [(days, first) for days in (20, 45, 60) for first in range(0, block.days - days, 30)]
    found = [scaled(part(block, at, at + days), normals=usual) for days, at in windows]
    assert len(found) > 500
    assert set().union(*found) == set()


@pytest.mark.parametrize("read", [iowa, chicago])
def test_no_five_years_are_marked_beside_the_year_or_the_season_after(read):
    found = [
        scaled(past, held=held, held_of_other_years=True) for past, held, _ in five_years(read())
    ]
    assert len(found) > 30
    assert set().union(*found) == set()


@pytest.mark.parametrize(
    ("read", "name", "by"), [(iowa, "rain_mm", 1 / INCH_MM), (chicago, "wind_m_s", 1 / MPH_M_S)]
)
def test_five_years_in_other_units_are_found_by_the_year_after(read, name, by):
    found = []
    for past, held, days in five_years(read()):
        if days == 365:
            told = past.values.copy()
            told[past.quantities.index(name)] *= by
            found.append(scaled(replace(past, values=told), held=held, held_of_other_years=True))
    assert len(found) > 5
    assert all(name in one for one in found)
