"""Every issue stays, and a past day's rain is what was last expected before the day began."""

from __future__ import annotations

import gzip
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from rootbound_service.weather.drawer import drawer_in
from rootbound_service.weather.forecast.shelf import ISSUES, ForecastShelf
from service.weather.forecast.forecast_rig import NOW, forecast, grid, read

KEY = "gridmet:177-748"
DAY = timedelta(days=1)
SIXTH = date(2026, 7, 6)


@pytest.fixture
def shelf(place):
    return ForecastShelf(drawer_in(place, f"forecasts/{ISSUES}"))


@pytest.fixture
def drawer(place):
    return drawer_in(place, f"forecasts/{ISSUES}")


def test_a_forecast_comes_back_as_it_was_without_the_services_own_answer(shelf):
    kept = read(grid())
    shelf.keep(KEY, kept)

    found = shelf.latest(KEY)

    assert np.array_equal(found.values, kept.values, equal_nan=True)
    assert np.array_equal(found.made, kept.made)
    for name in ("source", "lat", "lon", "issued", "fetched", "start", "quantities", "where"):
        assert getattr(found, name) == getattr(kept, name)
    assert (found.fingerprint, found.raw) == (kept.fingerprint, b"")


def test_the_same_issue_is_kept_once_and_a_later_one_beside_it(shelf, drawer):
    first = shelf.keep(KEY, forecast([1.0, 2.0]))
    assert first is not None
    assert shelf.keep(KEY, forecast([1.0, 2.0], fetched=NOW + DAY)) is None

    second = shelf.keep(KEY, forecast([1.0, 2.0], issued=NOW + timedelta(hours=1)))

    folder = first.partition("/")[0]
    assert [first, second] == [f"{folder}/{name}" for name in drawer.names(folder)]
    assert shelf.latest(KEY).issued == NOW + timedelta(hours=1)


def test_what_was_known_on_a_past_moment_is_found_again(shelf):
    shelf.keep(KEY, forecast([1.0]))
    shelf.keep(KEY, forecast([2.0], NOW + DAY))
    shelf.keep(KEY, forecast([3.0], NOW + DAY, source="open_meteo", fetched=NOW + 3 * DAY))

    def rain(not_after, source=None):
        found = shelf.latest(KEY, not_after, source)
        return None if found is None else found.values[2, 0, 0]

    assert rain(NOW - timedelta(seconds=1)) is None
    assert rain(NOW) == 1.0
    assert rain(NOW + DAY) == 2.0
    assert rain(NOW + 2 * DAY) == 2.0  # the other was made by then, but not known to us
    assert rain(NOW + 3 * DAY) == 3.0
    assert rain(None, "nws") == 2.0


def test_a_place_without_forecasts_has_none(shelf):
    assert shelf.latest(KEY) is None
    assert shelf.rain_on(KEY, SIXTH) is None
    assert shelf.prune(SIXTH) == 0


def test_places_do_not_mix(shelf):
    shelf.keep(KEY, forecast([1.0, 2.0]))

    assert shelf.latest("gridmet:177-749") is None


def test_the_rain_of_a_day_is_of_the_last_issue_before_the_day_began(shelf):
    for back, amount in ((3, 1.0), (2, 2.0), (1, 3.0)):
        start = SIXTH - back * DAY
        rain = np.full(5, 9.0)
        rain[back] = amount
        shelf.keep(KEY, forecast(rain, NOW - back * DAY, start))
    shelf.keep(KEY, forecast([4.0, 9.0], NOW, SIXTH))  # made on the day itself

    assert shelf.rain_on(KEY, SIXTH) == 3.0
    assert shelf.rains_on(KEY, [SIXTH, SIXTH - 9 * DAY]) == {SIXTH: 3.0}


def test_the_local_day_counts_and_not_that_of_utc(shelf):
    evening = datetime(2026, 7, 6, 3, tzinfo=UTC)  # 22:00 of the fifth in Iowa
    shelf.keep(KEY, forecast([0.0, 5.0], evening, SIXTH - DAY))

    assert shelf.rain_on(KEY, SIXTH) == 5.0


def test_a_day_covered_in_part_or_not_at_all_is_looked_up_in_an_earlier_issue(shelf):
    shelf.keep(KEY, forecast([0.0, 0.0, 7.0], NOW - 2 * DAY, SIXTH - 2 * DAY))
    shelf.keep(KEY, forecast([0.0, 1.0], NOW - DAY, SIXTH - DAY, partial=[1]))
    shelf.keep(KEY, forecast([0.0, np.nan], NOW - DAY + timedelta(hours=1), SIXTH - DAY))

    assert shelf.rain_on(KEY, SIXTH) == 7.0
    assert shelf.rain_on(KEY, SIXTH + DAY) is None


def test_of_an_ensemble_the_mean_of_the_members_that_have_a_value_is_taken(shelf):
    members = [[0.0, 2.0], [0.0, 4.0], [0.0, np.nan]]
    shelf.keep(KEY, forecast(members, NOW - DAY, SIXTH - DAY))

    assert shelf.rain_on(KEY, SIXTH) == 3.0


def test_a_spoilt_file_is_passed_over(shelf, drawer):
    shelf.keep(KEY, forecast([0.0, 2.0], NOW - DAY, SIXTH - DAY))
    for hour, spoilt in enumerate(
        (b"", b"no gzip", gzip.compress(b"{}"), gzip.compress(b"[]"), gzip.compress(b"{")), 1
    ):
        issued = NOW - DAY + timedelta(hours=hour)
        drawer.put(shelf.keep(KEY, forecast([0.0, 9.0], issued, SIXTH - DAY)), spoilt)

    assert shelf.rain_on(KEY, SIXTH) == 2.0
    assert shelf.latest(KEY).values[2, 0, 1] == 2.0


def test_files_of_others_are_left_alone(shelf, drawer):
    folder = shelf.keep(KEY, forecast([1.0])).partition("/")[0]
    other = f"{folder}/99999999T999999Z-notes.txt"
    drawer.put(other, b"mine")

    assert shelf.prune(date(2030, 1, 1)) == 1
    assert drawer.has(other)
    assert shelf.latest(KEY) is None


def test_pruning_leaves_what_was_issued_from_a_day_on(shelf):
    for back in range(4):
        shelf.keep(KEY, forecast([1.0, float(back)], NOW - back * DAY, SIXTH - back * DAY))

    assert shelf.prune(SIXTH - DAY) == 2
    assert shelf.latest(KEY, NOW - DAY).issued == NOW - DAY
    assert shelf.latest(KEY, NOW - 2 * DAY) is None


def test_a_key_can_not_leave_the_folder(shelf, drawer):
    name = shelf.keep("../../x/y", forecast([1.0]))

    assert name.count("/") == 1
    assert drawer.folders() == ["------x-y"] == [name.partition("/")[0]]


def test_no_half_written_file_is_seen(tmp_path, monkeypatch):
    shelf = ForecastShelf(tmp_path)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        shelf.keep(KEY, forecast([1.0]))
    monkeypatch.undo()

    assert shelf.latest(KEY) is None
    assert shelf.keep(KEY, forecast([1.0])) is not None
