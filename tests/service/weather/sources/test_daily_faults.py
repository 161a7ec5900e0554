"""Stand-in services with every fault: gridMET and NASA POWER give right values or say why not."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from loopback.climate import ClimatePlay
from loopback.faults import SAYING
from loopback.public_server import PublicServer
from loopback.sky import GRIDMET, View
from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.gridmet import GridMet
from rootbound_service.weather.sources.nasa_power import NasaPower

TODAY = date(2026, 7, 20)
# Half a step of what is packed, in our unit; the dew point as far as 0.05 % of humidity goes.
NEAR = {
    "tmax_c": 0.051,
    "tmin_c": 0.051,
    "rain_mm": 0.051,
    "solar_mj": 0.0044,
    "dewpoint_c": 0.1,
    "wind_m_s": 0.04,
}
WAY = ("truncated", "half", "503", "html", "empty")


@pytest.fixture(scope="module")
def server():
    with PublicServer(ClimatePlay({2026: "ordinary"}, seed=7), TODAY) as made:
        yield made


@pytest.fixture
def caller():
    made = Caller(Patience(timeout_s=5, retries=0, backoff_s=0, backoff_jitter_s=0))
    yield made
    made.close()


def source_of(name, server, caller):
    if name == "gridmet":
        return GridMet(caller, server.url("gridmet"))
    return NasaPower(caller, server.url("power"), many=2 if name == "region" else None)


def ask_of(name):
    places = [(42.03, -93.62), (42.03, -93.60)] if name == "gridmet" else [(42.03, -93.62)]
    if name == "region":
        places = [(42.03, -93.62), (42.6, -94.4)]
    grid = GridMet.grid if name == "gridmet" else NasaPower.grid
    return Ask(
        tuple(grid.snap(*place) for place in places), date(2026, 6, 25), date(2026, 7, 12), TODAY
    )


def outcome(source, ask):
    """Give the block, or the refusal."""
    try:
        return source.fetch(ask), None
    except Unavailable as error:
        return None, error


# Of gridMET the first answers are a variable's description, its length and its numbers.
@pytest.mark.parametrize("fault", [*SAYING, *WAY])
@pytest.mark.parametrize("at", [0, 1, 2, 20])
@pytest.mark.parametrize("name", ["gridmet", "point", "region"])
def test_a_fault_at_any_request_is_seen_or_does_no_harm(server, caller, name, fault, at):
    ask, service = ask_of(name), "gridmet" if name == "gridmet" else "power"
    right = source_of(name, server, caller).fetch(ask)
    server.faults[service].extend([*[""] * at, fault])
    spoilt, refused = outcome(source_of(name, server, caller), ask)
    server.faults[service].clear()

    if spoilt is not None:
        np.testing.assert_array_equal(spoilt.values, right.values)
    else:
        assert refused.who.startswith(("gridMET, ", "NASA POWER, "))
        assert refused.retry_later or fault not in WAY


def test_a_box_of_nasa_power_gives_what_its_points_give(server, caller):
    ask = ask_of("region")
    box = source_of("region", server, caller).fetch(ask)

    for index, cell in enumerate(ask.cells):
        point = source_of("point", server, caller).fetch(Ask((cell,), ask.start, ask.end, TODAY))
        met = [i for i, name in enumerate(box.quantities) if name != "solar_mj"]
        np.testing.assert_allclose(box.values[met, index], point.values[met, 0])


def test_gridmet_gives_what_its_packed_numbers_were_made_from(server, caller):
    """The stand-in packs in steps of 0.1; humidities come from a dew point by FAO-56 Eq. 11."""
    ask = ask_of("gridmet")
    found = source_of("gridmet", server, caller).fetch(ask)

    view = View(server.sky, server.now)
    for index, cell in enumerate(ask.cells):
        told = view.box(GRIDMET, np.array([cell.lat]), np.array([cell.lon]), ask.start, ask.end)
        told["dewpoint_c"][told["dewpoint_c"] > told["tmin_c"]] = np.nan  # beyond 100 %
        for row, (name, near) in enumerate(NEAR.items()):
            known = np.isfinite(told[name][:, 0, 0])
            assert known.sum() >= 5
            got, true = found.values[row, index][known], told[name][:, 0, 0][known]
            np.testing.assert_allclose(got, true, rtol=0, atol=near, err_msg=name)
