"""NASA POWER's answers, held to recorded shapes: names, units, fill, and what is refused."""

from __future__ import annotations

import json
import math
from datetime import date
from pathlib import Path

import pytest
import responses

from rootbound_service.weather.cells import snap
from rootbound_service.weather.http import Caller, Patience, WeatherUnavailable
from rootbound_service.weather.nasa_power import NasaPower

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
CELL = snap(42.03, -93.62)
START, END = date(2026, 7, 1), date(2026, 7, 5)
URL = "http://127.0.0.1"


def shape(name="nasa_power_daily_point"):
    return json.loads((SHAPES / f"{name}.json").read_text())


def ask(document, status=200):
    """Ask for the five days and get ``document`` for an answer."""
    body = document if isinstance(document, str) else json.dumps(document)
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/api/temporal/daily/point", body=body, status=status)
        caller = Caller(Patience(retries=0))
        try:
            return NasaPower(caller, URL + "/").fetch(CELL, START, END)
        finally:
            caller.close()


def refusal(document, status=200):
    """Ask likewise, and give the error."""
    with pytest.raises(WeatherUnavailable) as caught:
        ask(document, status)
    assert str(caught.value).startswith("NASA POWER, cell nasa_power:m264-138:s132-86: ")
    return caught.value


def test_a_recorded_answer_is_read_into_our_names_and_units():
    answer = ask(shape())

    assert (answer.start, answer.end) == (START, END)
    assert answer.elevation_m == 305.6
    assert answer.origins == ("SYN1DEG", "MERRA2", "POWER")
    assert {name: list(values) for name, values in answer.columns.items()} == {
        "tmax_c": [31.2, 33.47, 34.05, 29.88, 27.4],
        "tmin_c": [19.05, 20.31, 22.18, 18.7, 15.92],
        "rain_mm": [0.0, 0.0, 3.41, 12.08, 0.02],
        "solar_mj": [25.9, 27.14, 24.02, 19.77, 28.3],
        "dewpoint_c": [18.2, 19.44, 20.03, 16.1, 12.75],
        "wind_m_s": [1.93, 2.41, 3.05, 2.2, 1.61],
    }


def test_days_that_are_not_known_yet_are_missing_each_quantity_by_itself():
    columns = ask(shape("nasa_power_daily_point_recent_fill")).columns

    assert [math.isnan(v) for v in columns["tmax_c"]] == [False] * 3 + [True] * 2
    assert [math.isnan(v) for v in columns["solar_mj"]] == [False] + [True] * 4


def test_the_fill_value_is_the_one_the_header_names():
    document = shape()
    document["header"]["fill_value"] = -99
    document["properties"]["parameter"]["T2M_MAX"]["20260702"] = -99.0004

    assert math.isnan(ask(document).columns["tmax_c"][1])


@pytest.mark.parametrize(
    ("units", "factor"),
    [
        ("MJ/m^2/day", 1.0),
        ("kW-hr/m^2/day", 3.6),  # 1 kWh is 3.6 MJ
        ("W/m^2", 0.0864),  # 86,400 s a day
    ],
)
def test_radiation_is_converted_from_the_unit_that_the_answer_names(units, factor):
    document = shape()
    document["parameters"]["ALLSKY_SFC_SW_DWN"]["units"] = units

    assert ask(document).columns["solar_mj"][0] == pytest.approx(25.9 * factor)


def test_an_unknown_unit_is_refused_by_name():
    document = shape()
    document["parameters"]["T2M_MAX"]["units"] = "F"

    error = refusal(document)

    assert error.what == "T2M_MAX comes in 'F', a unit we do not know; known: C"
    assert not error.retry_later


def test_a_refused_request_gives_the_services_own_reason():
    error = refusal(shape("nasa_power_error_422"), status=422)

    assert "(HTTP 422): One of your parameters is incorrect: FOO." in error.what
    assert not error.retry_later


def test_a_refusal_under_status_200_is_seen_by_its_header():
    assert "incorrect: FOO" in refusal(shape("nasa_power_error_422")).what


def test_a_page_behind_an_error_names_both():
    what = refusal("<html>forbidden</html>", status=403).what

    assert what == "answered with a web page instead of data (HTTP 403)"


def remove(*path):
    """Give a spoiler that deletes one thing from an answer."""

    def spoil(document):
        for name in path[:-1]:
            document = document[name]
        del document[path[-1]]

    return spoil


def put(value, *path):
    """Give a spoiler that sets one thing in an answer."""

    def spoil(document):
        for name in path[:-1]:
            document = document[name]
        document[path[-1]] = value

    return spoil


RAIN = ("properties", "parameter", "PRECTOTCORR")


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (remove(*RAIN), "PRECTOTCORR is missing from the answer"),
        (remove("header"), "header is missing from the answer"),
        (remove("parameters", "WS2M"), "WS2M is missing from the answer"),
        (remove("header", "fill_value"), "the header names no fill_value"),
        (remove(*RAIN, "20260703"), "other days than asked for: 20260703 is missing"),
        (put(1.0, *RAIN, "20260706"), "other days than asked for: 20260706 was not asked"),
        (put("1.0", *RAIN, "20260703"), "PRECTOTCORR of 20260703 is '1.0', which is no number"),
        (put(None, *RAIN, "20260703"), "PRECTOTCORR of 20260703 is None, which is no number"),
        (put(True, *RAIN, "20260703"), "PRECTOTCORR of 20260703 is True, which is no number"),
        (put(1e30, *RAIN, "20260703"), "PRECTOTCORR holds a number that no weather has"),
        (put(math.nan, *RAIN, "20260703"), "a value is NaN, which is no number"),
        (put("UTC", "header", "time_standard"), "days run by UTC, local solar days"),
    ],
)
def test_an_answer_of_another_shape_is_refused_by_name(spoil, what):
    document = shape()
    spoil(document)

    assert what in refusal(document).what


def test_a_day_that_comes_twice_is_refused():
    text = json.dumps(shape()).replace('"20260702": 33.47', '"20260702": 33.47, "20260702": 1.0')

    assert refusal(text).what == "20260702 is there twice"


def test_a_list_instead_of_an_answer_is_refused():
    assert refusal("[1, 2]").what == "the answer is no table of days"


def test_an_answer_without_elevation_or_sources_is_still_weather():
    document = shape()
    document["geometry"]["coordinates"] = [-93.62, 42.03]
    del document["header"]["sources"]

    answer = ask(document)

    assert (answer.elevation_m, answer.origins) == (None, ())


def test_the_fingerprint_leaves_out_the_services_own_timings():
    slow, other = shape(), shape()
    slow["times"]["data"] = 9.9
    other["properties"]["parameter"]["T2M_MAX"]["20260701"] = 31.3

    assert ask(slow).fingerprint == ask(shape()).fingerprint != ask(other).fingerprint


def test_the_request_is_what_the_service_documents():
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/api/temporal/daily/point", json=shape())
        caller = Caller(Patience(retries=0))
        NasaPower(caller, URL, user="tester").fetch(CELL, START, END)
        caller.close()
        query = mock.calls[0].request.params

    assert query == {
        "parameters": "T2M_MAX,T2M_MIN,PRECTOTCORR,ALLSKY_SFC_SW_DWN,T2MDEW,WS2M",
        "community": "AG",
        "latitude": "42.0100",
        "longitude": "-93.7400",
        "start": "20260701",
        "end": "20260705",
        "format": "JSON",
        "time-standard": "LST",
        "user": "tester",
    }
