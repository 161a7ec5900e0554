"""Days from many files: which file gives a day, how settled it is, and what a missing one means."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.public.http import Unavailable
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources import cf
from rootbound_service.weather.sources.cf import CfSource, open_preset
from rootbound_service.weather.sources.cf_preset import Files, Variable
from rootbound_service.weather.sources.cf_presets import moved, shipped_preset
from service.weather.cf_rig import (
    FIRST,
    LATER,
    PLAIN,
    Service,
    a_preset,
    a_source,
    as_cells,
    ask_all,
    netCDF4,
)


def test_a_span_over_two_months_files_is_joined_and_split_by_file(tmp_path):
    july = PLAIN.with_(days=(date(2026, 7, 30), date(2026, 7, 31)))
    august = PLAIN.with_(days=(date(2026, 8, 1), date(2026, 8, 2)))
    july.write(tmp_path / "t-2026-07.nc")
    august.write(tmp_path / "t-2026-08.nc", august.values() + 100)
    source = a_source(tmp_path / "t-{year}-{month}.nc")
    ask = ask_all(source, date(2026, 7, 30), date(2026, 8, 2))

    block = source.fetch(ask)
    parts = [(part.start, part.end) for part in source.split(ask)]

    assert block.values[0, 0].tolist() == pytest.approx([-3.0, -1.8, 97.0, 98.2])
    assert block.origins == ("t-2026-07.nc", "t-2026-08.nc")
    assert parts == [
        (date(2026, 7, 30), date(2026, 7, 31)),
        (date(2026, 8, 1), date(2026, 8, 2)),
    ]


def test_with_labels_moved_the_split_still_follows_the_files(tmp_path):
    PLAIN.write(tmp_path / "t-2026-07.nc")
    source = a_source(tmp_path / "t-{year}-{month}.nc", label_shift_days=-1)

    parts = source.split(ask_all(source, date(2026, 6, 29), date(2026, 7, 2)))

    assert [(part.start, part.end) for part in parts] == [
        (date(2026, 6, 29), date(2026, 6, 29)),
        (date(2026, 6, 30), date(2026, 7, 2)),
    ]


def test_an_answer_that_would_not_fit_in_memory_is_cut_by_days(tmp_path, monkeypatch):
    monkeypatch.setattr(cf, "MOST_VALUES", 24)
    source = a_source(PLAIN.write(tmp_path / "a.nc"))

    parts = list(source.split(ask_all(source)))

    assert [part.days for part in parts] == [2, 2, 1]
    assert [part.start.day for part in parts] == [1, 3, 5]


def test_a_folder_and_a_star_mean_all_their_files(tmp_path):
    for number, day in enumerate(PLAIN.days):
        PLAIN.with_(days=(day,)).write(tmp_path / f"day_{number}.nc")
    whole = a_source(PLAIN.write(tmp_path.parent / f"{tmp_path.name}_whole.nc"))
    for where in (tmp_path, tmp_path / "day_*.nc"):
        source = a_source(where)
        block = source.fetch(ask_all(source))
        first = whole.fetch(ask_all(whole)).values[0, :, 0]

        assert len(block.origins) == 5
        assert np.isfinite(block.values).all()
        assert np.array_equal(block.values[0, :, 4], first)  # each file counts from its own day


def test_a_day_in_two_files_of_one_kind_is_refused(tmp_path):
    PLAIN.write(tmp_path / "a.nc")
    PLAIN.with_(days=PLAIN.days[4:]).write(tmp_path / "b.nc")
    source = a_source(tmp_path)

    with pytest.raises(Unavailable, match=r"b\.nc: has tmax_c of 2026-07-05, which another file"):
        source.fetch(ask_all(source))


def test_the_first_kind_of_file_that_has_a_day_gives_it(tmp_path):
    PLAIN.with_(days=PLAIN.days[:2]).write(tmp_path / "final.nc")
    PLAIN.write(tmp_path / "early.nc", PLAIN.values() + 50)
    kinds = (
        Files(where=str(tmp_path / "final.nc"), status="final"),
        Files(where=str(tmp_path / "early.nc"), status="provisional"),
    )
    source = a_source("unused", files=kinds)

    block = source.fetch(ask_all(source))

    assert block.values[0, 0].tolist() == pytest.approx([-3.0, -1.8, 49.4, 50.6, 51.8])
    assert block.status[0].tolist() == [2, 2, 1, 1, 1]


def test_where_only_age_tells_the_young_days_are_provisional(tmp_path):
    source = a_source(PLAIN.write(tmp_path / "a.nc"))
    ask = ask_all(source)

    block = source.fetch(Ask(ask.cells, ask.start, ask.end, date(2026, 9, 1)))

    assert block.status[0].tolist() == [2, 2, 1, 1, 1]  # settled after 60 days


def test_when_a_file_was_made_is_read_from_it(tmp_path):
    made = PLAIN.with_(attributes={"date_created": "2026-07-06 10:00:00", "product_version": "v1"})
    source = a_source(made.write(tmp_path / "a.nc"))

    block = source.fetch(ask_all(source))

    assert block.issued == datetime(2026, 7, 6, 10, tzinfo=UTC)
    assert block.origins == ("a.nc, v1",)


def test_a_file_that_is_not_there_yet_may_come_and_young_days_need_none(tmp_path):
    PLAIN.write(tmp_path / "t-2026-07.nc")
    source = a_source(tmp_path / "t-{year}-{month}.nc")
    cells = (source.grid.cell(0, 0),)

    with pytest.raises(Unavailable, match="has no file yet for 2026-08-01") as caught:
        source.fetch(Ask(cells, date(2026, 8, 1), date(2026, 8, 3), date(2026, 8, 20)))
    young = source.fetch(Ask(cells, date(2026, 8, 1), date(2026, 8, 2), date(2026, 8, 3)))

    assert caught.value.retry_later
    assert np.isnan(young.values).all()


def test_a_preset_file_is_opened_with_paths_beside_it_and_a_shipped_one_by_name(tmp_path):
    PLAIN.write(tmp_path / "a.nc")
    text = """
        name = "mine"
        title = "Mine"
        earliest = 2000-01-01
        habits = { lag = 1, recent = 2, settled = 3 }
        files = [{ where = "a.nc" }]
        [variables.tmax_c]
        name = "tmax"
    """
    (tmp_path / "mine.toml").write_text(text)

    mine = open_preset(tmp_path / "mine.toml", Service(), tmp_path / "files")
    shipped = open_preset(tmp_path / "chirps_v2.toml", Service(), tmp_path / "files")

    assert mine.grid.rows == 3
    assert mine.habits.settled == 3
    assert shipped.quantities == ("rain_mm",)


def test_a_grid_that_no_file_shows_is_asked_for(tmp_path):
    with pytest.raises(RefusedInput, match="names no file; name one that is there, or write"):
        a_source(tmp_path / "none.nc")


def test_files_to_be_fetched_need_somebody_who_fetches():
    preset = shipped_preset("chirps_v2")

    with pytest.raises(RefusedInput, match="give a caller and a cache folder"):
        CfSource(preset)


def test_a_missing_library_is_named_with_what_to_install(tmp_path, monkeypatch):
    from rootbound_service.weather.sources import cf_open

    path = PLAIN.write(tmp_path / "a.nc")
    monkeypatch.setattr(cf_open, "find_spec", lambda name: None if name == "netCDF4" else name)

    with pytest.raises(RefusedInput, match=r"netCDF4 is not installed; install the extra 'grids'"):
        a_source(path)


def test_a_cell_of_another_grid_is_refused_not_rounded(tmp_path):
    source = a_source(PLAIN.write(tmp_path / "a.nc"))
    between = Cell("made", 0, 0, 41.2, -94.0)

    with pytest.raises(Unavailable, match=r"has another grid: lat 41\.0\d* where 41\.2\d* is"):
        source.fetch(Ask((between,), FIRST, FIRST, LATER))


def test_a_preset_of_the_rig_is_as_strict_as_one_from_a_file():
    with pytest.raises(ValueError, match="extra"):
        a_preset("a.nc", nonsense=1)


def test_the_shipped_preset_of_gridmets_yearly_files_reads_their_shape(tmp_path):
    # Packing as gridMET's own description of tmmx and tmmn has it: unsigned, 0.1, 220 and 210 K.
    lat = tuple(49.4 - (177 + i) / 24 for i in range(3))
    lon = tuple(-124.76666663 + (748 + j) / 24 for j in range(4))
    for file, name, units, offset in (
        ("tmmx", "air_temperature", "K", 220.0),
        ("tmmn", "air_temperature", "K", 210.0),
        ("pr", "precipitation_amount", "mm", 0.0),
        ("srad", "surface_downwelling_shortwave_flux_in_air", "W m-2", 0.0),
        ("vs", "wind_speed", "m/s", 0.0),
    ):
        packing = {"scale_factor": 0.1, "add_offset": offset, "_Unsigned": "true"}
        made = PLAIN.with_(lat=lat, lon=lon, name=name, units=units, kind="u2", fill=32767)
        made = made.with_(packing=packing, time_name="day")
        made.write(tmp_path / f"{file}_2026.nc", np.full((5, 3, 4), offset + 61.0))
    preset = moved(
        shipped_preset("gridmet_year"), "https://www.northwestknowledge.net/metdata/data/", ""
    )
    source = CfSource(preset.model_copy(update={"folder": tmp_path}))
    cell = source.grid.snap(42.025, -93.6)

    values = source.fetch(Ask((cell,), FIRST, FIRST, LATER)).values[:, 0, 0]

    assert (cell.row, cell.column) == (177, 748)
    assert values.tolist() == pytest.approx(
        [281 - 273.15, 271 - 273.15, 61.0, 61 * 0.0864, 61 * 0.74795], abs=1e-4
    )


def test_the_documented_shape_of_gridmet_is_read_as_netcdf4_reads_it():
    shape = Path(__file__).parents[4] / "fixtures/shapes/gridmet_tmmx_synthetic_packed.nc"
    with netCDF4.Dataset(shape) as data:
        kelvin = np.ma.filled(data["daily_maximum_temperature"][:], np.nan)
        start = date(1900, 1, 1) + timedelta(days=int(data["day"][0]))
    source = a_source(shape, {"tmax_c": Variable(units="K")})

    block = source.fetch(ask_all(source, start, start + timedelta(days=3)))

    assert source.grid.lat_step < 0
    assert np.isfinite(kelvin).any()
    assert np.allclose(
        block.values[0], as_cells(kelvin) - 273.15, rtol=0, atol=1e-4, equal_nan=True
    )


def test_of_several_files_the_newest_says_when_the_answer_was_made(tmp_path):
    for name, day, made in (("a", 1, "2026-07-06"), ("b", 2, "2026-07-08"), ("c", 3, "2026-07-07")):
        part = PLAIN.with_(days=(date(2026, 7, day),), attributes={"date_created": made})
        part.write(tmp_path / f"{name}.nc")
    source = a_source(tmp_path)

    assert source.fetch(ask_all(source)).issued == datetime(2026, 7, 8, tzinfo=UTC)
