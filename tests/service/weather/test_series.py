"""The days of a place, put together from its sources: which one is used, and that it is named."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_service.nights.compute import MOST_GAPS, MOST_RAINLESS, too_patched
from rootbound_service.nights.parts import CellNight
from rootbound_service.weather.bring import bring_night
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.compose import How
from rootbound_service.weather.normals_shelf import NormalsShelf
from rootbound_service.weather.places import Place
from rootbound_service.weather.series import AT_ONCE, Gaps, series_of
from service.weather.feed_rig import COARSE, FINE, a_feed, down

TODAY, BEGIN = date(2026, 7, 2), date(2026, 4, 1)
OWN = FINE.snap(42.03, -93.62)
PLACE = Place(OWN, (COARSE.snap(*OWN.centre),))
ALONE = Place(COARSE.snap(-34.6, -58.4))
LAST = TODAY - timedelta(days=2)
"""Both sources are two days late."""
ROW = {name: row for row, name in enumerate(QUANTITY_NAMES)}


@pytest.fixture
def feeds(tmp_path):
    fine = a_feed(tmp_path, FINE, title="Fine")
    coarse = a_feed(tmp_path, COARSE, title="Coarse")
    coarse.source.usual["tmax_c"] += 1.0
    return {"fine": fine, "coarse": coarse}


@pytest.fixture
def days(feeds):
    """Bring a night, and put the place together."""

    def go(place=PLACE, rain=None, today=TODAY):
        bring_night(feeds, [place], today, BEGIN, NormalsShelf(30))
        (found,) = together(feeds, [place], rain, today)
        return found

    return go


def together(feeds, places, rain=None, today=TODAY, failed=None):
    told = failed if failed is not None else _raise
    end = today - timedelta(days=1)
    return list(series_of(feeds, places, BEGIN, end, NormalsShelf(30), rain or {}, told))


def _raise(place, error):
    raise error


def without(feed, *days, names=("tmax_c", "tmin_c", "rain_mm")):
    feed.source.missing.update((name, day) for name in names for day in days)


def how(found, name, day):
    return How(int(found.composed.how[ROW[name], found.index, (day - BEGIN).days]))


def value(found, name, day):
    return getattr(found.weather, name)[(day - BEGIN).days]


JUNE_20 = date(2026, 6, 20)


def test_the_own_source_is_used_and_named_where_it_has_everything(days):
    found = days()

    assert (found.names, found.leans, found.words) == ("Fine", False, "Fine")
    assert found.weather.known_through() == LAST
    assert found.patched == Gaps(0, 0, 0)
    assert found.elevation_m == 300.0


def test_the_stand_in_is_used_brought_to_level_and_named(days, feeds):
    without(feeds["fine"], JUNE_20, date(2026, 6, 21))
    found = days()

    assert (found.names, found.leans) == ("Fine and Coarse", True)
    assert found.words == "Fine; 2 days from Coarse"
    assert how(found, "tmax_c", JUNE_20) == How.OTHER_SOURCE
    # the other is a degree warmer as a rule, and that degree is taken off
    usual = feeds["fine"].source.value("tmax_c", JUNE_20)
    assert value(found, "tmax_c", JUNE_20) == pytest.approx(usual, abs=0.05)
    assert found.patched == Gaps(0, 0, 0)


def test_a_stand_in_long_ago_is_not_named_tonight(days, feeds):
    without(feeds["fine"], date(2026, 5, 20))
    found = days()

    assert how(found, "rain_mm", date(2026, 5, 20)) == How.OTHER_SOURCE
    assert (found.names, found.leans) == ("Fine", False)


def test_where_the_own_source_is_down_the_stand_in_carries_the_days_alone(days, feeds):
    days()
    feeds["fine"].source.breaks.append(down("Fine"))
    found = days(today=TODAY + timedelta(days=2))

    assert found.weather.known_through() == LAST + timedelta(days=2)
    assert found.words == "Fine; 2 days from Coarse"


def test_a_place_with_one_source_has_no_stand_in(days, feeds):
    without(feeds["coarse"], JUNE_20, names=("tmax_c",))
    found = days(ALONE)

    assert how(found, "tmax_c", JUNE_20) == How.INTERPOLATED
    assert found.patched == Gaps(1, 0, 0)
    assert (found.names, found.leans) == ("Coarse", False)
    assert found.words == "Coarse; highest temperature of 1 day estimated"


def test_rain_that_no_source_has_is_taken_as_it_was_forecast(days, feeds):
    for feed in feeds.values():
        without(feed, JUNE_20, names=("rain_mm",))
    found = days(rain={PLACE.key: {JUNE_20: 7.5, date(2026, 6, 21): 99.0}})

    assert (value(found, "rain_mm", JUNE_20), how(found, "rain_mm", JUNE_20)) == (7.5, How.FORECAST)
    assert how(found, "rain_mm", date(2026, 6, 21)) == How.OBSERVED
    assert found.patched == Gaps(1, 1, 0)
    assert found.words == "Fine; rain of 1 day as it was forecast"


def test_a_forecast_of_another_place_or_another_time_is_nobodys_rain(days, feeds):
    for feed in feeds.values():
        without(feed, JUNE_20, names=("rain_mm",))
    rain = {ALONE.key: {JUNE_20: 9.0}, PLACE.key: {BEGIN - timedelta(days=9): 5.0, TODAY: 6.0}}
    found = days(rain=rain)

    assert how(found, "rain_mm", JUNE_20) == How.ASSUMED_DRY


def test_rain_that_nobody_knows_is_assumed_none_and_counted(days, feeds):
    for feed in feeds.values():
        without(feed, JUNE_20, date(2026, 6, 22), names=("rain_mm",))
    found = days(rain={PLACE.key: {JUNE_20: 4.0}})

    assert value(found, "rain_mm", date(2026, 6, 22)) == 0.0
    assert how(found, "rain_mm", date(2026, 6, 22)) == How.ASSUMED_DRY
    assert found.patched == Gaps(2, 2, 1)
    assert found.words == "Fine; rain of 1 day as it was forecast; rain of 1 day taken as none"


@pytest.mark.parametrize(
    ("rainless", "said"),
    [(MOST_RAINLESS, None), (MOST_RAINLESS + 1, "rain of 3 of the last 14 days is not known")],
)
def test_a_field_is_not_watched_by_more_than_two_days_without_known_rain(
    days, feeds, rainless, said
):
    gap = [LAST - timedelta(days=1 + step) for step in range(rainless)]
    for feed in feeds.values():
        without(feed, *gap, names=("rain_mm",))
    cell = CellNight(days(), {})

    assert cell.patched.rain_missing == rainless
    assert too_patched(cell) == said


def test_nor_by_more_than_three_days_without_measured_temperature(days, feeds):
    gap = [LAST - timedelta(days=1 + step) for step in range(MOST_GAPS + 1)]
    for feed in feeds.values():
        without(feed, *gap, names=("tmax_c",))

    assert too_patched(CellNight(days(), {})) == "4 of the last 14 days of weather are missing"


def test_gaps_after_the_last_whole_day_are_no_gaps_but_an_older_last_day(days, feeds):
    late = [LAST - timedelta(days=step) for step in range(3)]
    for feed in feeds.values():
        without(feed, *late, names=("rain_mm",))
    found = days(rain={PLACE.key: dict.fromkeys(late, 2.0)})

    assert found.weather.known_through() == LAST - timedelta(days=3)
    assert found.patched == Gaps(0, 0, 0)


def test_a_further_quantity_that_no_source_has_is_estimated_and_never_called_observed(tmp_path):
    feeds = {"coarse": a_feed(tmp_path, COARSE, quantities=("tmax_c", "tmin_c", "rain_mm"))}
    bring_night(feeds, [ALONE], TODAY, BEGIN, NormalsShelf(30))
    (found,) = together(feeds, [ALONE])

    for name in ("solar_mj", "dewpoint_c", "wind_m_s"):
        kinds = set(found.composed.how[ROW[name], 0])
        assert kinds <= {How.MISSING, How.FORMULA}
        assert (getattr(found.weather, name) is None) == (kinds == {How.MISSING})
    assert found.patched == Gaps(0, 0, 0)


def test_a_place_of_which_no_day_is_stored_is_left_out(feeds):
    assert together(feeds, [PLACE, ALONE]) == []


def test_each_place_has_its_own_days_however_many_are_put_together(tmp_path):
    feeds = {"coarse": a_feed(tmp_path, COARSE)}
    cells = [COARSE.cell(100 + n // 40, n % 40) for n in range(AT_ONCE + 3)]
    for number, cell in enumerate(cells[:3] + cells[-3:]):
        feeds["coarse"].source.usual["tmax_c"] = 20.0 + number
        bring_night(feeds, [Place(cell)], TODAY, BEGIN, NormalsShelf(30))
    found = {one.place.cell: one for one in together(feeds, [Place(cell) for cell in cells])}

    assert list(found) == cells[:3] + cells[-3:]
    swing = feeds["coarse"].source.value("tmax_c", JUNE_20) - 25.0
    tmax = [value(found[cell], "tmax_c", JUNE_20) for cell in found]
    assert tmax == pytest.approx([20.0 + number + swing for number in range(6)])


def test_a_cell_that_cannot_be_read_is_told_and_its_neighbours_go_on(feeds, monkeypatch):
    from rootbound_service.weather.grid_store import GridStore

    there = Place(COARSE.snap(48.1, 11.6))
    bring_night(feeds, [ALONE, there], TODAY, BEGIN, NormalsShelf(30))
    real = GridStore.read

    def torn(store, cells, *rest):
        if ALONE.cell in cells:
            raise OSError(5, "Input/output error")
        return real(store, cells, *rest)

    monkeypatch.setattr(GridStore, "read", torn)
    failed = []
    found = together(
        feeds, [ALONE, there], failed=lambda place, error: failed.append((place, str(error)))
    )

    assert [one.place for one in found] == [there]
    assert failed == [(ALONE, "[Errno 5] Input/output error")]


def test_a_leap_day_is_a_day_of_the_series(tmp_path):
    feeds = {"coarse": a_feed(tmp_path, COARSE)}
    today = date(2024, 3, 10)
    bring_night(feeds, [ALONE], today, date(2024, 1, 1), NormalsShelf(30))
    (found,) = series_of(feeds, [ALONE], date(2024, 1, 1), today, NormalsShelf(30), {}, _raise)

    source = feeds["coarse"].source
    assert found.weather.tmax_c[59] == pytest.approx(source.value("tmax_c", date(2024, 2, 29)))
    assert found.weather.tmax_c[60] == pytest.approx(source.value("tmax_c", date(2024, 3, 1)))
    assert found.weather.known_through() == date(2024, 3, 8)
    assert not np.isnan(found.weather.tmax_c[:68]).any()
