"""The real forecast adapters read the stand-in services and survive their faults."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from loopback.climate import ClimatePlay
from loopback.faults import FAULTS
from loopback.public_server import PublicServer
from loopback.sky import coarse
from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.forecast.day import Forecast
from rootbound_service.weather.forecast.nws import Nws
from rootbound_service.weather.forecast.open_meteo import OpenMeteo

NOW = datetime(2026, 7, 6, 9, 30, tzinfo=UTC)
AMES = (42.03, -93.62)
NAMES = ["nws", "open_meteo", "open_meteo_ensemble"]
SERVICE = {"nws": "nws", "open_meteo": "openmeteo", "open_meteo_ensemble": "openmeteo"}
REFUSED = ["html", "empty", "half", "truncated", "500", "503", "429", "429_date", "wrong_units"]
REFUSED += ["duplicate_key", "wrong_cell", "nan", "all_fill", "hidden_wrong_units"]


@pytest.fixture(scope="module")
def shared():
    with PublicServer(ClimatePlay(), NOW) as made:
        made.slow_s = 0.004
        yield made


@pytest.fixture
def server(shared):
    shared.faults.clear()
    shared.requests.clear()
    shared.now = NOW
    return shared


@pytest.fixture
def caller():
    patience = Patience(timeout_s=5, retries=0, backoff_s=0, backoff_jitter_s=0)
    made = Caller(patience, lambda _: None, user_agent="tests (someone@rootbound.example)")
    yield made
    made.close()


def source(name, server, caller, folder):
    if name == "nws":
        return Nws(caller, server.url("nws"), folder)
    return OpenMeteo(caller, server.url("openmeteo"), ensemble=name == "open_meteo_ensemble")


def of(forecast, name):
    return forecast.values[forecast.quantities.index(name)]


def truth(server, forecast, name):
    return server.play(*coarse(*AMES), forecast.start, forecast.end)[name]


@pytest.mark.parametrize("name", NAMES)
def test_a_forecast_is_near_the_truth_at_first_and_worse_later(name, server, caller, tmp_path):
    adapter = source(name, server, caller, tmp_path)
    off = []
    for after in range(60):
        server.now = NOW + timedelta(days=after)
        forecast = adapter.fetch(*AMES, server.now)
        assert forecast.start == server.now.date()
        assert forecast.days >= 7
        off.append((of(forecast, "tmax_c")[0] - truth(server, forecast, "tmax_c"))[:7])

    error = np.nanmean(np.abs(off), axis=0)
    assert error[1] < 1.5
    assert error[6] > error[1] + 0.5
    assert error[6] < 5


@pytest.mark.parametrize("name", NAMES)
def test_a_forecast_tells_rain_radiation_dew_and_wind_in_our_units(name, server, caller, tmp_path):
    adapter = source(name, server, caller, tmp_path)
    rain, true_rain, solar, dew, wind = [], [], [], [], []
    for after in range(0, 60, 2):
        server.now = NOW + timedelta(days=after)
        forecast = adapter.fetch(*AMES, server.now)
        rain.append(np.nansum(of(forecast, "rain_mm")[0, :2]))
        true_rain.append(truth(server, forecast, "rain_mm")[:2].sum())
        solar += list((of(forecast, "solar_mj")[0] / truth(server, forecast, "solar_mj"))[1:4])
        dew += list((of(forecast, "dewpoint_c")[0] - truth(server, forecast, "dewpoint_c"))[1:4])
        wind += list((of(forecast, "wind_m_s")[0] / truth(server, forecast, "wind_m_s"))[1:4])

    assert np.corrcoef(rain, true_rain)[0, 1] > 0.6
    assert 0.75 < sum(rain) / sum(true_rain) < 1.35
    assert 0.8 < np.nanmedian(solar) < 1.2
    assert abs(np.nanmedian(dew)) < 1.5
    assert 0.85 < np.nanmedian(wind) < 1.15


@pytest.mark.parametrize("fault", [fault for fault in FAULTS if fault != "silent"])
@pytest.mark.parametrize("name", NAMES)
def test_a_fault_gives_a_forecast_or_a_clear_refusal(name, fault, server, caller, tmp_path):
    adapter = source(name, server, caller, tmp_path)
    server.faults[SERVICE[name]].extend([fault] * 20)
    if fault in REFUSED:
        with pytest.raises(Unavailable):
            adapter.fetch(*AMES, NOW)
        return
    try:
        forecast = adapter.fetch(*AMES, NOW)
    except Unavailable:
        return
    assert isinstance(forecast, Forecast)


def test_several_places_are_answered_at_once_and_the_ensemble_has_its_members(server, caller):
    places = [AMES, (41.66, -94.87)]
    best = source("open_meteo", server, caller, None).fetch_many(places, NOW)
    many = source("open_meteo_ensemble", server, caller, None).fetch(*AMES, NOW)

    assert [one.members for one in best] == [1, 1]
    assert not np.array_equal(best[0].values, best[1].values, equal_nan=True)
    assert many.members == 31
    assert of(many, "tmax_c")[:, 7].std() > 0.5
    assert len(server.requests) == 2


def test_the_weather_service_is_asked_again_only_for_what_has_changed(server, caller, tmp_path):
    adapter = source("nws", server, caller, tmp_path)
    first = adapter.fetch(*AMES, NOW)
    again = adapter.fetch(*AMES, NOW)
    server.now = NOW + timedelta(hours=6)
    later = adapter.fetch(*AMES, server.now)

    assert [(r.path.split("/")[1], r.status) for r in server.requests] == [
        ("points", 200),
        ("gridpoints", 200),
        ("gridpoints", 304),
        ("gridpoints", 200),
    ]
    assert again.fingerprint == first.fingerprint
    assert later.issued > first.issued
    assert first.start == date(2026, 7, 6)
