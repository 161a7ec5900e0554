"""Asking the National Weather Service: where a place is, what has changed, and what it refuses."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
import responses

from rootbound_service.public.http import Unavailable
from service.weather.forecast.forecast_rig import NOW, PLACE, grid, raw, shape
from service.weather.forecast.nws_rig import CHANGED, GRID, POINT, URL, answers, asked

PROBLEM = "application/problem+json"


def problem(kind, status, title=""):
    return {"json": {"type": kind, "title": title, "status": status}, "status": status}


def moved(x):
    """A place whose grid has moved, and the answer of its new point."""
    point, there = shape("nws_points"), grid()
    point["properties"]["gridX"] = there["properties"]["gridX"] = x
    return point, json.dumps(there).encode()


def test_a_place_is_looked_up_once_and_its_hours_are_asked_for_every_time(nws, mock):
    answers(mock)

    assert nws.fetch(*PLACE, NOW).where == "DMX/73,71"
    nws.fetch(*PLACE, NOW)

    assert asked(mock) == ["/points/42.03,-93.62", "/gridpoints/DMX/73,71", "/gridpoints/DMX/73,71"]
    for call in mock.calls:
        assert call.request.headers["Accept"] == "application/geo+json"
        assert call.request.headers["User-Agent"] == "rootbound (ada@example.org)"


def test_places_are_asked_for_with_four_decimals_and_no_zeros_after_them(nws, mock):
    point = shape("nws_points")
    point["geometry"]["coordinates"] = [-93.5, 42.0123]
    answers(mock, f"{URL}/points/42.0123,-93.5", point)

    nws.fetch(42.01234, -93.50001, NOW)

    assert asked(mock)[0] == "/points/42.0123,-93.5"


def test_an_answer_that_has_not_changed_is_not_sent_again(nws, mock):
    answers(mock)
    first = nws.fetch(*PLACE, NOW)
    mock.replace(responses.GET, GRID, status=304)

    again = nws.fetch(*PLACE, NOW + timedelta(hours=1))

    assert mock.calls[-1].request.headers["If-Modified-Since"] == CHANGED
    assert (again.values == first.values)[first.values == first.values].all()
    assert (again.issued, again.fingerprint, again.raw) == (
        first.issued,
        first.fingerprint,
        first.raw,
    )


def test_one_that_has_not_changed_for_more_than_a_day_is_too_old(nws, mock):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    mock.replace(responses.GET, GRID, status=304)

    with pytest.raises(Unavailable, match="more than a day from now"):
        nws.fetch(*PLACE, NOW + timedelta(hours=30))


def test_an_answer_that_cannot_be_read_is_not_kept_to_ask_by(nws, mock):
    spoilt = grid()
    spoilt["properties"]["maxTemperature"]["uom"] = "wmoUnit:K"
    answers(mock, body=json.dumps(spoilt).encode())
    with pytest.raises(Unavailable, match="maxTemperature"):
        nws.fetch(*PLACE, NOW)

    mock.replace(responses.GET, GRID, body=raw("nws_gridpoint_forecastgriddata"))
    nws.fetch(*PLACE, NOW)

    assert "If-Modified-Since" not in mock.calls[-1].request.headers


@pytest.mark.parametrize("spoil", [lambda _: b"", lambda body: body[:40], lambda _: b"nonsense"])
def test_kept_files_that_are_spoilt_are_asked_for_anew(nws, mock, tmp_path, spoil):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    for path in (tmp_path / "nws").rglob("*.*"):
        path.write_bytes(spoil(path.read_bytes()))

    assert nws.fetch(*PLACE, NOW).days == 3
    assert asked(mock)[2:] == ["/points/42.03,-93.62", "/gridpoints/DMX/73,71"]
    assert "If-Modified-Since" not in mock.calls[-1].request.headers


def test_without_a_time_of_change_there_is_nothing_to_ask_by(nws, mock):
    answers(mock, changed=None)
    nws.fetch(*PLACE, NOW)
    nws.fetch(*PLACE, NOW)

    assert "If-Modified-Since" not in mock.calls[-1].request.headers


def test_nothing_changed_without_our_asking_is_odd(nws, mock):
    answers(mock)
    mock.replace(responses.GET, GRID, status=304)

    with pytest.raises(Unavailable, match="nothing has changed"):
        nws.fetch(*PLACE, NOW)


def test_within_a_month_a_place_is_looked_up_anew(nws, mock):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    point, there = moved(74)
    answers(mock, point=point, there=f"{URL}/gridpoints/DMX/74,71", body=there)
    later = NOW + timedelta(days=29)
    fresh = json.loads(there)
    fresh["properties"]["updateTime"] = later.isoformat()
    mock.replace(responses.GET, POINT, json=point)
    mock.replace(responses.GET, f"{URL}/gridpoints/DMX/74,71", json=fresh)
    fresh["properties"]["maxTemperature"]["values"][0]["validTime"] = f"{later.isoformat()}/PT9H"
    mock.replace(responses.GET, f"{URL}/gridpoints/DMX/74,71", json=fresh)

    assert nws.fetch(*PLACE, later).where == "DMX/74,71"


def test_a_look_up_that_fails_leaves_the_old_one_in_use(nws, mock):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    later = NOW + timedelta(days=29)
    fresh = grid()
    fresh["properties"]["updateTime"] = later.isoformat()
    fresh["properties"]["maxTemperature"]["values"][0]["validTime"] = f"{later.isoformat()}/PT9H"
    mock.replace(responses.GET, POINT, status=503)
    mock.replace(responses.GET, GRID, json=fresh)

    assert nws.fetch(*PLACE, later).where == "DMX/73,71"


@pytest.mark.parametrize(
    ("kind", "title"),
    [
        ("https://api.weather.gov/problems/InvalidGridpoint", "Invalid Grid Point"),
        ("urn:noaa:nws:api:InvalidGridpoint", ""),
        ("about:blank", "Marine Forecast Not Supported"),
        ("https://api.weather.gov/problems/MarineForecastNotSupported", ""),
    ],
)
def test_a_grid_that_has_moved_is_looked_up_anew_at_once(nws, mock, kind, title):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    point, there = moved(74)
    mock.replace(responses.GET, POINT, json=point)
    mock.replace(responses.GET, GRID, **problem(kind, 404, title))
    mock.get(f"{URL}/gridpoints/DMX/74,71", body=there)

    assert nws.fetch(*PLACE, NOW).where == "DMX/74,71"
    assert nws.fetch(*PLACE, NOW).where == "DMX/74,71"
    assert asked(mock)[-1] == "/gridpoints/DMX/74,71"


def test_a_grid_that_has_moved_to_nowhere_is_refused_without_going_round(nws, mock):
    answers(mock)
    nws.fetch(*PLACE, NOW)
    mock.replace(responses.GET, GRID, **problem("x/MarineForecastNotSupported", 404))

    with pytest.raises(Unavailable, match="it is at sea") as caught:
        nws.fetch(*PLACE, NOW)

    assert not caught.value.retry_later
    assert len(mock.calls) == 5


def test_a_place_outside_its_country_is_refused_for_good(nws, mock):
    refused = raw("nws_problem_404_invalid_point")
    mock.get(POINT, body=refused, status=404, content_type=PROBLEM)

    words = r"^US National Weather Service, place 42.03 -93.62: has no forecast for this place \("
    with pytest.raises(Unavailable, match=words) as caught:
        nws.fetch(*PLACE, NOW)

    assert not caught.value.retry_later
    assert len(mock.calls) == 1


@pytest.mark.parametrize(
    ("name", "status", "words"),
    [
        ("nws_problem_500_unexpected", 500, r"is not well \(UnexpectedProblem, HTTP 500\)"),
        (
            "nws_problem_503_forecast_grid_expired",
            503,
            r"the office has stopped sending its forecast \(ForecastGridExpired, HTTP 503\)",
        ),
    ],
)
def test_trouble_that_may_pass_is_asked_again_and_then_named(nws, mock, name, status, words):
    answers(mock)
    mock.replace(responses.GET, GRID, body=raw(name), status=status, content_type=PROBLEM)

    with pytest.raises(Unavailable, match=words) as caught:
        nws.fetch(*PLACE, NOW)

    assert caught.value.retry_later
    assert asked(mock) == ["/points/42.03,-93.62", *["/gridpoints/DMX/73,71"] * 2]


def test_trouble_that_passes_is_not_told(nws, mock):
    answers(mock)
    mock.replace(responses.GET, GRID, body=raw("nws_problem_500_unexpected"), status=500)
    mock.get(GRID, body=raw("nws_gridpoint_forecastgriddata"))

    assert nws.fetch(*PLACE, NOW).days == 3
