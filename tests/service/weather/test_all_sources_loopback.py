"""The real adapters read every stand-in service, agree on one weather and survive its faults."""

from __future__ import annotations

import contextlib
from datetime import date, timedelta

import numpy as np
import pytest

from loopback.climate import ClimatePlay
from loopback.faults import FAULTS, Chaos
from loopback.public_server import PublicServer
from loopback.sky import coarse
from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import Ask, Block
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import UNUSABLE
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.gridmet_file import GridMetFiles
from rootbound_service.weather.sources.gridmet_files import ServerFiles
from rootbound_service.weather.sources.nasa_power import NasaPower
from rootbound_service.weather.sources.nclimgrid import NClimGrid

TODAY = date(2026, 7, 6)
START, END = date(2026, 6, 1), date(2026, 6, 30)
AMES = (42.03, -93.62)
NAMES = ["power", "gridmet", "gridmet_files", "nclimgrid"]
ASKED = {"gridmet_files": "gridmet"}
REFUSED = ["html", "empty", "half", "truncated", "500", "503", "429", "429_date", "wrong_units"]
REFUSED += ["duplicate_key", "wrong_cell"]


@pytest.fixture(scope="module")
def shared():
    with PublicServer(ClimatePlay(), TODAY) as made:
        made.slow_s = 0.004
        yield made


@pytest.fixture
def server(shared):
    shared.faults.clear()
    shared.now = TODAY
    return shared


@pytest.fixture
def caller():
    patience = Patience(timeout_s=5, retries=0, backoff_s=0, backoff_jitter_s=0, pause_s=0)
    made = Caller(patience, lambda _: None, user_agent="tests (someone@rootbound.example)")
    yield made
    made.close()


def source(name, server, caller, folder):
    if name == "power":
        return NasaPower(caller, server.url("power"))
    if name == "gridmet":
        return GridMet(caller, server.url("gridmet"))
    if name == "gridmet_files":
        return GridMetFiles(ServerFiles(caller, server.url("gridmet") + "/data", folder))
    return NClimGrid(caller, server.url("nclimgrid"), folder)


def fetch(adapter, start=START, end=END, today=TODAY):
    ask = Ask((adapter.grid.snap(*AMES),), start, end, today)
    [block] = [adapter.fetch(part) for part in adapter.split(ask)]
    return block


def truth(server, start=START, end=END):
    return server.play(*coarse(*AMES), start, end)


@pytest.mark.parametrize("name", NAMES)
def test_each_adapter_reads_the_one_invented_weather(name, server, caller, tmp_path):
    block = fetch(source(name, server, caller, tmp_path))
    values = dict(zip(block.quantities, block.values[:, 0, :], strict=True))
    true = truth(server)

    assert {"tmax_c", "tmin_c", "rain_mm"} <= set(values)
    for quantity, all_days in values.items():
        late = 1 if name == "nclimgrid" and quantity != "tmin_c" else 0  # its label lags by a day
        given, expected = all_days[late:], true[quantity][: len(all_days) - late]
        both = np.isfinite(given)
        assert both.mean() > 0.85, quantity
        close = {"rain_mm": 4.0, "solar_mj": 1.6, "wind_m_s": 0.6}.get(quantity, 1.6)
        off = np.abs(given - expected)[both]
        assert np.median(off) < close / 2, quantity
        if quantity == "rain_mm":  # a shower may have been missed at first
            assert ((given > 0) == (expected > 0.05))[both].mean() > 0.85
        else:
            assert np.corrcoef(given[both], expected[both])[0, 1] > 0.9, quantity


@pytest.mark.parametrize("fault", [fault for fault in FAULTS if fault != "silent"])
@pytest.mark.parametrize("name", NAMES)
def test_a_fault_gives_a_block_or_a_clear_refusal(name, fault, server, caller, tmp_path):
    adapter = source(name, server, caller, tmp_path)
    server.faults[ASKED.get(name, name)].extend([fault] * 40)
    if fault in REFUSED:
        with pytest.raises(Unavailable):
            fetch(adapter)
        return
    try:
        block = fetch(adapter)
    except Unavailable:
        return
    assert isinstance(block, Block)


@pytest.mark.parametrize("fault", ["html", "half", "truncated", "500"])
@pytest.mark.parametrize("name", NAMES)
def test_a_question_after_a_fault_is_answered_as_if_nothing_had_been(
    name, fault, server, caller, tmp_path
):
    adapter = source(name, server, caller, tmp_path)
    server.faults[ASKED.get(name, name)].extend([fault] * 3)
    with pytest.raises(Unavailable):
        fetch(adapter)
    server.faults.clear()

    assert np.isfinite(fetch(adapter).values[0]).any()


@pytest.mark.parametrize("name", NAMES)
def test_other_units_under_the_right_label_are_found_by_the_quality_checks(
    name, server, caller, tmp_path
):
    right = fetch(source(name, server, caller, tmp_path / "right"))
    server.faults[ASKED.get(name, name)].extend(["hidden_wrong_units"] * 40)
    wrong = fetch(source(name, server, caller, tmp_path / "wrong"))
    warm = right.quantities.index("tmax_c")

    assert (check_block(right, Context())[warm] & UNUSABLE == 0).all()
    assert (check_block(wrong, Context())[warm] & UNUSABLE != 0).mean() > 0.9


@pytest.mark.parametrize("name", ["power", "gridmet"])
def test_provisional_values_are_revised_and_then_stay(name, server, caller, tmp_path):
    first = fetch(source(name, server, caller, tmp_path)).values
    known = np.isfinite(first)
    assert known[0].sum() == 30
    later = {}
    for day in (date(2026, 12, 1), date(2027, 1, 1)):
        server.now = day
        later[day] = fetch(source(name, server, caller, tmp_path), today=day).values

    settled, still = later.values()
    assert 0.02 < np.abs(first - settled)[0].mean() < 0.6
    assert np.array_equal(settled, still)


def test_a_month_of_nclimgrid_is_revised_when_it_is_scaled(server, caller, tmp_path):
    prelim = fetch(source("nclimgrid", server, caller, tmp_path / "a"))
    server.now = date(2026, 9, 1)
    scaled = fetch(source("nclimgrid", server, caller, tmp_path / "a"), today=date(2026, 9, 1))

    off = np.abs(prelim.values - scaled.values)[0]
    assert 0.05 < np.nanmean(off) < 0.8
    assert (scaled.status == 2).all()
    assert (prelim.status < 2).all()


@pytest.mark.parametrize("name", NAMES)
def test_a_tenth_of_all_answers_broken_by_chance_brings_no_other_exception(
    name, server, caller, tmp_path
):
    adapter = source(name, server, caller, tmp_path)
    came = 0
    server.requests.clear()
    server.chaos = Chaos(0.1, seed=11)
    try:
        for after in range(12):
            server.now = TODAY + timedelta(days=after)
            with contextlib.suppress(Unavailable):
                came += fetch(adapter, today=server.now.date()).days == 30
    finally:
        server.chaos = None

    assert any(request.fault for request in server.requests)
    assert came > 3
