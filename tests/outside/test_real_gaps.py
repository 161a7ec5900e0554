"""How far off each step of filling is, on real days that were hidden from it.

No published figure fits our steps one by one, so each is held against a plain rival: the mean
of the file's month. A step that does not beat it would not be worth its lines.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from outside.real_days import chicago, iowa
from rootbound_service.weather.calendar_slots import months_of
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import How, SourceDays, compose
from rootbound_service.weather.normals import normals_of

ROW = {name: row for row, name in enumerate(QUANTITY_NAMES)}


@cache
def known(make):
    """A file in the order of all quantities, with its normals."""
    block = make()
    values = np.full((len(QUANTITY_NAMES), 1, block.days), np.nan)
    for row, name in enumerate(block.quantities):
        values[ROW[name]] = block.values[row]
    if np.isnan(values[ROW["rain_mm"]]).all():
        values[ROW["rain_mm"]] = 0.0  # so that days count as known
    return values, block.start, normals_of(values, block.start, QUANTITY_NAMES)


def errors(make, hidden, length, asked, with_normals):
    """Root mean square error of a step, of the month's mean, and the steps taken."""
    values, start, normals = known(make)
    days = values.shape[2]
    holes = np.zeros(days, np.bool_)
    for first in np.random.default_rng(5).permutation(np.arange(100, days - 40, 25)):
        holes[first : first + length] = True
    masked = values.copy()
    for name in hidden:
        masked[ROW[name], 0, holes] = np.nan
    none = np.zeros(masked.shape, np.uint16)
    source = SourceDays("file", masked, none, none.astype(np.uint8), start)
    usual = normals if with_normals else None
    found = compose([source], np.array([315.0]), np.array([42.0]), usual, None)
    truth, row, months = values[ROW[asked], 0], ROW[asked], months_of(start, days)
    plain = np.array([np.nanmean(masked[row, 0, months == m]) for m in range(1, 13)])
    ours = found.values[row, 0, holes] - truth[holes]
    theirs = plain[months - 1][holes] - truth[holes]
    return np.sqrt(np.mean(ours**2)), np.sqrt(np.mean(theirs**2)), set(found.how[row, 0, holes])


T = ("tmax_c", "tmin_c")


@pytest.mark.parametrize(
    ("make", "hidden", "length", "asked", "with_normals", "step", "share"),
    [
        (iowa, T, 1, "tmax_c", False, How.INTERPOLATED, 0.65),
        (iowa, T, 2, "tmin_c", False, How.INTERPOLATED, 0.75),
        (iowa, T, 4, "tmax_c", True, How.CLIMATE, 0.98),
        (iowa, ("tmax_c",), 4, "tmax_c", True, How.CLIMATE, 0.75),
        (iowa, ("solar_mj",), 4, "solar_mj", True, How.FORMULA, 0.85),
        (iowa, (*T, "solar_mj"), 4, "solar_mj", True, How.CLIMATE, 1.03),
        (chicago, ("dewpoint_c",), 4, "dewpoint_c", True, How.FORMULA, 0.55),
        (chicago, ("wind_m_s",), 4, "wind_m_s", True, How.CLIMATE, 1.03),
    ],
)
def test_a_step_beats_the_mean_of_the_month_or_equals_it(
    make, hidden, length, asked, with_normals, step, share
):
    ours, theirs, steps = errors(make, hidden, length, asked, with_normals)
    print(f"{asked}, {length} d, {step.name}: {ours:.2f} against {theirs:.2f}")

    assert steps == {step}
    assert ours < share * theirs
