"""The stand-in services play each fault as its name says, by order or by chance, and close."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

import pytest
import requests

from loopback.climate import ClimatePlay
from loopback.public_server import SERVICES, PublicServer
from service.weather.public_rig import (
    GRIDMET,
    TODAY,
    ask,
    packed,
    with_fault,
)


@pytest.fixture
def server(well):
    return well


@pytest.mark.parametrize("service", SERVICES)
@pytest.mark.parametrize(
    ("fault", "status"),
    [("429", 429), ("429_date", 429), ("500", 500), ("html", 200), ("empty", 200)],
)
def test_faults_of_the_way_are_the_same_everywhere(server, service, fault, status):
    got = with_fault(server, service, fault)

    assert got.status_code == status
    if fault == "429":
        assert got.headers["Retry-After"] == "0"
    if fault == "429_date":
        assert got.headers["Retry-After"] == got.headers["Date"]
    if fault == "html":
        assert got.headers["Content-Type"].startswith("text/html")
    if fault == "empty":
        assert got.content == b""
    assert ask(server, service).status_code == 200
    assert server.requests[-1].fault == ""


@pytest.mark.parametrize("service", SERVICES)
def test_slow_is_whole_half_is_half_and_truncated_breaks_off(server, service):
    whole = ask(server, service).content

    assert with_fault(server, service, "slow").content == whole
    assert with_fault(server, service, "half").content == whole[: len(whole) // 2]
    server.faults[service].append("truncated")
    with pytest.raises(requests.exceptions.ChunkedEncodingError):
        ask(server, service)


@pytest.mark.parametrize("service", SERVICES)
def test_silent_says_nothing_until_released(server, service):
    server.faults[service].append("silent")
    with pytest.raises(requests.Timeout):
        ask(server, service, timeout=0.05)

    server.released.set()
    assert ask(server, service).status_code == 200


def test_a_server_closes_while_somebody_waits():
    failures = []
    with PublicServer(ClimatePlay(), TODAY) as server:
        server.faults["nws"].append("silent")

        def wait():
            try:
                ask(server, "nws")
            except requests.ConnectionError as error:
                failures.append(error)

        waiting = threading.Thread(target=wait)
        waiting.start()
    waiting.join(5)

    assert not waiting.is_alive()
    assert len(failures) == 1


def test_services_fail_in_their_own_words(server):
    assert with_fault(server, "nws", "503").json()["title"] == "Forecast Grid Expired"
    assert with_fault(server, "nws", "500").json()["status"] == 500
    assert with_fault(server, "openmeteo", "503").json()["reason"] == "The service is overloaded"
    assert "daily maintenance" in with_fault(server, "sda", "503").text
    assert with_fault(server, "soilgrids", "503").headers["Content-Type"] == "text/html"


def test_a_fault_that_makes_no_sense_for_a_shape_is_http_500(server):
    for service, fault in (
        ("sda", "wrong_cell"),
        ("soilgrids", "day_missing"),
        ("nws", "future_day"),
        ("nclimgrid", "nan"),
    ):
        server.faults[service].append(fault)
        assert ask(server, service).status_code == 500
        assert server.requests[-1].fault == "500"


def test_a_fault_of_numbers_waits_while_descriptions_are_asked_for(server):
    server.faults["gridmet"].append("all_fill")
    for kind in (".das", ".dds"):
        got = requests.get(server.url("gridmet") + GRIDMET + kind, timeout=5)
        assert (got.status_code, server.requests[-1].fault) == (200, "")

    assert packed(ask(server, "gridmet").text) == ["32767"] * 5
    assert packed(ask(server, "gridmet").text) != ["32767"] * 5


@pytest.mark.parametrize("service", SERVICES)
def test_a_skewed_clock_shows_in_the_date(server, service):
    got = with_fault(server, service, "clock_skew")
    there = datetime(2026, 7, 6, 9, 30, tzinfo=UTC)

    assert parsedate_to_datetime(got.headers["Date"]) == there + timedelta(hours=9)
    assert parsedate_to_datetime(ask(server, service).headers["Date"]) == there
