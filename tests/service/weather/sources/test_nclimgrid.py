"""nClimGrid-Daily: one file a month for all fields, scaled before prelim, and what each gives."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np
import pytest
import responses
from responses.matchers import header_matcher

from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import Ask, Status
from rootbound_service.weather.sources.nclimgrid import NClimGrid
from service.weather.cf_rig import PLAIN, Service, as_cells, netCDF4

URL = "https://weather.example/grids"
SCALED = URL + "/2026/ncdd-202606-grd-scaled.nc"
PRELIM = URL + "/2026/ncdd-202606-grd-prelim.nc"
JUNE = date(2026, 6, 1), date(2026, 6, 5)
ASKED = date(2026, 6, 20)
MONTH = PLAIN.with_(
    lat=tuple(24.5625 + i / 24 for i in range(400, 403)),
    lon=tuple(-124.6875 + j / 24 for j in range(740, 744)),
    times=tuple(float((date(2026, 6, 1 + k) - date(1800, 1, 1)).days) for k in range(5)),
    time_units="days since 1800-01-01",
    units="degree_Celsius",
    fill=np.nan,
)
"""Part of a month as the service writes it, read by the file's own coordinates."""


def month(path, warmer=0.0, made=MONTH):
    """A month's file with all four variables."""
    made.write(path, made.values() + warmer)
    with netCDF4.Dataset(path, "a") as file:
        file.product_version = "v1-0-0 20260101"
        for name, units, add in (
            ("tmin", "degree_Celsius", -10),
            ("tavg", "degree_Celsius", -5),
            ("prcp", "millimeter", 5),
        ):
            more = file.createVariable(name, "f4", ("time", "lat", "lon"), fill_value=np.nan)
            more.units = units
            more[:] = made.values() + add + warmer
    return path


@pytest.fixture
def service():
    return Service()


@pytest.fixture
def source(service, tmp_path):
    return NClimGrid(service, URL + "/", tmp_path / "cache")


def ask(source, start=JUNE[0], end=JUNE[1], asked_on=ASKED):
    cells = tuple(source.grid.cell(r, c) for r in range(400, 403) for c in range(740, 744))
    return Ask(cells, start, end, asked_on)


def names(service):
    return [url.rpartition("-")[2] for url, _ in service.asked]


def test_the_grid_is_the_one_that_noaa_documents(source):
    # i = round((lat - 24.5625) * 24), j = round((lon + 124.6875) * 24); 596 by 1385 cells.
    grid = source.grid
    cell = grid.snap(42.03, -93.62)

    assert (grid.rows, grid.columns, grid.wraps) == (596, 1385, False)
    assert (cell.row, cell.column) == (
        round((42.03 - 24.5625) * 24),
        round((-93.62 + 124.6875) * 24),
    )
    assert grid.snap(49.36, -67.01) is not None
    assert grid.snap(49.40, -67.01) is None
    assert source.quantities == ("tmax_c", "tmin_c", "rain_mm")
    assert source.earliest == date(1951, 1, 1)


def test_the_scaled_month_is_taken_first_and_is_final(source, service, tmp_path):
    service.put(SCALED, month(tmp_path / "s.nc"))
    service.put(PRELIM, month(tmp_path / "p.nc", 1.0))

    block = source.fetch(ask(source))

    assert names(service) == ["scaled.nc"]
    assert (block.status == Status.FINAL).all()
    assert np.allclose(block.values[0], as_cells(MONTH.values()), atol=1e-6)
    assert np.allclose(block.values[1], as_cells(MONTH.values()) - 10, atol=1e-6)
    assert np.allclose(block.values[2], as_cells(MONTH.values()) + 5, atol=1e-6)
    assert block.issued == datetime(2026, 7, 1, 10, tzinfo=UTC)
    assert block.origins == ("ncdd-202606-grd-scaled.nc, v1-0-0 20260101",)


def test_while_there_is_no_scaled_month_the_preliminary_one_is_provisional(
    source, service, tmp_path
):
    service.put(PRELIM, month(tmp_path / "p.nc"))

    block = source.fetch(ask(source, end=date(2026, 6, 7)))

    assert names(service) == ["scaled.nc", "prelim.nc"]
    assert block.status[0].tolist() == [1, 1, 1, 1, 1, 0, 0]
    assert np.isnan(block.values[:, :, 5:]).all()


def test_one_file_serves_every_field_and_every_quantity_of_a_night(source, service, tmp_path):
    service.put(PRELIM, month(tmp_path / "p.nc"))

    for cell in ask(source).cells:
        source.fetch(Ask((cell,), *JUNE, ASKED))

    assert names(service) == ["scaled.nc", "prelim.nc"]


def test_the_scaled_month_revises_and_replaces_the_preliminary_one(source, service, tmp_path):
    service.put(PRELIM, month(tmp_path / "p.nc"))
    early = source.fetch(ask(source))
    service.put(SCALED, month(tmp_path / "s.nc", 0.5), "Thu, 01 Oct 2026 10:00:00 GMT")

    late = source.fetch(ask(source, asked_on=date(2026, 10, 2)))

    assert np.allclose(late.values - early.values, 0.5, atol=1e-5)
    assert late.issued > early.issued
    kept = sorted(path.name.partition("-")[2] for path in (tmp_path / "cache").iterdir())
    assert kept == ["ncdd-202606-grd-scaled.nc", "ncdd-202606-grd-scaled.nc.said.json"]


def test_a_scaled_month_long_ago_is_never_asked_for_again(source, service, tmp_path):
    service.put(SCALED, month(tmp_path / "s.nc"))
    for day in (1, 2, 3):
        source.fetch(ask(source, asked_on=date(2027, 1, day)))

    assert len(service.asked) == 1


def test_a_scaled_month_that_is_not_old_yet_is_asked_for_each_night(source, service, tmp_path):
    service.put(SCALED, month(tmp_path / "s.nc"))
    for day in (1, 2, 3):
        source.fetch(ask(source, asked_on=date(2026, 10, day)))

    assert len(service.asked) == 3


def test_a_month_that_is_not_there_yet_may_come(source, service):
    with pytest.raises(Unavailable, match="NOAA nClimGrid-Daily: has no file yet for 2026-06-01"):
        source.fetch(ask(source))
    young = source.fetch(ask(source, end=date(2026, 6, 2), asked_on=date(2026, 6, 3)))

    assert np.isnan(young.values).all()
    assert young.issued is None


def test_requests_are_cut_by_month_for_all_cells_together(source):
    parts = list(source.split(ask(source, date(2025, 12, 30), date(2026, 2, 2))))

    assert [(part.start, part.end) for part in parts] == [
        (date(2025, 12, 30), date(2025, 12, 31)),
        (date(2026, 1, 1), date(2026, 1, 31)),
        (date(2026, 2, 1), date(2026, 2, 2)),
    ]
    assert all(len(part.cells) == 12 for part in parts)


def test_noaas_dates_may_be_moved_to_the_day_that_most_hours_belong_to(service, tmp_path):
    # A value's 24 hours end in the early morning of its date: tmax and rain are of the day before.
    moved = NClimGrid(service, URL, tmp_path / "cache", {"tmax_c": -1, "rain_mm": -1})
    service.put(PRELIM, month(tmp_path / "p.nc"))

    block = moved.fetch(ask(moved, JUNE[0], JUNE[0]))

    assert block.values[0, 0, 0] == pytest.approx(MONTH.values()[1, 0, 0])
    assert block.values[1, 0, 0] == pytest.approx(MONTH.values()[0, 0, 0] - 10)
    assert block.values[2, 0, 0] == pytest.approx(MONTH.values()[1, 0, 0] + 5)


def test_with_labels_moved_the_last_day_comes_from_the_next_month(service, tmp_path):
    moved = NClimGrid(service, URL, tmp_path / "cache", {"tmax_c": -1, "rain_mm": -1})
    service.put(PRELIM, month(tmp_path / "p.nc"))
    may = PRELIM.replace("202606", "202605")
    times = tuple(time - 5 for time in MONTH.numbers)  # 27 to 31 May
    service.put(may, month(tmp_path / "m.nc", made=MONTH.with_(times=times)))

    block = moved.fetch(ask(moved, date(2026, 5, 31), date(2026, 5, 31)))

    assert block.values[0, 0, 0] == pytest.approx(MONTH.values()[0, 0, 0])
    assert block.values[1, 0, 0] == pytest.approx(MONTH.values()[4, 0, 0] - 10)
    assert len(block.origins) == 2


def test_a_kept_file_that_was_damaged_on_disk_is_fetched_anew(source, service, tmp_path):
    service.put(PRELIM, month(tmp_path / "p.nc"))
    good = source.fetch(ask(source))
    (kept,) = (tmp_path / "cache").glob("*.nc")
    kept.write_bytes(kept.read_bytes()[:2000])

    with pytest.raises(Unavailable, match="cannot be read") as caught:
        source.fetch(ask(source, asked_on=date(2026, 6, 21)))
    again = source.fetch(ask(source, asked_on=date(2026, 6, 21)))

    assert caught.value.retry_later
    assert np.array_equal(again.values, good.values)


def test_the_real_caller_brings_the_file_and_asks_whether_it_has_changed(tmp_path):
    body = month(tmp_path / "p.nc").read_bytes()
    caller = Caller(Patience(retries=0))
    source = NClimGrid(caller, URL, tmp_path / "cache")
    with responses.RequestsMock() as mock:
        mock.get(SCALED, status=404)
        mock.get(PRELIM, body=body, headers={"Last-Modified": "Wed, 10 Jun 2026 08:00:00 GMT"})
        first = source.fetch(ask(source))
    with responses.RequestsMock() as mock:
        mock.get(SCALED, status=404)
        mock.get(
            PRELIM,
            status=304,
            match=[
                header_matcher({"If-Modified-Since": "Wed, 10 Jun 2026 08:00:00 GMT"}),
            ],
        )
        second = source.fetch(ask(source, asked_on=date(2026, 6, 21)))
    caller.close()

    assert first.issued == second.issued == datetime(2026, 6, 10, 8, tzinfo=UTC)
    assert np.array_equal(first.values, second.values)
    assert np.allclose(first.values[0], as_cells(MONTH.values()), atol=1e-6)
