"""A whole answer in other units is marked as one; a drought, a storm and a revision are not."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loopback.bends import TO_OTHER_UNITS
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import UNUSABLE, Flag
from service.weather.weather_rig import block_of

DAYS = 60
ROW = {name: row for row, name in enumerate(QUANTITY_NAMES)}


@pytest.fixture
def june():
    """Two months of some weather in one cell, every day another."""
    chance = np.random.default_rng(5)
    rain = np.where(chance.random(DAYS) < 0.3, chance.gamma(0.8, 12.0, DAYS), 0.0)
    middle = 17.0 + 4.0 * np.sin(np.arange(DAYS) / 3.0)
    table = [middle + 6, middle - 6, rain, chance.uniform(12, 24, DAYS), middle - 7]
    return np.array([*table, chance.uniform(1.5, 3.0, DAYS)])[:, None, :]


def bent(values, name):
    """The same with one quantity in other units."""
    told = values.copy()
    told[ROW[name]] = TO_OTHER_UNITS[name](told[ROW[name]])
    return told


def scaled(values, **context):
    """Quantities of which every known value is marked for its scale."""
    flags = check_block(block_of(values, date(2026, 6, 1)), Context(**context))
    marked = (flags & np.uint16(Flag.SCALE)) != 0
    return {name for name, row in ROW.items() if marked[row].all()}


@pytest.mark.parametrize("name", ["tmin_c", "rain_mm", "wind_m_s"])
def test_an_answer_in_other_units_than_the_one_before_is_marked_whole(june, name):
    assert name in scaled(bent(june, name), held=june)


@pytest.mark.parametrize("name", QUANTITY_NAMES)
def test_nothing_of_an_answer_in_other_units_can_be_used(june, name):
    told = bent(june, name)
    flags = check_block(block_of(told, date(2026, 6, 1)), Context(held=june))
    assert ((flags[ROW[name]] & UNUSABLE) != 0).all()


@pytest.mark.parametrize("name", ["tmin_c", "rain_mm"])
def test_another_source_tells_it_too_when_nothing_was_held(june, name):
    other = june * np.where(np.arange(6) == ROW["rain_mm"], 0.7, 1.0)[:, None, None]
    assert name in scaled(bent(june, name), other=other)


def test_an_independent_source_that_agrees_acquits_an_answer_that_ours_of_before_speaks_against(
    june,
):
    assert scaled(june, held=bent(june, "rain_mm"), other=june) == set()


def test_a_single_impossible_number_does_not_condemn_the_rest(june):
    told = june.copy()
    told[ROW["tmax_c"], 0, 3] = told[ROW["rain_mm"], 0, 3] = 9999.0
    flags = check_block(block_of(told, date(2026, 6, 1)), Context(held=june, other=june))
    assert {tuple(at) for at in np.argwhere(flags & UNUSABLE)} == {
        (ROW["tmax_c"], 0, 3),
        (ROW["rain_mm"], 0, 3),
    }


def test_a_summer_in_fahrenheit_of_which_few_values_are_possible_is_marked_whole(june):
    hot = june.copy()
    hot[:2] += 8.0
    told = bent(hot, "tmax_c")
    assert (told[ROW["tmax_c"]] < 60.0).sum() == 0
    told[ROW["tmax_c"], 0, 5] = 58.0  # the coolest day
    assert scaled(told, held=hot) == {"tmax_c"}


def test_a_usual_answer_and_one_revised_by_half_are_not_marked(june):
    revised = june.copy()
    revised[ROW["tmax_c"]] += 1.5
    revised[ROW["rain_mm"]] = revised[ROW["rain_mm"]] * 1.5 + 3.0
    assert scaled(june, held=june, other=june) == set()
    assert scaled(revised, held=june, other=june) == set()


def test_a_drought_that_the_wide_cell_of_another_source_drizzles_over_is_not_marked(june):
    dry, drizzle = june.copy(), june.copy()
    dry[ROW["rain_mm"]] = 0.0
    dry[ROW["rain_mm"], 0, 30] = 1.2
    drizzle[ROW["rain_mm"]] = 0.5
    assert scaled(dry, other=drizzle) == set()


def test_years_in_inches_are_told_by_their_wettest_days_and_a_dry_year_after_them_is_not(june):
    inches = bent(june, "rain_mm")
    assert scaled(inches, held=june, held_of_other_years=True) == {"rain_mm"}
    dry = june.copy()
    dry[ROW["rain_mm"]] *= 0.1
    assert scaled(june, held=dry, held_of_other_years=True) == set()


def test_too_few_days_in_common_tell_nothing(june):
    held = np.full(june.shape, np.nan)
    held[:, :, :10] = june[:, :, :10]
    assert scaled(bent(june, "wind_m_s"), held=held) == set()
