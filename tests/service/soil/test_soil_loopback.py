"""The real soil adapters read the stand-in services and survive their faults."""

from __future__ import annotations

from datetime import date

import pytest

from loopback.climate import ClimatePlay
from loopback.faults import FAULTS
from loopback.ground import ground
from loopback.public_server import PublicServer
from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.soil.profile import Profile
from rootbound_service.soil.soilgrids import SoilGrids
from rootbound_service.soil.survey import Survey

PLACES = ((42.03, -93.62), (41.66, -94.87), (41.9, -94.4), (42.31, -93.11))
NAMES = {"sda": Survey, "soilgrids": SoilGrids}


@pytest.fixture(scope="module")
def shared():
    with PublicServer(ClimatePlay(), date(2026, 7, 6)) as made:
        made.slow_s = 0.004
        yield made


@pytest.fixture
def server(shared):
    shared.faults.clear()
    return shared


@pytest.fixture
def caller():
    patience = Patience(timeout_s=5, retries=0, backoff_s=0, backoff_jitter_s=0)
    made = Caller(patience, lambda _: None)
    yield made
    made.close()


@pytest.mark.parametrize("place", PLACES)
def test_the_survey_tells_the_soil_that_lies_there(place, server, caller):
    profile, soil = Survey(caller, server.url("sda")).fetch(*place), ground(*place)

    assert soil.soil in profile.name
    assert profile.share_pct == soil.share
    assert profile.drainage == soil.drainage
    assert profile.water_table_cm == soil.water_table_cm
    assert profile.restriction_cm == (soil.restriction[1] if soil.restriction else None)
    for layer, horizon in zip(profile.layers, soil.horizons, strict=True):
        assert (layer.top_cm, layer.bottom_cm) == (horizon.top_cm, horizon.bottom_cm)
        assert (layer.sand_pct, layer.clay_pct) == (horizon.sand, horizon.clay)
        assert layer.organic_matter_pct == horizon.organic
        assert layer.field_capacity == pytest.approx(horizon.third_bar / 100)
        assert layer.available_water == horizon.available


@pytest.mark.parametrize("place", PLACES)
def test_soilgrids_tells_the_same_soil_by_its_own_depths(place, server, caller):
    profile, soil = SoilGrids(caller, server.url("soilgrids")).fetch(*place), ground(*place)

    top, deep = profile.layers[0], profile.layers[-1]
    assert (top.top_cm, top.bottom_cm) == (0, 5)
    assert (top.clay_pct, deep.clay_pct) == (soil.horizons[0].clay, soil.horizons[-1].clay)
    assert top.wilting_point == pytest.approx(soil.horizons[0].fifteen_bar / 100)
    assert top.bulk_density == pytest.approx(soil.horizons[0].density)


def test_the_survey_has_nothing_abroad(server, caller):
    with pytest.raises(Unavailable):
        Survey(caller, server.url("sda")).fetch(48.85, 2.35)


@pytest.mark.parametrize("fault", [fault for fault in FAULTS if fault != "silent"])
@pytest.mark.parametrize("name", NAMES)
def test_a_fault_gives_a_profile_or_a_clear_refusal(name, fault, server, caller):
    adapter = NAMES[name](caller, server.url(name))
    server.faults[name].extend([fault] * 5)
    if fault in {"slow", "clock_skew"}:
        assert isinstance(adapter.fetch(*PLACES[0]), Profile)
        return
    if fault == "all_fill" and name == "sda":  # horizons without numbers are still horizons
        assert all(layer.clay_pct is None for layer in adapter.fetch(*PLACES[0]).layers)
        return
    with pytest.raises(Unavailable):
        adapter.fetch(*PLACES[0])
