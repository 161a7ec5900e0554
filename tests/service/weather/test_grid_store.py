"""The weather store: what goes in comes out, later answers replace, flags hide."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest

from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES, Status
from rootbound_service.weather.grid_store import Span
from rootbound_service.weather.quality.flags import UNUSABLE, Flag
from service.weather.grid_rig import (
    AMES,
    END,
    NAN,
    NEXT,
    NIGHT,
    NORTH,
    START,
    block,
    no_flags,
    number,
)
from service.weather.place_rig import opened


@pytest.fixture
def store(place):
    return opened(place)


def test_days_come_back_as_they_went_in_to_the_digit(store):
    given = block(cells=(AMES, NORTH))
    written = store.write(given, None, NIGHT)

    days = store.read((AMES, NORTH), START, END)

    assert (days.source, days.start, days.end) == ("made_up", START, END)
    assert days.cells == (AMES, NORTH)
    assert days.quantities == QUANTITY_NAMES
    assert (days.values == given.values).all()
    assert (days.status == Status.PROVISIONAL).all()
    assert (days.issued == number(NIGHT)).all()
    assert (days.seen == number(NIGHT)).all()
    assert (written.new, written.revised, written.settled) == (60, 0, 0)


def test_cells_and_quantities_come_in_the_order_asked_for(store):
    given = block(cells=(AMES, NORTH))
    store.write(given, None, NIGHT)

    days = store.read((NORTH, AMES, NORTH), START, END, ("rain_mm", "tmax_c"))

    assert days.quantities == ("rain_mm", "tmax_c")
    assert (days.values == given.values[[2, 0]][:, [1, 0, 1]]).all()
    assert days.issued.shape == days.flags.shape == (2, 3, 5)


def test_days_that_the_store_does_not_have_are_missing_on_both_sides(store):
    store.write(block(), None, NIGHT)

    days = store.read((AMES,), date(1980, 12, 30), date(2027, 1, 2))

    assert days.values.shape == (6, 1, (date(2027, 1, 2) - date(1980, 12, 30)).days + 1)
    assert np.isfinite(days.values[0]).sum() == 5
    assert np.isfinite(days.values[:, :, (START - date(1980, 12, 30)).days]).all()


@pytest.mark.parametrize("written", [True, False])
def test_a_cell_that_was_never_stored_is_all_missing(store, written):
    if written:
        store.write(block(), None, NIGHT)

    days = store.read((NORTH,), START, END, ("tmin_c", "tmax_c"))

    assert days.values.shape == (2, 1, 5)
    assert np.isnan(days.values).all()
    assert not days.flags.any()
    assert (days.seen == -1).all()
    assert store.spans((NORTH,)) == [Span(None, None)]
    assert np.isnan(store.elevations((NORTH,))).all()


def test_a_later_answer_replaces_and_the_revised_values_are_counted(store):
    store.write(block(), None, NIGHT)
    newer = block()
    newer.values[0, 0, 1] += 0.5
    newer.values[2, 0, 4] += 2.0

    written = store.write(newer, None, NEXT)

    assert (written.new, written.revised) == (0, 2)
    assert (store.read((AMES,), START, END).values == newer.values).all()


def test_a_missing_value_in_a_newer_answer_erases_nothing(store):
    store.write(block(), None, NIGHT)
    newer = block(first=5.0)
    newer.values[0] = [NAN, np.inf, -np.inf, NAN, NAN]

    written = store.write(newer, None, NEXT)

    assert written.revised == 25
    assert (store.read((AMES,), START, END).values[0] == block().values[0]).all()


def test_a_value_keeps_the_issue_that_gave_it_and_the_day_it_was_first_seen(store):
    early = block()
    early.values[0, 0, 3:] = NAN
    store.write(early, None, NIGHT)
    late = block()
    late.values[0, 0, 0] += 1.0
    late.values[0, 0, 1] += 0.001  # rounding
    store.write(late, None, NEXT)

    days = store.read((AMES,), START, END)

    assert list(days.issued[0, 0] - number(NIGHT)) == [1, 0, 0, 1, 1]
    assert list(days.seen[0, 0] - number(NIGHT)) == [0, 0, 0, 1, 1]
    assert days.values[0, 0, 1] == early.values[0, 0, 1]


@pytest.mark.parametrize("quantity", range(6))
def test_a_difference_of_the_rounding_is_none_and_one_beyond_it_is(store, quantity):
    step = QUANTITIES[quantity].rounding
    store.write(block(), None, NIGHT)
    newer = block()
    newer.values[quantity, 0, 0] += step
    newer.values[quantity, 0, 1] += 2 * step

    assert store.write(newer, None, NEXT).revised == 1


def test_an_unchanged_value_may_become_final_and_never_less(store):
    store.write(block(), None, NIGHT)
    settled = store.write(block(status=Status.FINAL), None, NEXT)
    again = store.write(block(status=Status.PROVISIONAL), None, date(2026, 6, 8))

    days = store.read((AMES,), START, END)

    assert (settled.settled, settled.revised, again.settled) == (30, 0, 0)
    assert (days.status == Status.FINAL).all()
    assert (days.issued == number(NIGHT)).all()


def test_an_older_issue_fills_gaps_and_replaces_nothing(store):
    newer = block(issued=datetime(2026, 6, 9, 12, tzinfo=UTC))
    newer.values[1, 0, 2] = NAN
    store.write(newer, None, date(2026, 6, 10))
    older = block(first=1.0, status=Status.FINAL, issued=datetime(2026, 6, 8, tzinfo=UTC))
    flags = no_flags(older)
    flags[:] = Flag.LIMIT

    written = store.write(older, flags, date(2026, 6, 11))

    days = store.read((AMES,), START, END)
    assert (written.new, written.revised, written.settled) == (1, 0, 0)
    assert days.values[1, 0, 2] == older.values[1, 0, 2]
    assert days.issued[1, 0, 2] == number(date(2026, 6, 8))
    kept = ~np.isnan(newer.values)
    assert (days.values[kept] == newer.values[kept]).all()
    assert not days.flags[kept].any()
    assert (days.status[kept] == Status.PROVISIONAL).all()


def test_another_answer_of_the_same_issue_replaces(store):
    issued = datetime(2026, 6, 5, tzinfo=UTC)
    store.write(block(issued=issued), None, NIGHT)

    assert store.write(block(first=1.0, issued=issued), None, NIGHT).revised == 30


@pytest.mark.parametrize("flag", list(Flag))
def test_a_flagged_value_is_stored_and_only_used_where_the_flag_allows(store, flag):
    given = block()
    flags = no_flags(given)
    flags[0, 0, 1] = flag
    store.write(given, flags, NIGHT)

    days = store.read((AMES,), START, END)

    assert (days.values == given.values).all()
    assert days.flags[0, 0, 1] == flag
    assert np.isnan(days.usable()).sum() == (1 if flag & UNUSABLE else 0)


def test_a_flag_is_lifted_when_a_good_value_comes_and_not_by_a_missing_one(store):
    given = block()
    flags = no_flags(given)
    flags[0, 0, 1:3] = Flag.LIMIT
    store.write(given, flags, NIGHT)
    newer = block(first=10.0)
    newer.values[0, 0, 2] = NAN
    store.write(newer, None, NEXT)

    usable = store.read((AMES,), START, END).usable()

    assert usable[0, 0, 1] == newer.values[0, 0, 1]
    assert np.isnan(usable[0, 0, 2])


def test_a_source_of_few_quantities_leaves_the_others_missing(store):
    given = block(quantities=("rain_mm", "tmin_c"))
    store.write(given, None, NIGHT)

    days = store.read((AMES,), START, END)

    assert (days.values[[2, 1]] == given.values).all()
    assert np.isnan(days.values[[0, 3, 4, 5]]).all()
    assert store.spans((AMES,)) == [Span(START, END)]
