"""NASA POWER's answers, held to recorded shapes: names, units, fill, and what is refused."""

from __future__ import annotations

import json
import math
from datetime import date
from pathlib import Path

import pytest
import responses

from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import Ask, Status
from rootbound_service.weather.sources.nasa_power import NasaPower

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
CELL = NasaPower.grid.snap(42.03, -93.62)
START, END = date(2026, 7, 1), date(2026, 7, 5)
LATER = date(2027, 7, 1)
URL = "http://127.0.0.1"


def shape(name="nasa_power_daily_point"):
    return json.loads((SHAPES / f"{name}.json").read_text())


def ask(document, status=200, cell=CELL, on=LATER):
    """Ask for the five days and get ``document`` for an answer."""
    body = document if isinstance(document, str) else json.dumps(document)
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/api/temporal/daily/point", body=body, status=status)
        caller = Caller(Patience(retries=0))
        try:
            return NasaPower(caller, URL + "/").fetch(Ask((cell,), START, END, on))
        finally:
            caller.close()


def columns(block):
    """Give the one cell's values by quantity."""
    return dict(zip(block.quantities, block.values[:, 0], strict=True))


def refusal(document, status=200):
    """Ask likewise, and give the error."""
    with pytest.raises(Unavailable) as caught:
        ask(document, status)
    assert str(caught.value).startswith("NASA POWER, cell nasa_power:264-138: ")
    return caught.value


def test_a_recorded_answer_is_read_into_our_names_and_units():
    answer = ask(shape())

    assert (answer.start, answer.end) == (START, END)
    assert list(answer.elevation_m) == [305.6]
    assert answer.origins == ("SYN1DEG", "MERRA2", "POWER")
    assert {name: list(values) for name, values in columns(answer).items()} == {
        "tmax_c": [31.2, 33.47, 34.05, 29.88, 27.4],
        "tmin_c": [19.05, 20.31, 22.18, 18.7, 15.92],
        "rain_mm": [0.0, 0.0, 3.41, 12.08, 0.02],
        "solar_mj": [25.9, 27.14, 24.02, 19.77, 28.3],
        "dewpoint_c": [18.2, 19.44, 20.03, 16.1, 12.75],
        "wind_m_s": [1.93, 2.41, 3.05, 2.2, 1.61],
    }


def test_days_that_are_not_known_yet_are_missing_each_quantity_by_itself():
    known = columns(ask(shape("nasa_power_daily_point_recent_fill")))

    assert [math.isnan(v) for v in known["tmax_c"]] == [False] * 3 + [True] * 2
    assert [math.isnan(v) for v in known["solar_mj"]] == [False] + [True] * 4


def test_the_fill_value_is_the_one_the_header_names():
    document = shape()
    document["header"]["fill_value"] = -99
    document["properties"]["parameter"]["T2M_MAX"]["20260702"] = -99.0004

    assert math.isnan(columns(ask(document))["tmax_c"][1])


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

    assert columns(ask(document))["solar_mj"][0] == pytest.approx(25.9 * factor)


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
        (put(10**400, *RAIN, "20260703"), "PRECTOTCORR holds a number that no weather has"),
        (put([-93.62, 43.0], "geometry", "coordinates"), "the answer is about another place"),
        (put([-93.62, 99], "geometry", "coordinates"), "the answer is about another place"),
        (put(True, "header", "fill_value"), "the header names no fill_value"),
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
    assert refusal("[1, 2]").what == "the answer is no JSON object"


def test_an_answer_without_elevation_or_sources_is_still_weather():
    document = shape()
    document["geometry"]["coordinates"] = [-93.62, 42.03]
    del document["header"]["sources"]

    answer = ask(document)

    assert math.isnan(answer.elevation_m[0])
    assert answer.origins == ()


def test_the_fingerprint_leaves_out_the_services_own_timings():
    slow, other = shape(), shape()
    slow["times"]["data"] = 9.9
    other["properties"]["parameter"]["T2M_MAX"]["20260701"] = 31.3

    assert ask(slow).fingerprint == ask(shape()).fingerprint != ask(other).fingerprint


def test_the_request_is_what_the_service_documents():
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/api/temporal/daily/point", json=shape())
        caller = Caller(Patience(retries=0))
        NasaPower(caller, URL, user="tester").fetch(Ask((CELL,), START, END, LATER))
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


@pytest.mark.parametrize(
    ("origins", "on", "status"),
    [
        (["MERRA2", "SYN1DEG"], LATER, Status.FINAL),
        (["MERRA2", "FLASHFlux"], LATER, Status.PROVISIONAL),
        (["GEOS-IT", "SYN1DEG"], LATER, Status.PROVISIONAL),
        (["geosit"], LATER, Status.PROVISIONAL),
        (["MERRA2", "SYN1DEG"], date(2026, 7, 10), Status.PROVISIONAL),
    ],
)
def test_values_are_final_by_age_unless_a_near_real_time_set_is_among_the_sources(
    origins, on, status
):
    document = shape()
    document["header"]["sources"] = origins

    assert set(ask(document, on=on).status.flat) == {status}


def test_settled_days_are_asked_for_apart_from_those_that_still_change():
    whole = Ask((CELL,), date(2026, 1, 1), date(2026, 7, 5), date(2026, 7, 8))

    spans = [(one.start, one.end) for one in NasaPower(None, URL).split(whole)]

    # 150 days before 8 July is 8 February
    assert spans == [
        (date(2026, 1, 1), date(2026, 2, 7)),
        (date(2026, 2, 8), date(2026, 7, 5)),
    ]


@pytest.mark.parametrize(
    ("lat", "lon", "asked"),
    [
        (-33.1, 18.6, ("-32.9900", "18.7600")),  # southern hemisphere, Cape wheat land
        (12.0, 179.9, ("12.0100", "-179.9900")),  # past the last column comes the first
        (12.0, -179.9, ("12.0100", "-179.9900")),
        (90.0, 0.0, ("89.9900", "0.0100")),  # nothing lies north of the pole
        (-90.0, 0.0, ("-89.9900", "0.0100")),
        (42.25, -93.4375, ("42.5100", "-93.1150")),  # between four cells: the north-eastern one
    ],
)
def test_a_cell_is_asked_for_a_hair_north_east_of_its_centre(lat, lon, asked):
    document = shape()
    document["geometry"]["coordinates"] = [float(asked[1]), float(asked[0]), 7.0]
    with responses.RequestsMock() as mock:
        mock.get(f"{URL}/api/temporal/daily/point", json=document)
        caller = Caller(Patience(retries=0))
        cell = NasaPower.grid.snap(lat, lon)
        NasaPower(caller, URL).fetch(Ask((cell,), START, END, LATER))
        caller.close()
        query = mock.calls[0].request.params

    assert (query["latitude"], query["longitude"]) == asked
