"""An answer is judged with all that is stored of its cells, and of the source beside it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES, Ask
from rootbound_service.weather.judge import LONGEST, JudgeOf
from rootbound_service.weather.normals_shelf import FEWEST_YEARS, NormalsShelf
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.radiation import clear_sky_mj
from service.weather.feed_rig import COARSE, FINE, a_feed

TODAY = date(2026, 7, 2)
START, END = date(2026, 6, 1), date(2026, 6, 30)
OWN = FINE.snap(42.03, -93.62)
OTHER = COARSE.snap(*OWN.centre)
ROW = {name: row for row, name in enumerate(QUANTITY_NAMES)}


@pytest.fixture
def fine(tmp_path):
    return a_feed(tmp_path, FINE)


@pytest.fixture
def coarse(tmp_path):
    return a_feed(tmp_path, COARSE)


def answer(feed, cell, start=START, end=END):
    return feed.source.fetch(Ask((cell,), start, end, TODAY))


def store(feed, cell, start, end):
    feed.store.write(answer(feed, cell, start, end), None, TODAY)


def marks(flags, flag, name, start=START):
    """Days on which a quantity carries a flag."""
    days = np.flatnonzero(flags[ROW[name], 0] & np.uint16(flag))
    return [start + timedelta(days=int(day)) for day in days]


def test_a_plausible_answer_of_an_unknown_cell_is_without_reproach(fine):
    assert not JudgeOf(fine, NormalsShelf(30))(answer(fine, OWN)).any()


def test_a_run_of_one_value_is_seen_across_the_days_already_stored(fine):
    first = START - timedelta(days=3)
    for step in range(6):
        fine.source.says["tmax_c", first + timedelta(days=step)] = 21.25
    block = answer(fine, OWN)

    alone = JudgeOf(fine, NormalsShelf(30))(block)
    store(fine, OWN, date(2026, 5, 1), START - timedelta(days=1))
    known = JudgeOf(fine, NormalsShelf(30))(block)

    assert marks(alone, Flag.STUCK, "tmax_c") == []
    assert marks(known, Flag.STUCK, "tmax_c") == [START + timedelta(days=one) for one in range(3)]


def test_what_must_not_be_used_of_the_days_before_is_no_reason_for_a_mark(fine):
    for back in (1, 2, 3):
        fine.source.says["tmax_c", START - timedelta(days=back)] = -20.0
    before = answer(fine, OWN, date(2026, 5, 1), START - timedelta(days=1))
    flags = np.zeros(before.values.shape, np.uint16)
    fine.store.write(before, flags, TODAY)
    judge = JudgeOf(fine, NormalsShelf(30))
    jumped = judge(answer(fine, OWN))
    flags[ROW["tmax_c"], 0, -3:] = Flag.LIMIT
    fine.store.write(before, flags, TODAY)

    assert marks(jumped, Flag.STEP, "tmax_c") == [START]
    assert marks(judge(answer(fine, OWN)), Flag.STEP, "tmax_c") == []


def test_the_source_beside_is_heard_for_the_cell_that_holds_ours(fine, coarse):
    store(coarse, OTHER, START, END)
    day = date(2026, 6, 12)
    fine.source.says["tmax_c", day] = 12.0
    fine.source.says["tmin_c", day] = 10.0
    block = answer(fine, OWN)

    alone = JudgeOf(fine, NormalsShelf(30))(block)
    both = JudgeOf(fine, NormalsShelf(30), (coarse, {OWN: OTHER}))(block)
    strange = JudgeOf(fine, NormalsShelf(30), (coarse, {}))(block)

    assert marks(alone, Flag.CROSS, "tmax_c") == marks(strange, Flag.CROSS, "tmax_c") == []
    assert marks(both, Flag.CROSS, "tmax_c") == [day]


def test_what_is_usual_counts_once_enough_past_years_are_stored(fine):
    day = date(2026, 6, 12)
    fine.source.says["tmax_c", day] = 48.0
    block = answer(fine, OWN)

    def outlying():
        return marks(JudgeOf(fine, NormalsShelf(30))(block), Flag.OUTLIER | Flag.GAP, "tmax_c")

    store(fine, OWN, date(TODAY.year - FEWEST_YEARS, 1, 2), date(2025, 12, 31))
    few = outlying()
    store(fine, OWN, date(2006, 1, 1), date(2025, 12, 31))

    assert few == []
    assert outlying() == [day]


def test_history_is_held_against_itself_alone(fine, coarse):
    """Years of an answer are no news about the days before and beside them."""
    start = START - timedelta(days=LONGEST)
    store(coarse, OTHER, start, END)
    day = date(2026, 6, 12)
    fine.source.says["tmax_c", day] = 12.0
    fine.source.says["tmin_c", day] = 10.0
    judge = JudgeOf(fine, NormalsShelf(30), (coarse, {OWN: OTHER}))

    assert marks(judge(answer(fine, OWN, start)), Flag.CROSS, "tmax_c", start) == []
    shorter = start + timedelta(days=40)
    found = judge(answer(fine, OWN, shorter))
    assert marks(found, Flag.CROSS, "tmax_c", shorter) == [day]


@pytest.mark.parametrize("in_block", [True, False])
def test_radiation_is_held_to_the_clear_sky_at_the_cells_own_height(fine, in_block):
    """Between a tenth over the clear sky of that day at sea level, and the same at 4 km."""
    day = date(2026, 3, 12)
    limits = 1.1 * clear_sky_mj(np.full(2, OWN.lat), np.array([0.0, 4000.0]), day, 1)[:, 0]
    fine.source.says["solar_mj", day] = float(limits.mean())
    block = answer(fine, OWN, date(2026, 3, 1), date(2026, 3, 20))
    high, low = np.full(1, 4000.0), np.zeros(1)

    def judged(height):
        given = replace(block, elevation_m=height if in_block else None)
        if not in_block:
            fine.store.write(replace(block, elevation_m=height), None, TODAY)
        return marks(
            JudgeOf(fine, NormalsShelf(30))(given), Flag.RADIATION, "solar_mj", block.start
        )

    assert judged(low) == [day]
    assert judged(high) == []


def test_a_source_without_radiation_is_judged_all_the_same(tmp_path):
    feed = a_feed(tmp_path, FINE, quantities=("tmax_c", "tmin_c", "rain_mm"))
    feed.source.says["rain_mm", date(2026, 6, 12)] = -3.0
    flags = JudgeOf(feed, NormalsShelf(30))(answer(feed, OWN))

    assert flags.shape == (3, 1, 30)
    assert marks(flags, Flag.LIMIT, "rain_mm") == [date(2026, 6, 12)]


def test_the_days_before_the_store_begins_are_no_hindrance(fine):
    block = answer(fine, OWN, date(1981, 1, 1), date(1981, 1, 31))

    assert JudgeOf(fine, NormalsShelf(30))(block).shape == block.values.shape


def test_a_past_year_in_inches_is_refused_so_that_it_is_asked_for_again(fine):
    """Past years come once; a wrong one that is stored would stay for good."""
    year = answer(fine, OWN, date(2025, 6, 1), date(2026, 5, 31))
    rain = year.values.copy()
    rain[ROW["rain_mm"]] = np.random.default_rng(1).gamma(0.6, 12.0, year.days)
    wet, inches = replace(year, values=rain), rain.copy()
    inches[ROW["rain_mm"]] /= 25.4
    fine.store.write(replace(wet, start=date(2026, 6, 1)), None, TODAY)
    judge = JudgeOf(fine, NormalsShelf(30), past=True)

    assert not (judge(wet) & np.uint16(Flag.SCALE)).any()
    with pytest.raises(Unavailable, match=r"rain_mm of 2025-06-01 .* another scale") as refused:
        judge(replace(year, values=inches))
    assert refused.value.retry_later


def test_past_years_without_a_temperature_are_refused_unless_the_cell_never_has_any(fine):
    year = answer(fine, OWN, date(2025, 6, 1), date(2026, 5, 31))
    values = year.values.copy()
    values[ROW["tmax_c"]] = np.nan
    judge = JudgeOf(fine, NormalsShelf(30), past=True)

    assert judge(replace(year, values=values)).shape == values.shape
    store(fine, OWN, date(2026, 6, 1), END)
    with pytest.raises(Unavailable, match="there is not one value"):
        judge(replace(year, values=values))
