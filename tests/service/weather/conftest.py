"""A store, a shelf and a stand-in service for the weather tests; nothing waits."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from loopback.climate import ClimatePlay
from loopback.object_store import ObjectStore
from loopback.plays import steady_play
from loopback.power_server import PowerServer
from loopback.public_server import PublicServer
from rootbound_service.public.http import Caller, Patience
from rootbound_service.weather.answers import AnswerShelf
from rootbound_service.weather.feed import Feed
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.sources.nasa_power import NasaPower
from service.weather.place_rig import objects_in

TODAY = date(2026, 7, 1)
PUBLIC_TODAY = date(2026, 7, 6)


@pytest.fixture
def store(tmp_path: Path) -> GridStore:
    return GridStore(tmp_path / "weather" / "nasa_power.zarr", "nasa_power")


@pytest.fixture
def shelf(tmp_path: Path) -> AnswerShelf:
    return AnswerShelf(tmp_path / "answers" / "nasa_power")


@pytest.fixture
def caller() -> Iterator[Caller]:
    made = Caller(Patience(timeout_s=5, retries=2, backoff_s=0, backoff_jitter_s=0))
    yield made
    made.close()


@pytest.fixture
def server() -> Iterator[PowerServer]:
    with PowerServer(steady_play(date(2020, 1, 1), date(2026, 12, 31)), TODAY) as made:
        yield made


@pytest.fixture
def source(server: PowerServer, caller: Caller) -> NasaPower:
    return NasaPower(caller, server.url)


@pytest.fixture
def feed(source: NasaPower, store: GridStore, shelf: AnswerShelf) -> Feed:
    return Feed(source, store, shelf)


@pytest.fixture(scope="module")
def all_services():
    with PublicServer(ClimatePlay(), PUBLIC_TODAY) as made:
        made.slow_s = 0.004
        yield made


@pytest.fixture
def well(all_services):
    """The stand-in of all services, with no fault ordered and no request seen."""
    all_services.faults.clear()
    all_services.requests.clear()
    all_services.released.clear()
    return all_services


@pytest.fixture(scope="session")
def bucket() -> Iterator[ObjectStore]:
    with ObjectStore(page=7) as made:
        yield made


@pytest.fixture(scope="session", params=["folder", "objects"])
def new_place(request, bucket, tmp_path_factory):
    """Give another place with each call."""
    if request.param == "folder":
        return lambda: tmp_path_factory.mktemp("place")
    return lambda: objects_in(bucket)


@pytest.fixture
def place(new_place):
    return new_place()
