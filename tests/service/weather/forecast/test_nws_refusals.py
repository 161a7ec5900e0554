"""What the National Weather Service refuses, and answers of it that we refuse."""

from __future__ import annotations

import pytest

from rootbound_service.public.http import Unavailable
from service.weather.forecast.forecast_rig import NOW, PLACE, shape
from service.weather.forecast.nws_rig import POINT, answers


@pytest.mark.parametrize(
    ("status", "body", "words", "later"),
    [
        (403, b"Forbidden", "wants a contact", False),
        (400, b'{"title":"Bad Request"}', r"refused the request \(BadRequest, HTTP 400\)", False),
        (404, b'{"type":["x"]}', "refused the request", False),
        (404, b"[" * 100_000, r"refused the request \(HTTP 404\)", False),
        (429, b"", r"asks us to come back later \(HTTP 429\)", True),
        (502, b"<html>", r"is not well \(HTTP 502\)", True),
        (301, b"", "refused the request", False),
    ],
)
def test_a_refusal_of_whatever_form_is_a_sentence(nws, mock, status, body, words, later):
    mock.get(POINT, body=body, status=status)

    with pytest.raises(Unavailable, match=words) as caught:
        nws.fetch(*PLACE, NOW)

    assert caught.value.retry_later is later


@pytest.mark.parametrize("there", [[-91.0, 42.03], [-93.62], "here", [None, 10**400]])
def test_a_grid_point_of_another_place_is_refused(nws, mock, there):
    point = shape("nws_points")
    point["geometry"]["coordinates"] = there
    answers(mock, point=point)

    with pytest.raises(Unavailable, match="answered about another place"):
        nws.fetch(*PLACE, NOW)


def test_a_grid_point_that_names_no_place_is_believed(nws, mock):
    point = shape("nws_points")
    point["geometry"] = None
    answers(mock, point=point)

    assert nws.fetch(*PLACE, NOW).days == 3


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("gridId", "../x", "no office"),
        ("gridId", None, "no office"),
        ("gridX", -1, "no number of a grid"),
        ("gridY", "7.5", "no number of a grid"),
        ("gridY", None, "no number of a grid"),
        ("timeZone", None, "timeZone is missing"),
        ("timeZone", "Mars/Olympus", "'Mars/Olympus' is not known"),
        ("timeZone", "America", "is not known"),
        ("timeZone", "", "is not known"),
        ("timeZone", "/etc/passwd", "is not known"),
        ("timeZone", "a\0b", "is not known"),
    ],
)
def test_a_grid_point_that_is_none_is_refused_by_name(nws, mock, name, value, words):
    point = shape("nws_points")
    point["properties"][name] = value
    answers(mock, point=point)

    with pytest.raises(Unavailable, match=words):
        nws.fetch(*PLACE, NOW)


def test_numbers_of_the_grid_may_come_as_texts(nws, mock):
    point = shape("nws_points")
    point["properties"]["gridX"] = "73"
    answers(mock, point=point)

    assert nws.fetch(*PLACE, NOW).where == "DMX/73,71"


@pytest.mark.parametrize(
    ("lat", "lon", "known"),
    [
        (42.03, -93.62, True),
        (61.2, -149.9, True),
        (21.3, -157.9, True),
        (18.2, -66.5, True),
        (13.5, 144.8, True),
        (51.5, -0.1, False),
        (-42.0, -93.6, False),
    ],
)
def test_the_country_and_its_islands_are_covered(nws, lat, lon, known):
    assert nws.covers(lat, lon) is known
